// The cascade as a picture: layers from what is fitted to what it forces, laid out by dagre.
// Shape, sign and word tell fitted, must and choice apart; colour only repeats it.

import { layout, Graph } from "./vendor/dagre/dagre.esm.js";
import { h, listed, option, svg } from "./dom.js";

const SIGNS = { fitted: "●", must: "■", choice: "◆" };
const WORDS = { fitted: "fitted", must: "must change", choice: "choice" };
const HIGH = 70;
const NAME = "700 14.5px", TEXT = "13.5px", FAINT = "12.5px";

/** The stations that change and who forces whom: {nodes, edges} as values. */
export function graphOf(answer) {
  const changing = answer.lines.filter((line) => line.verdict !== "keeps");
  const nodes = [
    ...answer.fitted.map((f) => ({ key: f.station.iri, label: f.station.label, role: "fitted", parts: [f.part], times: 1, hangs: false })),
    ...changing.map((line) => ({
      key: line.station.iri, label: line.station.label, role: line.verdict, parts: line.options,
      times: line.quantity, hangs: line.strictly !== null && line.strictly !== line.verdict,
    })),
  ];
  const known = new Set(nodes.map((node) => node.key));
  const edges = new Map();
  const link = (start, end, kinds) => {
    if (start === end || !known.has(start) || !known.has(end)) return;
    const at = `${start}|${end}`;
    if (!edges.has(at)) edges.set(at, { start, end, kinds: new Set() });
    kinds.forEach((kind) => edges.get(at).kinds.add(kind));
  };
  for (const line of changing) {
    line.forced_by.forEach((origin) => link(origin.iri, line.station.iri, []));
    for (const step of line.because) {
      if (step.kind === "fit" || step.kind === "keep") continue;
      const kinds = step.meetings.length ? step.meetings.map((m) => m.kind) : [step.kind];
      step.origin.forEach((origin) => link(origin.iri, step.station.iri, kinds));
    }
  }
  return { nodes, edges: [...edges.values()].map((e) => ({ ...e, kinds: [...e.kinds] })) };
}

/** The picture in words: one sentence for each station. */
export function told(graph) {
  const labels = new Map(graph.nodes.map((n) => [n.key, n.label]));
  return graph.nodes.map((node) => {
    const says = { fitted: "is fitted", must: "must change", choice: "is a choice" }[node.role];
    const forced = graph.edges.filter((e) => e.start === node.key)
      .map((e) => labels.get(e.end) + (e.kinds.length ? ` (by ${listed(e.kinds)})` : ""));
    return `The ${node.label} ${says}${node.hangs ? ", if a check does not turn it" : ""}${forced.length ? `; it forces the ${listed(forced)}` : ""}.`;
  });
}

/** The drawing with its tools. `open(station)` is called when a node is chosen. */
export function picture(answer, open) {
  const graph = graphOf(answer);
  const drawn = new Drawing(graph, answer, open);
  return h("section", { class: "card picture", "aria-labelledby": "picture-title" },
    h("div", { class: "line spread" },
      h("h2", { id: "picture-title" }, "Who forces whom"),
      h("div", { class: "line", role: "group", "aria-label": "Size of the picture" },
        h("button", { type: "button", class: "small", "aria-label": "Smaller", onclick: () => drawn.zoom(1 / 1.25) }, "−"),
        h("button", { type: "button", class: "small", "aria-label": "Larger", onclick: () => drawn.zoom(1.25) }, "+"),
        h("button", { type: "button", class: "small", onclick: () => drawn.fit() }, "Whole"))),
    drawn.place,
    h("p", { class: "quiet" }, "● fitted   ■ must change   ◆ choice   ? check first   → forces. ",
      "Press or tap a box for the reasons; arrow keys go from box to box."),
    h("details", { "data-key": "picture-words" }, h("summary", {}, "The picture in words"),
      h("ol", { id: "picture-words" }, told(graph).map((line) => h("li", {}, line)))));
}

