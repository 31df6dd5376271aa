// Elements from values. Text is always set as text, so nothing from the catalogue is ever markup.

const SVG = "http://www.w3.org/2000/svg";

export function h(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

export function svg(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value" || name === "checked" || name === "open") element[name] = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(Infinity).filter((child) => child || child === 0));
  return element;
}

export const byId = (id) => document.getElementById(id);

/** Put new content in place, and leave the focus where it was if its `data-key` is still there. */
export function show(place, ...children) {
  const key = place.contains(document.activeElement) ? document.activeElement.dataset.key : "";
  const open = new Map([...place.querySelectorAll("details[data-key]")].map((d) => [d.dataset.key, d.open]));
  place.replaceChildren(...children.flat(Infinity).filter(Boolean));
  for (const each of place.querySelectorAll("details[data-key]")) {
    if (open.has(each.dataset.key)) each.open = open.get(each.dataset.key);
  }
  if (key) place.querySelector(`[data-key="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
}

/** Say something to whoever listens to the page instead of looking at it. */
export function announce(text) {
  const voice = byId("voice");
  voice.textContent = "";
  setTimeout(() => { voice.textContent = text; }, 60);
}

let made = 0;
export const freshId = (stem) => `${stem}-${(made += 1)}`;

/** A part as on an order: number first. */
export function part(ref) {
  if (!ref.iri) return h("span", { class: "quiet" }, "nothing");
  return h("span", {}, h("span", { class: "number" }, ref.number ?? ""), ref.number ? " " : "", ref.label);
}

export const named = (ref) => (ref.number ? `${ref.number} ${ref.label}` : ref.label);

/** What a station may take: a part, or nothing at all. */
export const option = (ref) => (ref.iri ? named(ref) : "taken off");

export function listed(words, last = "and") {
  if (words.length < 2) return words.join("");
  return `${words.slice(0, -1).join(", ")} ${last} ${words.at(-1)}`;
}

export const counted = (count, one, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;
