// “Which one is this?”: one thing to look at after another, until one part is left.

import { all, post } from "./api.js";
import { announce, byId, h, named, part, show } from "./dom.js";
import { entered } from "./settings.js";
import { startPage, troubled, waiting } from "./shell.js";

const state = { sort: "", car: "", seen: [] };
const INCH = 25.4;

async function step(first = false) {
  const place = byId("steps");
  if (first) show(place, waiting("Looking…"));
  try {
    const found = await post("/v1/identify/step", { sort: state.sort, car: state.car || null, seen: state.seen });
    show(place, standing(found), found.settled || !found.looks.length ? null : next(found.looks), candidates(found));
    announce(found.summary);
    byId("summary").focus();
  } catch (trouble) {
    const taken = state.seen.pop();
    show(place, troubled(trouble), taken ? h("div", {}, h("button", { type: "button", onclick: () => step() }, "Go on without it")) : null);
  }
}

function standing(found) {
  return h("section", { class: "card", "aria-labelledby": "summary" },
    h("h2", { id: "summary", tabindex: "-1" }, found.summary),
    found.warnings.map((text) => h("p", { class: "note bad", role: "alert" }, h("strong", {}, "Take care: "), text)),
    found.readings.length ? h("ul", { class: "chips", "aria-label": "Seen so far" }, found.readings.map((r, at) =>
      h("li", {}, `${r.observation.label}: ${r.said}`,
        h("button", { type: "button", class: "small plain", "aria-label": `Take back: ${r.observation.label}`,
          onclick: () => { state.seen.splice(at, 1); step(); } }, "✕")))) : null,
    found.settled ? h("p", {}, h("a", { class: "button", href: `/maintain?part=${encodeURIComponent(found.settled.number)}` }, "What is known of it")) : null);
}

function next(looks) {
  return h("section", { class: "card", "aria-labelledby": "next-title" },
    h("h2", { id: "next-title" }, "Look at this next"),
    look(looks[0], true),
    looks.length > 1 ? h("details", {}, h("summary", {}, "Or at something else"), looks.slice(1).map((l) => look(l, false))) : null);
}

function look(each, first) {
  return h("div", { class: first ? "look first" : "look" },
    h("h3", {}, each.observation.label, h("span", { class: "quiet" }, ` ${each.when}`)),
    each.how ? h("p", {}, each.how) : null,
    each.kind === "word" ? words(each) : value(each),
    h("details", {}, h("summary", { class: "quiet" }, `What each shows; leaves ${each.leaves} on average`),
      h("ul", {}, each.shows.map((s) => h("li", {}, named(s.part), ": ", s.text)))));
}

const words = (each) => h("div", { class: "line", role: "group", "aria-label": each.observation.label },
  each.answers.map((answer) => h("button", { type: "button", onclick: () => say(each, answer) }, answer)));

function value(each) {
  const unit = entered(each.unit);
  const input = h("input", {
    required: true, autocomplete: "off", maxlength: 60, inputmode: each.kind === "count" || each.kind === "number" ? "numeric" : each.kind === "measure" ? "decimal" : "text",
    placeholder: each.kind === "date" ? "2005 or 2005-03" : null,
  });
  return h("form", { class: "measure", onsubmit: (event) => {
    event.preventDefault();
    const said = input.value.trim().replace(",", ".");
    say(each, unit === "in" && each.unit === "mm" && !Number.isNaN(Number(said)) ? String(+(Number(said) * INCH).toFixed(3)) : said);
  } },
  h("label", { class: "field" }, `It reads${unit ? `, ${unit}` : ""}`, input),
  h("button", { type: "submit", class: "small main" }, "Go on"));
}

function say(each, said) {
  state.seen.push({ observation: each.observation.iri, said });
  step();
}

function candidates(found) {
  const left = found.candidates.filter((c) => c.remains !== "ruled out");
  const out = found.candidates.filter((c) => c.remains === "ruled out");
  const item = (c) => h("li", { class: c.remains === "ruled out" ? "out" : null },
    h("span", {}, c.remains === "ruled out" ? "✕ " : c.confirmed ? "✓ " : "· ", part(c.part), c.remains === "doubted" ? " (doubted)" : ""),
    c.because.map((b) => h("span", { class: "quiet" }, b)));
  return h("section", { class: "card", "aria-labelledby": "left-title" },
    h("h2", { id: "left-title" }, "What it can be"),
    left.length ? h("ul", { class: "remains" }, left.map(item)) : h("p", {}, "Nothing is left."),
    out.length ? h("details", { "data-key": "out" }, h("summary", {}, `${out.length} ruled out, and why`), h("ul", { class: "remains" }, out.map(item))) : null);
}

async function start() {
  startPage();
  byId("kind").addEventListener("submit", (event) => {
    event.preventDefault();
    Object.assign(state, { sort: byId("sort").value.trim(), car: byId("car").value, seen: [] });
    step(true);
  });
  document.addEventListener("reader-changed", () => { if (state.sort) step(); });
  try {
    const [stations, cars] = await Promise.all([all("/v1/stations"), all("/v1/cars")]);
    byId("sorts").append(...stations.map((s) => h("option", { value: s.label })));
    byId("car").append(...cars.map((c) => h("option", { value: c.label }, c.label)));
  } catch (trouble) { show(byId("steps"), troubled(trouble)); }
}

start();