class Drawing {
  constructor(graph, answer, open) {
    this.graph = graph;
    this.open = open;
    this.wide = matchMedia("(max-width: 640px)").matches ? 210 : 250;
    this.laid = this.lay();
    this.boxes = new Map();
    this.ways = graph.edges.map((edge) => this.way(edge));
    const { width, height } = this.laid.graph();
    this.size = { width: width + 2, height: height + 2 };
    this.svg = svg("svg", { viewBox: `-1 -1 ${this.size.width} ${this.size.height}`, role: "group",
      "aria-label": `Who forces whom: ${answer.summary}` },
      svg("defs", {}, svg("marker", { id: "tip", viewBox: "0 0 10 10", refX: 9, refY: 5, markerWidth: 7, markerHeight: 7, orient: "auto" },
        svg("path", { class: "tip", d: "M0 0 L10 5 L0 10 Z" }))),
      this.ways, graph.nodes.map((node, at) => this.box(node, at)));
    this.svg.addEventListener("keydown", (event) => this.moved(event));
    this.place = h("div", { class: "canvas" }, this.svg);
    this.place.addEventListener("wheel", (event) => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      this.zoom(event.deltaY < 0 ? 1.1 : 1 / 1.1);
    }, { passive: false });
    this.scale = 1;
    this.scaled();
    requestAnimationFrame(() => { this.fit(0.85); this.toStart(); });
  }

  lay() {
    const made = new Graph();
    made.setGraph({ rankdir: "LR", nodesep: 16, ranksep: 70, edgesep: 12, marginx: 6, marginy: 6 });
    made.setDefaultEdgeLabel(() => ({}));
    this.graph.nodes.forEach((node) => made.setNode(node.key, { width: this.wide, height: HIGH }));
    this.graph.edges.forEach((edge) => made.setEdge(edge.start, edge.end));
    layout(made);
    return made;
  }

  way(edge) {
    const points = this.points(edge);
    const label = (iri) => this.graph.nodes.find((n) => n.key === iri).label;
    const path = svg("path", { class: "way", d: curve(points), "marker-end": "url(#tip)" },
      svg("title", {}, `${label(edge.start)} forces ${label(edge.end)}${edge.kinds.length ? `: ${edge.kinds.join(", ")}` : ""}`));
    path.ends = [edge.start, edge.end];
    return path;
  }

  /** From the right of one box to the left of the next; the other way round as it was laid out. */
  points(edge) {
    const laid = this.laid.edge(edge.start, edge.end).points;
    const start = this.laid.node(edge.start), end = this.laid.node(edge.end);
    if (start.x >= end.x) return laid;
    const between = laid.slice(1, -1).filter((p) => p.x > start.x + this.wide / 2 && p.x < end.x - this.wide / 2);
    return [{ x: start.x + this.wide / 2, y: start.y }, ...between, { x: end.x - this.wide / 2, y: end.y }];
  }

  box(node, at) {
    const { x, y } = this.laid.node(node.key);
    const left = x - this.wide / 2, top = y - HIGH / 2;
    const room = this.wide - 28;
    const times = node.times > 1 ? ` ×${node.times}` : "";
    const verdict = WORDS[node.role] + (node.hangs ? ", ? check first" : "")
      + (node.parts.length > 1 ? `, ${node.parts.length} options` : "");
    const part = node.parts.length ? option(node.parts[0]) : "to be chosen";
    const box = svg("g", {
      class: `box ${node.role}`, role: "button", tabindex: at ? "-1" : "0", "data-key": `box ${node.key}`,
      onclick: () => { this.focus(node.key); this.open(node.key); },
      onfocus: () => this.lit(node.key), onblur: () => this.lit(null),
    },
    outline(node.role, left, top, this.wide),
    svg("text", { class: "name", x: left + 14, y: top + 23 }, cut(`${SIGNS[node.role]} ${node.label}${times}`, room, NAME)),
    svg("text", { x: left + 14, y: top + 43 }, cut(part, room, TEXT)),
    svg("text", { class: "faint", x: left + 14, y: top + 61 }, cut(verdict, room, FAINT)));
    this.boxes.set(node.key, box);
    return box;
  }

  lit(key) {
    this.svg.classList.toggle("looking", key !== null);
    this.ways.forEach((way) => way.classList.toggle("lit", way.ends.includes(key)));
  }

  focus(key) {
    for (const [other, box] of this.boxes) box.setAttribute("tabindex", other === key ? "0" : "-1");
    this.boxes.get(key).focus();
  }

  moved(event) {
    const here = [...this.boxes].find(([, box]) => box === document.activeElement)?.[0];
    if (!here) return;
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      this.open(here);
      return;
    }
    const to = this.beside(here, event.key);
    if (to === undefined) return;
    event.preventDefault();
    if (to) this.focus(to);
  }

  /** Where an arrow key leads: along the arrows, or up and down the layer. */
  beside(key, pressed) {
    const at = this.laid.node(key);
    const near = (keys) => keys.map((k) => [Math.abs(this.laid.node(k).y - at.y), k]).sort((a, b) => a[0] - b[0])[0]?.[1] ?? null;
    const all = this.graph.nodes.map((n) => n.key);
    const layer = (test) => near(all.filter((k) => k !== key && Math.abs(this.laid.node(k).x - at.x) < 1 && test(this.laid.node(k).y)));
    switch (pressed) {
      case "ArrowRight": return near(this.graph.edges.filter((e) => e.start === key).map((e) => e.end));
      case "ArrowLeft": return near(this.graph.edges.filter((e) => e.end === key).map((e) => e.start));
      case "ArrowDown": return layer((y) => y > at.y);
      case "ArrowUp": return layer((y) => y < at.y);
      case "Home": return all[0];
      case "End": return all.at(-1);
      default: return undefined;
    }
  }

  zoom(by) {
    const middle = (this.place.scrollLeft + this.place.clientWidth / 2) / this.scale;
    this.scale = Math.min(2.5, Math.max(0.25, this.scale * by));
    this.scaled();
    this.place.scrollLeft = middle * this.scale - this.place.clientWidth / 2;
  }

  /** As large as the place allows; not so small that it cannot be read (`least`), if said. */
  fit(least = 0.25) {
    if (!this.place.clientWidth) return;
    this.scale = Math.min(1.1, Math.max(least, (this.place.clientWidth - 4) / this.size.width));
    this.scaled();
  }

  /** Begin where the picture begins: at what is fitted. */
  toStart() {
    const first = this.graph.nodes[0] && this.laid.node(this.graph.nodes[0].key);
    if (first) this.place.scrollTop = first.y * this.scale - this.place.clientHeight / 2;
  }

  scaled() {
    this.svg.setAttribute("width", this.size.width * this.scale);
    this.svg.setAttribute("height", this.size.height * this.scale);
  }
}

