// Why: steps of a chain, the parts that met, values, tolerances, rule, sources and their standing.

import { h, listed, named } from "./dom.js";

const SIGNS = { mates: "✓", clashes: "✕", unproven: "?" };
const SAID = { mates: "fits", clashes: "does not fit", unproven: "nobody has proven it" };
const CLASSES = { mates: "keeps", clashes: "must", unproven: "choice" };

export function chain(steps) {
  const told = steps.filter((step) => step.kind !== "fit" && step.kind !== "keep");
  return h("ol", { class: "chain" }, told.map((step) =>
    h("li", {}, h("p", {}, step.text), step.meetings.map((each) => meeting(each)),
      step.leaves.length
        ? h("p", { class: "quiet" }, `Leaves ${listed(step.leaves.map((p) => p.number ?? p.label), "or")} as ${step.station.label}.`)
        : null)));
}

export function meeting(note, full = false) {
  const telling = note.comparisons.filter((c) => c.outcome === note.outcome && note.outcome !== "mates");
  return h("div", { class: "meeting" },
    h("p", {}, parts(note)),
    telling.length ? h("ul", { class: "plainlist" }, telling.map(comparison)) : null,
    h("details", { open: full },
      h("summary", { class: "quiet" }, `Values, rule and sources: ${note.kind}`),
      h("p", {}, h("strong", {}, "Rule: "), note.rule || "none stated"),
      compared(note), claimed(note),
      h("p", { class: "quiet" }, settled(note))));
}

function parts(note) {
  const sign = h("span", { class: `sign is-${CLASSES[note.outcome]}`, "aria-hidden": "true" }, SIGNS[note.outcome]);
  const words = h("span", { class: "unseen" }, ` (${SAID[note.outcome]}) `);
  return note.parts.flatMap((part, at) => (at ? [" ", sign.cloneNode(true), words.cloneNode(true), " ", named(part)] : [named(part)]));
}

const comparison = (found) =>
  h("li", { class: CLASSES[found.outcome] },
    h("span", { class: "sign", "aria-hidden": "true" }, SIGNS[found.outcome]),
    h("span", {}, found.text));

const withUnit = (value, unit) => {
  if (value === null || value === undefined || value === "") return "–";
  if (typeof value === "boolean") return value ? "yes" : "no";
  return unit ? `${value} ${unit}` : String(value);
};

function compared(note) {
  if (!note.comparisons.length) return null;
  const columns = ["compared", "first", "second", "tolerance", "to spare", "outcome"];
  return scrolling("What was compared", h("table", {},
    h("thead", {}, h("tr", {}, columns.map((c) => h("th", { scope: "col" }, c)))),
    h("tbody", {}, note.comparisons.map((c) => h("tr", {},
      h("th", { scope: "row" }, c.quantity),
      h("td", {}, withUnit(c.first, c.unit)), h("td", {}, withUnit(c.second, c.unit)),
      h("td", {}, withUnit(c.tolerance, c.unit)), h("td", {}, withUnit(c.margin, c.unit)),
      h("td", {}, `${SIGNS[c.outcome]} ${SAID[c.outcome]}`))))));
}

function claimed(note) {
  if (!note.claims.length) return null;
  return scrolling("On whose word", h("table", {},
    h("thead", {}, h("tr", {}, ["part", "value", "stated by", "standing"].map((c) => h("th", { scope: "col" }, c)))),
    h("tbody", {}, note.claims.flatMap((claim) => claim.cited.map((by) => h("tr", {},
      h("th", { scope: "row" }, claim.part),
      h("td", {}, `${claim.quantity}: ${withUnit(claim.value, claim.unit)}`),
      h("td", {}, [by.source, by.date].filter(Boolean).join(", ")),
      h("td", {}, by.standing)))))));
}

function settled(note) {
  const by = {
    works: "Cars left the works with these together.",
    trial: "Somebody put these together and they fit.",
    "trial against the numbers": "Somebody says they fit, the numbers say they do not.",
  }[note.settled_by] ?? "";
  return `${by} The weakest fact this rests on is ${note.standing}.`.trim();
}

/** A table that may be wider than the page: it scrolls by itself, by keyboard too. */
export function scrolling(name, table) {
  return h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": name }, table);
}

/** The answer to any question that is not about a whole change. */
export function report(found) {
  return h("article", { class: "card report" },
    h("h2", { id: "summary", tabindex: "-1" }, found.summary),
    found.holds === null ? null
      : h("p", {}, h("span", { class: `tag ${found.holds ? "fitted" : "must"}` }, found.holds ? "✓ yes" : "✕ no")),
    found.sections.map((section) => h("section", { class: "part" },
      h("h3", {}, section.title),
      section.lines.length > 1 ? h("ul", {}, section.lines.map((l) => h("li", {}, l))) : section.lines.map((l) => h("p", {}, l)),
      section.table ? scrolling(section.title, grid(section.table)) : null,
      section.steps.length ? chain(section.steps) : null,
      section.meetings.map((each) => meeting(each, section.in_full)))),
    cautions(found.cautions));
}

function grid(table) {
  const headed = table.columns.some((c) => c.label);
  const head = (c) => (c.unit ? `${c.label}, ${c.unit}` : c.label);
  return h("table", {},
    headed ? h("thead", {}, h("tr", {}, table.columns.map((c) =>
      c.label ? h("th", { scope: "col" }, head(c)) : h("td", {})))) : null,
    h("tbody", {}, table.rows.map((row) => h("tr", { class: row.marked ? "marked" : null },
      row.cells.map((cell, at) => {
        const text = withUnit(cell, "");
        const shown = text === "–" ? "" : text;
        if (at) return h("td", { class: shown.length > 40 ? "long" : null }, shown);
        return shown ? h("th", { scope: "row" }, row.marked ? `▸ ${shown}` : shown) : h("td", {});
      })))));
}

export function cautions(texts) {
  if (!texts.length) return null;
  return h("section", { class: "note warn", "aria-label": "Cautions" },
    h("h3", {}, "Take care"), h("ul", {}, texts.map((t) => h("li", {}, t))));
}
