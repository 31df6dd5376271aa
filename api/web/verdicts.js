// The answer to a whole change: head, switches, verdicts, conflict.

import { counted, h, listed, named, part } from "./dom.js";
import { cautions, chain, meeting } from "./reasons.js";
import { capital } from "./shell.js";

const SIGNS = { fitted: "●", must: "■", choice: "◆", keeps: "·" };
const ROOMY = matchMedia("(min-width: 700px)");
const WORDS = { must: "must change", choice: "choice", keeps: "keeps its part" };

export function head(answer, link) {
  const counts = ["must", "choice", "keeps"].map((v) => [v, answer.lines.filter((l) => l.verdict === v).length]);
  return h("section", { class: "card head", "aria-labelledby": "summary" }, h("div", { class: "part" },
    h("h2", { id: "summary", tabindex: "-1" }, answer.summary),
    h("p", { class: "said" }, answer.question),
    h("ul", { class: "facts" },
      h("li", {}, h("strong", {}, answer.car.label)),
      answer.fitted.map((f) => h("li", { class: "fitted" }, h("span", { class: "sign", "aria-hidden": "true" }, SIGNS.fitted),
        h("span", {}, named(f.part), h("span", { class: "quiet" }, ` as ${f.station.label}, for ${f.now.number ?? "nothing"}`))))),
    answer.workable ? h("p", { class: "line" }, counts.map(([v, n]) => (n ? h("span", { class: `tag ${v}` }, `${SIGNS[v]} ${n} ${v === "keeps" ? "keep" : WORDS[v]}`) : null)),
      answer.checks.length ? h("a", { href: "#checks", class: "tag check" }, `? ${counted(answer.checks.length, "check")} before ordering`) : null,
      answer.plans.length ? h("a", { href: "#plans" }, counted(answer.plans.length, "plan")) : null, link) : null,
    answer.conflict ? conflict(answer.conflict) : null,
    answer.reasons_among ? h("p", { class: "quiet" }, `Verdicts hold for the whole catalogue. Some reasons here are told among the ${answer.reasons_among} parts that come in question, as limits on money, hours and proof are weighed among these.`) : null,
    answer.already_clashing.length ? h("details", { "data-key": "already" },
      h("summary", {}, `${counted(answer.already_clashing.length, "clash", "clashes")} on the car before anything is fitted`),
      answer.already_clashing.map((m) => meeting(m))) : null),
  cautions(answer.cautions));
}

function conflict(found) {
  return h("div", { class: "note bad" },
    h("h3", {}, "These cannot hold together"),
    h("ul", {}, found.reasons.map((r) => h("li", {}, r))),
    found.releases.length ? [h("h3", {}, "The least to give up"),
      h("ul", {}, found.releases.map((r) => h("li", {}, listed(r.drop),
        r.then_change.length ? `: then ${listed(r.then_change.map((t) => t.label))} would change` : "")))] : null);
}

/** Switches: each station with several ways, open, pinned or kept. Every press answers again. */
export function switches(answer, state, act) {
  const rows = [];
  for (const line of answer.lines) {
    if (line.verdict === "keeps") continue;
    if (line.options.length > 1 || line.verdict === "choice") {
      rows.push({ station: line.station, options: line.options, verdict: line.verdict, now: line.now, set: "" });
    }
  }
  for (const [iri, known] of state.offers) {
    const pinned = answer.fitted.find((f) => f.station.iri === iri);
    const kept = answer.kept.some((t) => t.iri === iri);
    if ((pinned && state.pins.has(iri)) || kept) {
      rows.push({ ...known, set: kept ? "keep" : pinned.part.number });
    }
  }
  for (const kept of answer.kept) {
    if (!state.offers.has(kept.iri)) rows.push({ station: kept, options: [], verdict: "kept", now: null, set: "keep" });
  }
  rows.sort((a, b) => a.station.label.localeCompare(b.station.label));
  return h("section", { class: "card", "aria-labelledby": "switches-title" },
    h("h2", { id: "switches-title" }, "Choices"),
    rows.length ? h("p", { class: "quiet" }, "Settle one, and everything is worked out again.")
      : h("p", {}, "There is nothing left to choose."),
    rows.map((row) => one(row, act)));
}