let pen = null;

/** As much of a text as there is room for, measured as it will be drawn. */
function cut(text, room, font) {
  pen ??= document.createElement("canvas").getContext("2d");
  pen.font = `${font} ${getComputedStyle(document.body).fontFamily}`;
  if (pen.measureText(text).width <= room) return text;
  let length = text.length - 1;
  while (length > 1 && pen.measureText(`${text.slice(0, length)}…`).width > room) length -= 1;
  return `${text.slice(0, length).trimEnd()}…`;
}

function outline(role, x, y, wide) {
  if (role !== "choice") return svg("rect", { class: "edge", x, y, width: wide, height: HIGH, rx: role === "fitted" ? 18 : 2 });
  const c = 10;
  const points = [[x, y + HIGH / 2], [x + c, y], [x + wide - c, y], [x + wide, y + HIGH / 2], [x + wide - c, y + HIGH], [x + c, y + HIGH]];
  return svg("polygon", { class: "edge", points: points.map((p) => p.join(",")).join(" ") });
}

/** A smooth way through the points. */
function curve(points) {
  const [first, ...rest] = points;
  let path = `M${first.x} ${first.y}`;
  let from = first;
  for (const to of rest) {
    const middle = (from.x + to.x) / 2;
    path += ` C${middle} ${from.y} ${middle} ${to.y} ${to.x} ${to.y}`;
    from = to;
  }
  return path;
}
