// What every page has: the switches of the reader, and troubles in words.

import { byId, h } from "./dom.js";
import { change, key, setKey, settings } from "./settings.js";

const SWITCHES = [
  ["units", "Units", [["mm", "mm"], ["in", "inch"]]],
  ["language", "English", [["en-GB", "UK"], ["en-US", "US"]]],
];

export function startPage() {
  document.documentElement.lang = settings.language;
  byId("reader").append(...SWITCHES.map(pill), keyButton());
}

function pill([name, title, choices]) {
  return h("div", { class: "pill", role: "radiogroup", "aria-label": title },
    choices.map(([value, text]) =>
      h("label", {}, h("input", {
        type: "radio", name, value, checked: settings[name] === value,
        onchange: () => change(name, value),
      }), text)));
}

function keyButton() {
  const input = h("input", { type: "password", autocomplete: "off", value: key() });
  const dialog = h("dialog", { "aria-labelledby": "key-title" },
    h("form", { method: "dialog" },
      h("h2", { id: "key-title" }, "Your key"),
      h("p", {}, "Only needed where the service asks for one. It is forgotten when this tab is closed."),
      h("label", { class: "field" }, "Key", input),
      h("div", { class: "line" },
        h("button", { class: "main", value: "keep" }, "Use it"),
        h("button", { value: "" }, "Leave it"))));
  dialog.addEventListener("close", () => {
    if (dialog.returnValue !== "keep") return;
    setKey(input.value.trim());
    location.reload();
  });
  document.body.append(dialog);
  return h("button", { class: "small plain", type: "button", onclick: () => dialog.showModal() }, "Key");
}

export const waiting = (text) => h("p", { class: "wait", role: "status" }, text);

/** A refusal in words: what is wrong, where, and what would be right. `mend(text)` tries again. */
export function troubled(trouble, sentence = "", mend = null) {
  const said = trouble.problem ?? {};
  const span = said.span;
  const marked = span && span.end > span.start && sentence
    ? h("p", { class: "said" }, sentence.slice(0, span.start),
        h("mark", {}, sentence.slice(span.start, span.end)), sentence.slice(span.end))
    : null;
  return h("div", { class: "note bad", role: "alert" },
    h("h2", {}, said.title ?? "That did not work"),
    h("p", {}, capital(trouble.message)),
    marked,
    said.hint ? h("p", {}, said.hint) : null,
    said.expected?.length ? h("p", {}, "Here could stand: ", said.expected.slice(0, 12).join(", "), ".") : null,
    mend && span ? mends(said, sentence, span, mend) : null,
    said.status === 401 || said.status === 403
      ? h("p", {}, "This service wants a key: give yours with the button “Key” above.") : null);
}

function mends(said, sentence, span, mend) {
  const places = (said.candidates ?? []).map((c) => [
    c.number || c.label, [c.number, c.label, c.detail].filter(Boolean).join(" · "),
  ]);
  const names = (said.nearest ?? []).map((name) => [name, name]);
  const offered = places.length ? places : names;
  if (!offered.length) return null;
  return h("div", {}, h("p", {}, places.length ? "Which one is meant?" : "The nearest names are:"),
    h("div", { class: "line" }, offered.slice(0, 8).map(([name, text]) =>
      h("button", {
        type: "button", class: "small",
        onclick: () => mend(sentence.slice(0, span.start) + quoted(name) + sentence.slice(span.end)),
      }, text))));
}

/** A name as a sentence takes it whatever words are in it. */
export const quoted = (name) =>
  /^[\w.\-/]+( [\w.\-/]+)*$/.test(name) && !RESERVED.test(name) ? name : `"${name.replaceAll('"', '""')}"`;

const RESERVED =
  /(^| )(to|into|onto|on|at|and|keeping|with|using|without|unless|if|change|fit|mate|from|needs?|be|may)( |$)/i;

export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
