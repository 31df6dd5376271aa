// Picking the car (search, generation, body, serial), seeing what is on it, picking what to fit.

import { all, get } from "./api.js";
import { announce, counted, freshId, h, part, show } from "./dom.js";

const years = (car) => {
  if (!car.first_year) return "";
  if (car.last_year === car.first_year) return String(car.first_year);
  return car.last_year ? `${car.first_year}–${car.last_year}` : `from ${car.first_year}`;
};
const serials = (car) => {
  if (!car.first_serial && !car.last_serial) return "";
  return `serial ${car.first_serial ?? "…"} to ${car.last_serial ?? "…"}`;
};
export const about = (car) => [years(car), car.body, serials(car), car.market].filter(Boolean).join(" · ");

/** A picker of cars. `chosen(car)` is called with the item of the list. */
export class CarPicker {
  constructor(chosen, name = "car") {
    this.chosen = chosen;
    this.name = name;
    this.wanted = { words: "", generation: "", body: "", serial: "" };
    this.list = h("div", {});
    this.said = h("p", { class: "quiet", role: "status" });
    this.selects = h("div", { class: "fields" });
    this.place = h("div", { class: "stack" }, this.selects, this.said, this.list);
  }

  async start() {
    this.cars = await all("/v1/cars");
    const input = (key, label, more = {}) => h("label", { class: "field" }, label, h("input", {
      type: "search", autocomplete: "off", oninput: (e) => this.narrowed(key, e.target.value), ...more,
    }));
    const select = (key, label, values) => h("label", { class: "field" }, label, h("select", {
      onchange: (e) => this.narrowed(key, e.target.value),
    }, h("option", { value: "" }, "any"), [...new Set(values)].filter(Boolean).sort().map((v) => h("option", {}, v))));
    show(this.selects,
      input("words", "Search"),
      select("generation", "Generation", this.cars.map((c) => c.generation?.label)),
      select("body", "Body", this.cars.map((c) => c.body)),
      input("serial", "Serial number", { inputmode: "numeric" }));
    this.listed();
  }

  narrowed(key, value) {
    this.wanted[key] = value.trim();
    this.listed();
  }

  fitting() {
    const { words, generation, body, serial } = this.wanted;
    const said = words.toLowerCase().split(/\s+/).filter(Boolean);
    const number = serial === "" ? null : Number(serial.replace(/\D/g, ""));
    return this.cars.filter((car) => {
      const names = [car.label, car.generation?.label, car.line?.label, car.body, years(car), car.market].join(" ").toLowerCase();
      return said.every((word) => names.includes(word))
        && (!generation || car.generation?.label === generation)
        && (!body || car.body === body)
        && (number === null || ((car.first_serial ?? 0) <= number && number <= (car.last_serial ?? Infinity)));
    });
  }

  listed() {
    const left = this.fitting();
    this.said.textContent = left.length ? `${counted(left.length, "car")} of ${this.cars.length}` : "No car is like that: widen the search.";
    const radio = (car) => h("label", {},
      h("input", { type: "radio", name: this.name, value: car.iri, checked: this.iri === car.iri,
        onchange: () => this.choose(car) }),
      h("span", {}, car.label, h("span", { class: "quiet" }, about(car))));
    show(this.list, h("fieldset", {}, h("legend", { class: "unseen" }, "Cars"), h("div", { class: "pick" }, left.map(radio))));
  }

  choose(car) {
    this.iri = car.iri;
    this.chosen(car);
  }
}

/** What is on a car, by area and station; `fit(station)` is called to fit something there. */
export function onCar(car, areas, fit) {
  const groups = new Map();
  for (const each of car.fits) {
    const area = areas.get(each.station.iri)?.area || "other";
    if (!groups.has(area)) groups.set(area, []);
    groups.get(area).push(each);
  }
  return [...groups].sort(([a], [b]) => a.localeCompare(b)).map(([area, fits]) =>
    h("details", { "data-key": `area ${area}` }, h("summary", {}, area, h("span", { class: "quiet" }, counted(fits.length, "station"))),
      h("ul", { class: "stations" }, fits.map((each) =>
        h("li", {},
          h("div", {}, h("strong", {}, each.station.label), each.quantity > 1 ? ` ×${each.quantity}` : "",
            h("div", { class: "quiet" }, part(each.part))),
          h("button", { type: "button", class: "small", "aria-label": `Fit another part as ${each.station.label}`, onclick: () => fit(each) }, "Fit another…"))))));
}

/** A dialog that asks which part to fit at one station; resolves to a part or null. */
export async function askPart(each) {
  const id = each.station.iri.split("/").at(-1);
  const found = await all(`/v1/parts?station=${encodeURIComponent(each.station.iri)}`);
  const others = found.filter((p) => p.iri !== each.part.iri);
  const list = h("div", { class: "pick" });
  const search = h("input", { type: "search", autocomplete: "off", oninput: () => shown() });
  const shown = () => {
    const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
    show(list, others.filter((p) => words.every((w) => `${p.number} ${p.label} ${p.maker}`.toLowerCase().includes(w)))
      .map((p) => h("label", {},
        h("input", { type: "radio", name: `part-${id}`, value: p.number, required: true }),
        h("span", {}, p.label, h("span", { class: "quiet" }, [p.number, p.maker, p.price_eur === null ? "" : `${p.price_eur} EUR`].filter(Boolean).join(" · "))))));
  };
  shown();
  const title = freshId("fit");
  const form = h("form", { method: "dialog" },
    h("h2", { id: title }, `What is to be fitted as ${each.station.label}?`),
    h("p", { class: "quiet" }, "On the car now: ", part(each.part)),
    others.length > 6 ? h("label", { class: "field" }, "Search", search) : null,
    h("fieldset", {}, h("legend", { class: "unseen" }, "Parts"), list),
    others.length ? null : h("p", {}, "The catalogue has no other part for this place."),
    h("div", { class: "line" },
      others.length ? h("button", { class: "main", value: "take" }, "Fit this one") : null,
      h("button", { value: "", formnovalidate: true }, "Leave it")));
  const dialog = h("dialog", { "aria-labelledby": title }, form);
  document.body.append(dialog);
  dialog.showModal();
  return new Promise((resolve) => dialog.addEventListener("close", () => {
    const number = new FormData(form).get(`part-${id}`);
    const taken = dialog.returnValue === "take" ? others.find((p) => p.number === number) : null;
    dialog.remove();
    if (taken) announce(`${taken.label} is to be fitted.`);
    resolve(taken ?? null);
  }));
}

export const carInFull = (car) => get(car.href);
