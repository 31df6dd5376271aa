// The job sheet of one plan, to be printed: what to order, to check, to do, and who signs.

import { ask, read } from "./api.js";
import { byId, h, listed, show } from "./dom.js";
import { scrolling } from "./reasons.js";
import { startPage, troubled, waiting } from "./shell.js";

const asked = new URLSearchParams(location.search);
const TURNS = { must: "must change", choice: "becomes a choice", keeps: "keeps its part" };
const money = (value) => (value == null ? "" : value.toFixed(2));

const block = (title, ...content) => (content.flat().some(Boolean) ? h("section", {}, h("h3", {}, title), content) : null);
const heads = (...texts) => h("thead", {}, h("tr", {}, texts.map((t) => h("th", { scope: "col", class: t === "EUR" || t === "Hours" ? "amount" : null }, t))));
const box = () => h("span", { class: "tickbox", role: "img", "aria-label": "to tick" });
const bullets = (texts) => (texts.length ? h("ul", {}, texts.map((t) => h("li", {}, t))) : null);

function sheet(answer, number, found) {
  const plan = answer.plans[number - 1];
  const fitted = listed(answer.fitted.map((f) => f.part.label));
  document.title = `Job sheet: ${fitted} for ${answer.car.label} – knockon`;
  return h("article", { class: "sheet" },
    h("header", {},
      h("h2", {}, `${fitted} for ${answer.car.label}`),
      h("p", { class: "quiet" }, `${answer.question}`),
      h("p", {}, `Plan ${number} of ${answer.plans.length}: ${money(plan.cost_eur)} EUR in parts`,
        plan.unpriced.length ? `, ${plan.unpriced.length} without a price` : "", `; ${plan.hours} hours; rests on ${plan.standing} facts at the weakest.`)),
    h("div", { class: "fill" }, ["Registration", "Serial number", "Distance", "Job number", "Date"].map((t) => h("div", {}, t))),
    block("Check before ordering", checks(answer, plan), found.length ? [h("p", {}, h("strong", {}, "Found already:")), bullets(found)] : null),
    block("Parts", parts(plan)),
    block("Renew as well: one-use fasteners, seals, fluids", consumables(plan)),
    block("Order of work", work(plan)),
    block("Blank off", plan.blanks.length ? h("ul", { class: "ticks" }, plan.blanks.map((b) => h("li", {}, box(), b.label))) : null),
    block("Cannot be undone", bullets(plan.irreversible)),
    block("No longer works", bullets(plan.lost.map((t) => t.label))),
    block("How it drives afterwards", bullets(plan.effects)),
    block("Tell the customer", bullets(plan.advice)),
    h("section", { class: "caution" }, h("h3", {}, "Cautions"), bullets(answer.cautions)),
    block("Signed", signatures()),
    h("p", { class: "quiet" }, `Catalogue ${answer.catalogue.slice(0, 12)}.`));
}

function checks(answer, plan) {
  const known = new Map(answer.checks.map((c) => [c.joint.iri, c]));
  if (!plan.unproven.length) return h("p", {}, "Nothing in this plan is unproven. Compare the numbers on the parts with this sheet all the same.");
  return h("ul", { class: "ticks" }, plan.unproven.map((joint) => {
    const check = known.get(joint.iri);
    return h("li", {}, box(), h("div", {}, h("strong", {}, joint.label), ": nobody has proven this.",
      check ? h("ul", {}, check.measure.map((m) => h("li", {}, m, " Found: ", h("span", { class: "found" }, "\u00a0")))) : null,
      check?.ends_it ? h("p", {}, "If it does not fit, nothing else will do: do not order.") : null,
      check?.turns.length ? h("p", {}, `If it does not fit: ${check.turns.map((t) => `${t.station.label} ${TURNS[t.then]}`).join(", ")}. Ask again before ordering.`) : null));
  }));
}

