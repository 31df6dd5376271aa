// Edits: a file becomes a draft, the draft shows which answers change, and is accepted or dropped;
// what was accepted can be taken back.

import { all, get, post, remove, sent, Trouble } from "./api.js";
import { announce, byId, counted, h, show } from "./dom.js";
import { scrolling } from "./reasons.js";
import { troubled, waiting } from "./shell.js";

const ENDED = new Set(["done", "failed", "cancelled"]);
const SHEETS = [["values", "values"], ["generation", "a generation"], ["family", "a family"], ["prices", "prices"]];

export async function startEdits() {
  show(byId("sheets-to-fill"), SHEETS.map(([job, words]) =>
    h("button", { type: "button", class: "small", onclick: () => template(job) }, `Empty sheet for ${words}`)));
  byId("edit-form").addEventListener("submit", (event) => { event.preventDefault(); taken(event.target); });
  await Promise.all([drafts(), history()]);
}

async function template(job) {
  try {
    const content = await sent(`/v1/templates/${job}`, { headers: { Accept: "*/*" } }, (response) => response.blob());
    const link = h("a", { href: URL.createObjectURL(content), download: `${job}.xlsx` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  } catch (trouble) { show(byId("edit-said"), refused(trouble)); }
}

async function taken(form) {
  const said = byId("edit-said");
  const file = byId("edit-file").files[0];
  const asked = new URLSearchParams({ file: file.name, why: byId("edit-why").value.trim() });
  if (byId("edit-source").value.trim()) asked.set("source", byId("edit-source").value.trim());
  show(said, waiting("Reading the file…"));
  try {
    const draft = await sent(`/v1/edits/import?${asked}`, {
      method: "POST", body: file, headers: { "Content-Type": file.name.endsWith(".csv") ? "text/csv" : "application/octet-stream" },
    });
    form.reset();
    show(said, h("p", { class: "note good" }, `A draft: ${changes(draft)}. Nothing is changed yet.`));
    await drafts();
    await preview(draft);
  } catch (trouble) { show(said, refused(trouble)); }
}

/** A refusal; faults of a file in a table, by sheet, row and column. */
function refused(trouble) {
  const faults = (trouble.problem?.faults ?? []).filter((f) => "sheet" in f);
  if (!faults.length) return troubled(trouble);
  return h("div", { class: "note bad", role: "alert" },
    h("h3", {}, trouble.message),
    scrolling("Faults of the file", h("table", {},
      h("thead", {}, h("tr", {}, ["sheet", "row", "column", "what is wrong"].map((t) => h("th", { scope: "col" }, t)))),
      h("tbody", {}, faults.map((f) => h("tr", {}, h("td", {}, f.sheet), h("td", {}, f.row || ""), h("td", {}, f.column), h("td", {}, f.what)))))));
}

const changes = (draft) =>
  [draft.added ? `${counted(draft.added, "statement")} added` : "", draft.removed ? `${counted(draft.removed, "statement")} taken away` : ""].filter(Boolean).join(", ");
const day = (when) => when.slice(0, 16).replace("T", " ");

async function drafts() {
  const place = byId("drafts");
  try {
    const found = await all("/v1/edits");
    show(place, h("h3", {}, "Drafts"), found.length ? h("ul", { class: "remains" }, found.map(draftItem)) : h("p", { class: "quiet" }, "There are none."));
  } catch (trouble) { show(place, quiet(trouble)); }
}

const quiet = (trouble) => (trouble instanceof Trouble ? h("p", { class: "quiet" }, trouble.message) : troubled(trouble));

function draftItem(draft) {
  const about = draft.why || draft.id;
  const button = (text, run, look = "small") => h("button", { type: "button", class: look, "aria-label": `${text}: ${about}`, onclick: run }, text);
  return h("li", {}, h("strong", {}, about),
    h("span", { class: "quiet" }, `${changes(draft)} · ${draft.who}, ${day(draft.when)}`),
    h("div", { class: "line" },
      button("Which answers change?", () => preview(draft)),
      button("Drop", async () => { await tried(() => remove(draft.href)); await drafts(); }, "small plain")));
}

async function tried(run) {
  try { return await run(); } catch (trouble) { show(byId("edit-said"), refused(trouble)); return null; }
}

/** Follow a job to its end; its result, or its trouble. */
async function followed(path, body, words) {
  let job = await post(path, body);
  while (!ENDED.has(job.state)) {
    show(byId("edit-said"), waiting(`${words}${job.about ? `: ${job.about}` : ""}…`));
    await new Promise((done) => setTimeout(done, 400));
    job = await get(job.href);
  }
  if (job.state !== "done") throw new Trouble({ title: "Nothing is changed", detail: job.problem?.message ?? "The work was stopped." });
  return job.result;
}

async function preview(draft) {
  const found = await tried(() => followed(`${draft.href}/preview`, {}, "Asking both catalogues"));
  if (!found) return;
  const broken = found.builds.some((b) => b.status === "breaks") || found.findings.some((f) => f.severity === "stops");
  show(byId("edit-said"), h("section", { class: broken ? "note bad" : "note", "aria-labelledby": "preview-title" },
    h("h3", { id: "preview-title", tabindex: "-1" }, found.summary),
    list("Facts", found.facts.map((f) => f.text)),
    list("Answers to saved questions", found.questions.map((q) => [h("strong", {}, q.question), h("br"), `${q.before} → ${q.after}`,
      q.verdicts.length ? h("ul", {}, q.verdicts.map((v) => h("li", {}, v.text))) : null])),
    list("Builds", found.builds.map((b) => [`${b.name} ${b.status}${b.note ? `: ${b.note}` : ""}`,
      b.joints.length ? h("ul", {}, b.joints.map((j) => h("li", {}, `${j.joint.label}: ${j.before ?? "nothing"} → ${j.after ?? "nothing"}`))) : null])),
    list("What the check says newly", found.findings.map(finding)),
    list("What it says no longer", found.cured.map(finding)),
    h("div", { class: "line" },
      h("button", { type: "button", class: "main", onclick: () => accept(draft) }, broken ? "Accept it all the same" : "Accept the draft"),
      h("button", { type: "button", onclick: () => show(byId("edit-said")) }, "Leave it a draft"))));
  announce(found.summary);
  byId("preview-title").focus();
}

const finding = (f) => `${f.thing}: ${f.reason}`;

const list = (title, items) => (items.length ? h("div", {}, h("h4", {}, title), h("ul", {}, items.map((item) => h("li", {}, item)))) : null);

async function accept(draft) {
  const result = await tried(() => followed(`${draft.href}/accept`, undefined, "Making it part of the catalogue"));
  if (result) done(result.said);
}

async function done(said) {
  show(byId("edit-said"), h("p", { class: "note good", role: "status" }, said));
  announce(said);
  await Promise.all([drafts(), history()]);
}

async function history() {
  const place = byId("history");
  try {
    const found = await all("/v1/history");
    show(place, h("h3", {}, "History"), h("ul", { class: "remains" }, found.reverse().map((entry) => h("li", {},
      h("strong", {}, `${entry.number}. ${entry.why}`),
      h("span", { class: "quiet" }, [changes(entry), `${entry.who}, ${day(entry.when)}`, entry.undoes ? `takes back ${entry.undoes}` : "", entry.state === "undone" ? "taken back" : ""].filter(Boolean).join(" · ")),
      entry.state !== "undone" ? h("div", {}, h("button", { type: "button", class: "small", "aria-label": `Take back: ${entry.why}`, onclick: () => undo(entry) }, "Take back")) : null))));
  } catch (trouble) { show(place, quiet(trouble)); }
}

async function undo(entry) {
  const result = await tried(() => followed(`${entry.href}/undo`, { why: `takes back: ${entry.why}` }, "Taking it back"));
  if (result) done(result.said);
}
