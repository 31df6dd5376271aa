// The page on which a question is put together and answered.

import { all, ask, read } from "./api.js";
import { CarPicker, about, askPart, carInFull, onCar } from "./car.js";
import { checks } from "./checks.js";
import { announce, byId, h, named, show } from "./dom.js";
import { picture } from "./picture.js";
import { plans } from "./plans.js";
import { report } from "./reasons.js";
import { Sentence } from "./sentence.js";
import { startPage, troubled, waiting } from "./shell.js";
import { newTree, pinned, unpinned, withKeep, withoutKeep } from "./tree.js";
import { head, switches, verdicts } from "./verdicts.js";

const state = {
  tree: null, asked: "", reply: null, car: null, fits: [], last: "",
  offers: new Map(), pins: new Set(), measured: [], tried: [], ticked: new Set(),
};
let stations = new Map();
let flight = null;

const sentence = new Sentence((text) => askText(text));
const picker = new CarPicker((car) => chooseCar(car));

// ---------------------------------------------------------------- asking

async function askText(text) {
  if (!text) return;
  show(byId("answer"), waiting("Reading the question…"));
  try {
    const found = await read(text, state.last);
    fresh(found);
    await answer(true);
  } catch (trouble) { told(trouble, text); }
}

function fresh({ tree, question = "" }) {
  state.tree = tree;
  state.asked = question;
  state.offers.clear();
  state.pins.clear();
  state.measured = [];
  state.tried = [];
  state.ticked.clear();
}

async function answer(moving = false) {
  flight?.abort();
  const mine = (flight = new AbortController());
  const place = byId("answer");
  const inside = place.contains(document.activeElement);
  place.setAttribute("aria-busy", "true");
  if (!state.reply || moving) show(place, waiting("Working out what else must change…"));
  try {
    const reply = await ask({
      tree: state.tree, plans: 3,
      measured: state.measured.map(({ end, quantity, value, unit }) => ({ end, quantity, value, unit })),
      tried: state.tried.map(({ first, second }) => ({ first, second })),
    }, mine.signal);
    state.reply = reply;
    state.last = reply.question;
    sentence.text = reply.question;
    const address = `?${new URLSearchParams({ q: reply.question })}`;
    if (moving) history.pushState(null, "", address); else history.replaceState(null, "", address);
    document.title = `${reply.question} – knockon`;
    render();
    announce(reply.summary);
    // Whoever pressed something that is gone now is taken to what came of it.
    if (moving || (inside && !place.contains(document.activeElement))) byId("summary")?.focus();
  } catch (trouble) {
    if (trouble.name !== "AbortError") told(trouble, state.asked);
  } finally {
    if (flight === mine) place.removeAttribute("aria-busy");
  }
}

function told(trouble, text) {
  state.reply = null;
  show(byId("answer"), troubled(trouble, text, (mended) => { sentence.text = mended; askText(mended); }));
  if (!trouble.problem) console.error(trouble);
}

// ---------------------------------------------------------------- showing

function render() {
  const reply = state.reply;
  if (reply.kind !== "knock-ons") {
    show(byId("answer"), report(reply));
    return;
  }
  for (const line of reply.lines) {
    if (line.verdict !== "keeps" && (line.options.length > 1 || line.verdict === "choice")) {
      state.offers.set(line.station.iri, { station: line.station, options: line.options, verdict: line.verdict, now: line.now });
    }
  }
  const changing = reply.lines.some((line) => line.verdict !== "keeps");
  show(byId("answer"),
    head(reply),
    changing ? picture(reply, openVerdict) : null,
    reply.workable || reply.kept.length ? h("div", { class: "pair" },
      switches(reply, state, acts), checks(reply, state, acts)) : null,
    verdicts(reply, acts),
    plans(reply, sheetOf));
}

