// Asking the service. Every refusal becomes a Trouble with words for people.

import { key, settings } from "./settings.js";

export class Trouble extends Error {
  constructor(problem) {
    super(problem.detail || problem.title || "The service did not answer.");
    this.problem = problem;
  }
}

/** Send anything, and take the answer as JSON or as `taken` makes it. */
export async function sent(path, options = {}, taken = (response) => response.json().catch(() => ({}))) {
  const headers = { Accept: "application/json", ...options.headers };
  if (key()) headers.Authorization = `Bearer ${key()}`;
  let response;
  try {
    response = await fetch(path, { ...options, headers });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Trouble({ title: "No answer", detail: "The service cannot be reached. Is it running?" });
  }
  if (!response.ok) {
    const body = await response.json().catch(() => ({}));
    throw new Trouble({ title: "Not possible", detail: `The service refused (${response.status}).`, ...body });
  }
  return taken(response);
}

export const get = (path, signal) => sent(path, { signal });
export const remove = (path) => sent(path, { method: "DELETE" });

export function post(path, body, signal) {
  return sent(path, {
    method: "POST", signal, body: body === undefined ? undefined : JSON.stringify(body), headers: { "Content-Type": "application/json" },
  });
}

/** Everything on a list, page by page. */
export async function all(path, signal) {
  const found = [];
  let cursor = "";
  do {
    const more = cursor ? `&cursor=${encodeURIComponent(cursor)}` : "";
    const page = await get(`${path}${path.includes("?") ? "&" : "?"}limit=200${more}`, signal);
    found.push(...page.items);
    cursor = page.next;
  } while (cursor);
  return found;
}

export const ask = (body, signal) =>
  post("/v1/ask", { ...body, units: settings.units, language: settings.language }, signal);

export const read = (text, after = "") => post("/v1/read", { question: text, after });

export const complete = (text, cursor, signal) =>
  get(`/v1/complete?${new URLSearchParams({ text, cursor })}`, signal);
