// Facts with their sources and standings, and what nobody has proven.

import { all, ask, get } from "./api.js";
import { byId, counted, h, listed, named, part, show } from "./dom.js";
import { startEdits } from "./edits.js";
import { report, scrolling } from "./reasons.js";
import { measured } from "./settings.js";
import { quoted, startPage, troubled, waiting } from "./shell.js";

const MOST = 40;
let shown = null;
let kinds = new Map();

const cited = (list) => list.map((c) => `${c.source} (${c.standing}${c.date ? `, ${c.date}` : ""})`).join("; ");

async function find(words) {
  const place = byId("found");
  show(place, waiting("Looking…"));
  try {
    const page = await get(`/v1/parts?limit=${MOST}&q=${encodeURIComponent(words)}`);
    if (page.items.length === 1) { await showPart(page.items[0].href); return; }
    show(place, h("section", { class: "card", "aria-labelledby": "found-title" },
      h("h2", { id: "found-title", tabindex: "-1" }, page.total ? counted(page.total, "part") : "No part has all of these words in its names."),
      page.total > MOST ? h("p", { class: "quiet" }, `The first ${MOST} are shown: say more words.`) : null,
      h("ul", { class: "stations" }, page.items.map((p) => h("li", {},
        h("div", {}, h("strong", {}, p.label), h("div", { class: "quiet" }, [p.number, p.maker].filter(Boolean).join(" · "))),
        h("button", { type: "button", class: "small", "aria-label": `Facts of ${named(p)}`, onclick: () => showPart(p.href) }, "Facts"))))));
    byId("found-title").focus();
  } catch (trouble) { show(place, troubled(trouble)); }
}

async function showPart(href) {
  const place = byId("found");
  try {
    const p = await get(href);
    shown = href;
    history.replaceState(null, "", `?${new URLSearchParams({ part: p.number })}`);
    show(place, facts(p));
    byId("part-title").focus();
  } catch (trouble) { show(place, troubled(trouble)); }
}

function facts(p) {
  const rows = [
    ["Maker", p.maker], ["Family", p.family?.label], ["Also called", p.synonyms.join(", ")],
    ["Sits at", listed(p.stations.map((s) => s.label))], ["Price each", p.price_eur == null ? "" : `${p.price_eur} EUR`],
    ["Weight", p.weight_kg == null ? "" : `${p.weight_kg} kg`], ["Needs", listed(p.requires.map((t) => t.label))],
    ["Rules out", listed(p.excludes.map((t) => t.label))], ["Only used complete", listed(p.sets.map((t) => t.label))],
    ["Superseded by", listed(p.superseded_by.map(named))], ["Interchanges with", listed(p.interchanges_with.map(named))],
    ["Made from", p.rework_of ? `${named(p.rework_of)}: ${p.rework_act}` : ""], ["Stated by", cited(p.cited)],
  ];
  return h("section", { class: "card", "aria-labelledby": "part-title" },
    h("h2", { id: "part-title", tabindex: "-1" }, part(p)),
    scrolling("The part", h("table", {}, h("tbody", {}, rows.filter(([, text]) => text).map(([label, text]) => h("tr", {}, h("th", { scope: "row" }, label), h("td", {}, text)))))),
    h("h3", {}, "Ends"),
    p.ends.length ? scrolling("Ends", h("table", {},
      h("thead", {}, h("tr", {}, ["end", "value", "stated by, standing"].map((t) => h("th", { scope: "col" }, t)))),
      p.ends.map(endRows))) : h("p", {}, "Nothing is stated of how it meets others."));
}

function endRows(end) {
  const times = new Map();
  end.values.forEach((v) => times.set(v.quantity, (times.get(v.quantity) ?? 0) + 1));
  const cells = [
    ...end.values.map((v) => [`${v.label}: ${shownValue(v)}${times.get(v.quantity) > 1 ? " (disputed)" : ""}`, cited(v.cited), times.get(v.quantity) > 1]),
    ...end.made_to_suit.map((o) => [`${o.label}: made to suit, ${o.one_of.length ? listed(o.one_of.map(String), "or") : `${o.least} to ${o.most}`}`, "", false]),
  ];
  if (!cells.length) cells.push(["nothing stated", "", false]);
  const name = h("th", { scope: "rowgroup", rowspan: cells.length }, end.role.label,
    h("div", { class: "quiet" }, `${kinds.get(end.kind) ?? end.kind}${end.side ? `, ${end.side}` : ""}`));
  return h("tbody", {}, cells.map(([value, by, marked], at) =>
    h("tr", { class: marked ? "marked" : null }, at ? null : name, h("td", {}, value), h("td", {}, by))));
}

function shownValue(v) {
  if (Array.isArray(v.value)) return v.value.map((record) => Object.entries(record).map(([k, x]) => `${k} ${x}`).join(", ")).join("; ");
  if (typeof v.value !== "number") return String(v.value);
  return measured(v.value, v.unit).filter(Boolean).join(" ");
}

async function unproven(car) {
  const place = byId("unproven");
  show(place, waiting("Looking through its joints…"));
  try {
    show(place, report(await ask({ question: `what is unproven about ${quoted(car)}?` })));
  } catch (trouble) { show(place, troubled(trouble)); }
}

async function start() {
  startPage();
  byId("look-up").addEventListener("submit", (event) => { event.preventDefault(); find(byId("words").value.trim()); });
  byId("unproven-form").addEventListener("submit", (event) => { event.preventDefault(); unproven(byId("unproven-car").value); });
  startEdits();
  document.addEventListener("reader-changed", () => {
    if (shown) showPart(shown);
    if (byId("unproven").childElementCount) unproven(byId("unproven-car").value);
  });
  try {
    const [cars, sources, interfaces] = await Promise.all([all("/v1/cars"), all("/v1/sources"), all("/v1/interfaces")]);
    kinds = new Map(interfaces.map((kind) => [kind.id, kind.label]));
    byId("unproven-car").append(...cars.map((c) => h("option", { value: c.label }, c.label)));
    show(byId("sources"), scrolling("Table of sources", h("table", {},
      h("thead", {}, h("tr", {}, ["source", "standing", "by", "date"].map((t) => h("th", { scope: "col" }, t)))),
      h("tbody", {}, sources.map((s) => h("tr", {}, h("th", { scope: "row" }, s.label), h("td", {}, s.standing), h("td", {}, s.by), h("td", { class: "number" }, s.date)))))));
    const asked = new URLSearchParams(location.search).get("part");
    if (asked) await showPart(`/v1/parts/${encodeURIComponent(asked)}`);
  } catch (trouble) { show(byId("sources"), troubled(trouble)); }
}

start();
