// Plans side by side: what each fits where, what it costs, what cannot be undone.

import { h, listed, named } from "./dom.js";
import { scrolling } from "./reasons.js";

const money = (value) => value.toFixed(2);

export function plans(answer, sheetOf) {
  if (!answer.plans.length) return null;
  const found = answer.plans;
  const row = (label, cell, more = {}) => {
    const cells = found.map(cell);
    if (cells.every((c) => !c || c.length === 0)) return null;
    return h("tr", more, h("th", { scope: "row" }, label), cells.map((c) => h("td", {}, Array.isArray(c) ? lines(c) : c || "–")));
  };
  return h("section", { class: "card", id: "plans", "aria-labelledby": "plans-title" },
    h("h2", { id: "plans-title" }, found.length > 1 ? "Plans side by side" : "The plan"),
    scrolling("Table of plans", h("table", { class: "plans" },
      h("thead", {}, h("tr", {}, h("td", {}),
        found.map((_, at) => h("th", { scope: "col" }, `Plan ${at + 1}`,
          h("div", {}, h("a", { class: "button small", href: sheetOf(at + 1) }, "Job sheet", h("span", { class: "unseen" }, ` of plan ${at + 1}`))))))),
      h("tbody", {},
        row("Parts, EUR", (p) => h("span", {}, h("strong", {}, money(p.cost_eur)), p.unpriced.length ? `, ${p.unpriced.length} without a price` : "")),
        row("Hours", (p) => h("strong", {}, String(p.hours))),
        row("Rests on", (p) => `${p.standing} facts at the weakest${p.optimal ? "" : "; best found, not proven best"}`),
        row("Against plan 1", (p) => p.compared_with_best),
        stationRows(found),
        row("Cannot be undone", (p) => p.irreversible),
        row("Nobody has proven", (p) => p.unproven.map((t) => t.label)),
        row("Blank off", (p) => p.blanks.map((t) => t.label)),
        row("No longer works", (p) => p.lost.map((t) => t.label)),
        row("Renew as well", (p) => p.consumables.map((c) => `${c.count} ${c.label}`)),
        row("How it drives", (p) => p.effects),
        row("Advice", (p) => p.advice)))));
}

function stationRows(found) {
  const stations = new Map(found.flatMap((p) => p.parts.map((c) => [c.station.iri, c.station.label])));
  return [...stations].sort((a, b) => a[1].localeCompare(b[1])).map(([iri, label]) => {
    const cells = found.map((p) => p.parts.find((c) => c.station.iri === iri));
    const differs = new Set(cells.map((c) => c?.part.iri ?? "")).size > 1;
    return h("tr", { class: differs ? "marked" : null },
      h("th", { scope: "row" }, differs ? "▸ " : "", label),
      cells.map((c) => h("td", {}, c ? fitted(c) : h("span", { class: "quiet" }, "as it is"))));
  });
}

function fitted(c) {
  const more = [c.quantity > 1 ? `×${c.quantity}` : "", c.origin, c.price_eur == null ? "" : `${money(c.price_eur)} EUR`];
  return [named(c.part.iri ? c.part : { label: "nothing" }),
    c.made_to.length ? h("div", { class: "quiet" }, `made to ${listed(c.made_to)}`) : null,
    h("div", { class: "quiet" }, more.filter(Boolean).join(" · "))];
}

const lines = (texts) => (texts.length > 1 ? h("ul", {}, texts.map((t) => h("li", {}, t))) : texts[0] ?? "–");