function parts(plan) {
  return scrolling("Parts", h("table", {}, heads("Qty", "Number", "Part", "Where on the car", "From", "EUR", "Takes the place of"),
    h("tbody", {}, plan.parts.map((c) => h("tr", {},
      h("td", {}, c.part.iri ? String(c.quantity) : ""), h("td", { class: "number" }, c.part.number ?? ""),
      h("th", { scope: "row" }, c.part.iri ? c.part.label : "none", c.made_to.length ? ` (made to ${c.made_to.join(", ")})` : ""),
      h("td", {}, c.station.label), h("td", {}, c.origin), h("td", { class: "amount" }, c.part.iri ? money(c.price_eur) : ""),
      h("td", {}, c.was.iri ? `${c.was.number ?? ""} ${c.was.label}` : "nothing"))))));
}

function consumables(plan) {
  if (!plan.consumables.length) return null;
  return scrolling("Consumables", h("table", {}, heads("", "Count", "What", "Because", "EUR"),
    h("tbody", {}, plan.consumables.map((c) => h("tr", {},
      h("td", {}, box()), h("td", {}, c.count), h("th", { scope: "row" }, c.label), h("td", {}, `${c.because.label} is opened`), h("td", { class: "amount" }, money(c.price_eur)))))));
}

function work(plan) {
  if (!plan.work.length) return h("p", {}, "Hours and order of work are not in the catalogue for this plan.");
  return scrolling("Order of work", h("table", {}, heads("No.", "Work", "Hours", "Torque, by the maker’s book", "Done"),
    h("tbody", {}, plan.work.map((w, at) => h("tr", {},
      h("td", {}, String(at + 1)), h("th", { scope: "row" }, w.operation.label, w.cannot_be_undone ? " (cannot be undone)" : ""),
      h("td", { class: "amount" }, String(w.hours)), h("td", {}, h("div", { class: "blank" })), h("td", {}, box()))),
    h("tr", {}, h("td", {}), h("th", { scope: "row" }, "Total, shared work counted once"), h("td", { class: "amount" }, String(plan.hours)), h("td", {}), h("td", {})))));
}

function signatures() {
  const people = ["Parts ordered by", "Checks made by", "Work done by", "Road test by", "Customer"];
  return h("table", { class: "signs" }, heads("Who", "Name", "Signature", "Date"),
    h("tbody", {}, people.map((who) => h("tr", {}, h("th", { scope: "row" }, who), h("td", {}), h("td", {}), h("td", {})))));
}

async function start() {
  startPage();
  byId("print").addEventListener("click", () => print());
  document.addEventListener("reader-changed", load);
  byId("back").href = `/?${new URLSearchParams({ q: asked.get("q") ?? "" })}`;
  await load();
}

async function load() {
  const place = byId("sheet");
  const question = asked.get("q");
  const number = Number(asked.get("plan") ?? 1);
  if (!question) {
    show(place, h("p", { class: "note" }, "A job sheet belongs to a plan: ", h("a", { href: "/" }, "ask what else must change"), " first."));
    return;
  }
  show(place, waiting("Making the sheet…"));
  try {
    const found = JSON.parse(asked.get("found") ?? "{}");
    const { tree } = await read(question);
    const bare = (list, names) => (list ?? []).map((each) => Object.fromEntries(names.map((n) => [n, each[n]])));
    const answer = await ask({
      tree, plans: Math.max(3, number), measured: bare(found.measured, ["end", "quantity", "value", "unit"]), tried: bare(found.tried, ["first", "second"]),
    });
    const words = [...(found.measured ?? []), ...(found.tried ?? [])].map((each) => String(each.words));
    if (answer.kind !== "knock-ons" || !answer.plans[number - 1]) {
      show(place, h("p", { class: "note bad", role: "alert" }, answer.kind !== "knock-ons" ? "Only a question about fitting something has a job sheet."
        : answer.workable ? `There is no plan ${number}: this answer has ${answer.plans.length}.` : "There is no job sheet: no plan is workable."));
      return;
    }
    show(place, sheet(answer, number, words));
    document.body.dataset.ready = "yes";
  } catch (trouble) { show(place, troubled(trouble, question)); }
}

start();
