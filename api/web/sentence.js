// The sentence: a text box that offers what can be typed next, by keyboard, mouse or touch.

import { complete } from "./api.js";
import { h, show } from "./dom.js";

export class Sentence {
  constructor(asked) {
    this.asked = asked;
    this.at = -1;
    this.offers = [];
    this.input = h("input", {
      id: "sentence", type: "text", maxlength: 4000, spellcheck: "false", autocomplete: "off", autocapitalize: "off",
      role: "combobox", "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": "offers",
      "aria-describedby": "sentence-help",
      oninput: () => this.typed(), onkeydown: (event) => this.pressed(event), onclick: () => this.typed(),
      onblur: () => setTimeout(() => this.close(), 150),
    });
    this.list = h("ul", { id: "offers", role: "listbox", "aria-label": "What can come next", hidden: true });
    this.place = h("div", { class: "sentence" }, this.input, this.list);
  }

  get text() { return this.input.value.trim(); }
  set text(value) { this.input.value = value; }

  typed() {
    this.list.toggleAttribute("data-stale", true);  // what is offered was for another text
    clearTimeout(this.later);
    this.later = setTimeout(() => this.look(), 120);
  }

  async look() {
    this.flight?.abort();
    this.flight = new AbortController();
    try {
      const cursor = this.input.selectionStart;
      const { items } = await complete(this.input.value, cursor, this.flight.signal);
      if (document.activeElement === this.input) this.offer(items.slice(0, 12));
    } catch { this.close(); /* nothing to offer is no trouble */ }
  }

  offer(items) {
    this.offers = items;
    this.at = -1;
    this.list.toggleAttribute("data-stale", false);
    show(this.list, items.map((each, at) => h("li", {
      id: `offer-${at}`, role: "option", "aria-selected": "false",
      onmousedown: (event) => { event.preventDefault(); this.take(each); },
    }, h("span", {}, each.text), h("span", { class: "quiet" }, [each.what === "word" ? "" : each.what, each.detail].filter(Boolean).join(" · ")))));
    this.list.hidden = !items.length;
    this.input.setAttribute("aria-expanded", String(items.length > 0));
    this.input.removeAttribute("aria-activedescendant");
  }

  close() { this.offer([]); }

  take(each) {
    const after = this.input.value.slice(each.end);
    const text = each.text + (after.startsWith(" ") ? "" : " ");
    this.input.setRangeText(text, each.start, each.end, "end");
    this.input.focus();
    this.typed();
  }

  pressed(event) {
    const open = !this.list.hidden && !this.list.hasAttribute("data-stale");
    if (open && (event.key === "ArrowDown" || event.key === "ArrowUp")) {
      event.preventDefault();
      const step = event.key === "ArrowDown" ? 1 : -1;
      this.point((this.at + step + this.offers.length + (this.at < 0 && step < 0 ? 1 : 0)) % this.offers.length);
    } else if (open && this.at >= 0 && (event.key === "Enter" || event.key === "Tab")) {
      event.preventDefault();
      this.take(this.offers[this.at]);
    } else if (event.key === "Escape" && !this.list.hidden) {
      event.preventDefault();
      this.close();
    } else if (event.key === "Enter") {
      event.preventDefault();
      this.close();
      this.asked(this.text);
    }
  }

  point(at) {
    this.at = at;
    [...this.list.children].forEach((each, n) => each.setAttribute("aria-selected", String(n === at)));
    this.list.children[at].scrollIntoView({ block: "nearest" });
    this.input.setAttribute("aria-activedescendant", `offer-${at}`);
  }
}