function one(row, act) {
  const name = `switch-${row.station.iri}`;
  const radio = (value, text, more, run) => h("label", {},
    h("input", { type: "radio", name, value, checked: row.set === value, "data-key": `${name} ${value}`, onchange: run }),
    h("span", {}, text, more ? h("span", { class: "quiet" }, more) : null));
  const set = row.set === "keep" ? "kept" : row.set ? row.set : `open, ${counted(row.options.length, "option")}`;
  return h("details", { "data-key": `${name} ${row.set ? "settled" : "open"}`, open: row.set !== "" || (row.options.length <= 4 && ROOMY.matches) },
    h("summary", {}, h("span", { class: "wrap" }, capital(row.station.label), h("span", { class: "quiet" }, set))),
    h("fieldset", {}, h("legend", { class: "unseen" }, row.station.label),
      h("div", { class: "pick" },
        radio("", "Leave it open", "", () => act.free(row.station)),
        row.options.map((p) => radio(p.number ?? "", p.label, [p.number, p.maker, p.price_eur == null ? "" : `${p.price_eur} EUR`].filter(Boolean).join(" · "),
          () => act.pin(row.station, p))).filter((_, at) => row.options[at].iri),
        row.verdict === "choice" || row.verdict === "kept"
          ? radio("keep", row.now && !row.now.iri ? "Leave it empty" : "Keep what is there", row.now?.iri ? named(row.now) : "", () => act.keep(row.station)) : null)));
}

/** A verdict on every station, reasons one click deep; what keeps comes last, in one list. */
export function verdicts(answer, act) {
  const changing = answer.lines.filter((l) => l.verdict !== "keeps");
  const keeping = answer.lines.filter((l) => l.verdict === "keeps");
  if (!answer.lines.length) return null;
  return h("section", { class: "card", "aria-labelledby": "verdicts-title" },
    h("h2", { id: "verdicts-title" }, "Station by station"),
    changing.map((line) => verdict(line, act)),
    keeping.length ? h("details", { "data-key": "keeps" },
      h("summary", { class: "keeps" }, h("span", { class: "sign", "aria-hidden": "true" }, SIGNS.keeps), `${keeping.length} keep what they have`),
      h("ul", { class: "columns" }, keeping.map((line) => h("li", {}, line.station.label, " ", h("span", { class: "quiet" }, part(line.now)))))) : null);
}

function verdict(line, act) {
  const times = line.quantity > 1 ? ` ×${line.quantity}` : "";
  const hangs = line.strictly !== line.verdict;
  const id = `verdict-${line.station.iri.split("/").at(-1)}`;
  return h("details", { class: "verdict", id, "data-key": id, "data-station": line.station.iri },
    h("summary", { class: line.verdict },
      h("span", { class: "sign", "aria-hidden": "true" }, SIGNS[line.verdict]),
      h("span", { class: "wrap" },
        h("span", { class: "station" }, line.station.label, times),
        h("span", { class: `tag ${line.verdict}` }, WORDS[line.verdict]),
        hangs ? h("span", { class: "tag check" }, "? check first") : null,
        h("span", { class: "quiet to" }, line.forced_by.length ? `because of ${listed(line.forced_by.map((t) => t.label))}` : ""))),
    h("div", { class: "inner" },
      h("p", {}, h("strong", {}, "Now: "), part(line.now)),
      h("p", {}, h("strong", {}, line.options.length > 1 ? "One of: " : "To be: ")),
      h("ul", {}, line.options.map((p) => h("li", {}, p.iri ? part(p) : "taken off", p.price_eur == null ? "" : h("span", { class: "quiet" }, ` ${p.price_eur} EUR each`)))),
      hangs ? h("p", { class: "note warn" }, line.strictly === null
        ? "If what nobody has proven does not fit, no plan is left: see the checks."
        : `If what nobody has proven does not fit, it ${{ must: "must change", choice: "becomes a choice", keeps: "keeps its part" }[line.strictly]}.`) : null,
      line.while_keeping.length ? h("p", {}, `Only in plans that keep the ${listed(line.while_keeping.map((t) => t.label))}.`) : null,
      h("h3", {}, "Why"), chain(line.because),
      line.verdict === "must" ? h("p", {}, h("button", { type: "button", class: "small", onclick: () => act.keep(line.station) }, "What if it must stay?")) : null));
}