function openVerdict(iri) {
  const found = document.querySelector(`[data-station="${CSS.escape(iri)}"]`);
  if (!found) {
    byId("summary").focus();
    return;
  }
  found.open = true;
  found.querySelector("summary").focus();
  found.scrollIntoView({ block: "start", behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
}

function sheetOf(plan) {
  const found = state.measured.length || state.tried.length
    ? { found: JSON.stringify({ measured: state.measured, tried: state.tried }) } : {};
  return `/sheet?${new URLSearchParams({ q: state.reply.question, plan, ...found })}`;
}

// ---------------------------------------------------------------- what a press does

// In a sentence a station goes by the name that the catalogue prefers, whichever English is shown.
const stationName = (station) => stations.get(station.iri)?.label ?? station.label;

const acts = {
  pin(station, part) {
    state.asked = "";
    state.pins.add(station.iri);
    state.tree = pinned(state.tree, stationName(station), part.number);
    answer();
  },
  keep(station) {
    state.asked = "";
    state.pins.delete(station.iri);
    state.tree = withKeep(state.tree, stationName(station));
    answer();
  },
  free(station) {
    state.asked = "";
    state.pins.delete(station.iri);
    state.tree = withoutKeep(unpinned(state.tree, stationName(station)), stationName(station));
    answer();
  },
  measured(value, text, unit) {
    const quantity = value.property.iri;
    state.measured = state.measured.filter((m) => m.end !== value.end.iri || m.quantity !== quantity);
    const words = `${value.property.label} ${text}${unit ? ` ${unit}` : ""} (${value.part.number ?? value.part.label})`;
    state.measured.push({ end: value.end.iri, quantity, value: text, unit, words });
    answer();
  },
  tried(pair) {
    const [first, second] = pair.ends.map((end) => end.iri);
    state.tried.push({ first, second, words: `fits: ${pair.parts.map((p) => p.number ?? p.label).join(" and ")}` });
    answer();
  },
  forget(each) {
    state.measured = state.measured.filter((m) => m !== each);
    state.tried = state.tried.filter((t) => t !== each);
    answer();
  },
};

// ---------------------------------------------------------------- picking

async function chooseCar(car) {
  state.fits = [];
  try {
    state.car = await carInFull(car);
  } catch (trouble) { told(trouble, ""); return; }
  job();
  announce(`${car.label} is picked.`);
}

async function fit(each) {
  const part = await askPart(each).catch((trouble) => { told(trouble, ""); return null; });
  if (!part) return;
  state.fits = [...state.fits.filter((f) => f.station.iri !== each.station.iri), { station: each.station, part }];
  job();
  byId("ask-picked")?.focus();
}

function job() {
  const car = state.car;
  show(byId("job"), car ? [
    h("h3", {}, `On the ${car.label}`, " ", h("span", { class: "quiet" }, about(car))),
    state.fits.length ? h("ul", { class: "chips", "aria-label": "To be fitted" }, state.fits.map((f) => h("li", {}, `${named(f.part)} as ${f.station.label}`,
      h("button", { type: "button", class: "small plain", "aria-label": `Do not fit ${f.part.label}`, onclick: () => { state.fits = state.fits.filter((x) => x !== f); job(); } }, "✕")))) : null,
    state.fits.length ? h("div", {}, h("button", { type: "button", id: "ask-picked", class: "main", onclick: askPicked }, "What else must change?"))
      : h("p", {}, "Open an area and say what is to be fitted."),
    onCar(car, stations, fit),
  ] : null);
}

function askPicked() {
  const fits = state.fits.map((f) => ({ part: f.part.number, at: stationName(f.station) }));
  fresh({ tree: newTree(state.car.label, fits) });
  byId("picker").open = false;
  answer(true);
}

// ---------------------------------------------------------------- start

async function start() {
  startPage();
  byId("sentence-place").append(sentence.place);
  byId("asking").addEventListener("submit", (event) => { event.preventDefault(); askText(sentence.text); });
  byId("cars").append(picker.place);
  document.addEventListener("reader-changed", () => { if (state.tree && state.reply) answer(); });
  addEventListener("popstate", fromAddress);
  fromAddress();
  try {
    stations = new Map((await all("/v1/stations")).map((s) => [s.iri, s]));
    await picker.start();
  } catch (trouble) { show(byId("cars"), troubled(trouble)); }
}

function fromAddress() {
  const asked = new URLSearchParams(location.search).get("q");
  byId("picker").open = !asked;
  if (!asked || asked === state.reply?.question) return;
  sentence.text = asked;
  read(asked).then((found) => { fresh(found); return answer(); }, (trouble) => told(trouble, asked));
}

start();
