// What the reader chose: units, which English, and a key if the service wants one.

const KEPT = "knockon.reader";
const KEY = "knockon.key";

function kept() {
  try { return JSON.parse(localStorage.getItem(KEPT)) ?? {}; } catch { return {}; }
}

export const settings = { units: "mm", language: "en-GB", ...kept() };

export function change(name, value) {
  settings[name] = value;
  try { localStorage.setItem(KEPT, JSON.stringify(settings)); } catch { /* kept for this page only */ }
  document.documentElement.lang = settings.language;
  document.dispatchEvent(new CustomEvent("reader-changed"));
}

// The key is forgotten when the tab is closed.
export const key = () => { try { return sessionStorage.getItem(KEY) ?? ""; } catch { return ""; } };
export function setKey(value) {
  try { value ? sessionStorage.setItem(KEY, value) : sessionStorage.removeItem(KEY); } catch { /* none */ }
}

const INCH = 25.4;

/** A number in a declared unit, as the reader wants it: [text, unit]. */
export function measured(value, unit) {
  if (unit === "mm" && settings.units === "in") return [String(+(value / INCH).toFixed(4)), "in"];
  return [String(value), unit];
}

/** The unit in which the reader enters what is declared in `unit`. */
export const entered = (unit) => (unit === "mm" && settings.units === "in" ? "in" : unit);
