// Checks before ordering: a list to tick, and a place for what was measured, which answers again.

import { counted, h, listed, named } from "./dom.js";
import { meeting } from "./reasons.js";
import { entered } from "./settings.js";

const TURNS = { must: "must change", choice: "becomes a choice", keeps: "keeps its part" };

export function checks(answer, state, act) {
  const found = [...state.measured.map((m) => [m, m.words]), ...state.tried.map((t) => [t, t.words])];
  if (!answer.checks.length && !found.length) return null;
  return h("section", { class: "card", id: "checks", "aria-labelledby": "checks-title" },
    h("h2", { id: "checks-title" }, "Check before ordering"),
    found.length ? h("ul", { class: "chips", "aria-label": "Found on the parts in hand" }, found.map(([each, words]) =>
      h("li", {}, words, h("button", { type: "button", class: "small plain", "aria-label": `Take back: ${words}`, onclick: () => act.forget(each) }, "✕")))) : null,
    answer.checks.length ? null : h("p", { class: "note good" }, "Nothing is left to check."),
    answer.checks.map((check) => one(check, state, act)));
}

function one(check, state, act) {
  const key = `check ${check.joint.iri}`;
  const tick = h("input", {
    type: "checkbox", "data-key": key, checked: state.ticked.has(check.joint.iri),
    onchange: (e) => (e.target.checked ? state.ticked.add(check.joint.iri) : state.ticked.delete(check.joint.iri)),
  });
  return h("div", { class: "todo" },
    h("label", { class: "line tick" }, tick, h("strong", {}, check.joint.label)),
    h("ul", {}, check.measure.map((text) => h("li", {}, text))),
    h("p", { class: check.ends_it ? "is-must" : "quiet" }, consequence(check)),
    check.values.map((value) => field(value, act)),
    check.offer_up.map((pair) => h("div", {}, h("button", {
      type: "button", class: "small", onclick: () => act.tried(pair),
    }, `Offered up, it fits: ${listed(pair.parts.map((p) => p.number ?? p.label))}`))),
    h("details", { "data-key": `${key} why` }, h("summary", { class: "quiet" }, `What is known, ${counted(check.meetings.length + check.others, "pair")} of parts`),
      check.meetings.map((m) => meeting(m)),
      check.others ? h("p", { class: "quiet" }, `and ${counted(check.others, "pair")} more`) : null));
}

function consequence(check) {
  if (check.ends_it) return "If it does not fit, nothing else will do: do not order.";
  if (!check.turns.length) return "If it does not fit, other parts take its place; no verdict turns.";
  return `If it does not fit: ${check.turns.map((t) => `the ${t.station.label} ${TURNS[t.then]}`).join(", ")}.`;
}

function field(value, act) {
  const unit = entered(value.unit);
  const input = h("input", {
    type: "text", inputmode: unit ? "decimal" : "text", autocomplete: "off", required: true, maxlength: 60,
    "data-key": `value ${value.end.iri} ${value.property.iri}`,
  });
  return h("form", {
    class: "measure",
    onsubmit: (event) => {
      event.preventDefault();
      act.measured(value, input.value.trim().replace(",", "."), unit);
    },
  },
  h("label", { class: "field" },
    `${value.property.label}${unit ? `, ${unit}` : ""}: ${value.end.label} of ${named(value.part)}`, input,
    value.how ? h("span", { class: "quiet" }, value.how) : null),
  h("button", { type: "submit", class: "small" }, "Answer again"));
}
