"""The picture of a cascade, as SVG (drawn here) and as DOT text (for whoever has a tool for it).

Shape, sign and word tell fitted, must and choice apart; colour only repeats it. The SVG carries
the whole picture in words as its description.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from .answer import Answer
from .cascade_graph import CascadeGraph, Edge, Layout, Node, Place, Role, cascade_graph, layered

_SIGNS: Final[dict[Role, str]] = {"fitted": "●", "must": "■", "choice": "◆"}
_WORDS: Final[dict[Role, str]] = {"fitted": "fitted", "must": "must change", "choice": "choice"}
_WIDE, _HIGH = 252, 64
_GAP_X, _GAP_Y = 84, 18
_MARGIN, _HEAD, _FOOT = 24, 56, 44
_LETTER: Final = 6.7
_BOLD_LETTER: Final = 7.9
"""Widths of letters of the small and the bold text in px, on the safe side."""

_LOOK: Final = """
  .sheet { fill: #fbfaf6; }
  .box { fill: #ffffff; stroke: #44505c; stroke-width: 1.5; }
  .fitted .box { fill: #e3eef0; stroke: #1f5a66; stroke-width: 3; }
  .must .box { fill: #f6e7e4; stroke: #8c2f25; stroke-width: 3; }
  .choice .box { fill: #f7f0d8; stroke: #7a5c06; stroke-dasharray: 7 4; stroke-width: 2; }
  text { fill: #1d252c; font: 12px system-ui, sans-serif; }
  .name { font-weight: 700; font-size: 13px; }
  .quiet { fill: #4a555f; font-size: 11px; }
  .way { fill: none; stroke: #44505c; stroke-width: 1.6; }
  .tip { fill: #44505c; }
  @media (prefers-color-scheme: dark) {
    .sheet { fill: #14191d; }
    .box { fill: #1d252c; stroke: #aab6c0; }
    .fitted .box { fill: #17333a; stroke: #7fc3cf; }
    .must .box { fill: #3a1f1c; stroke: #eba199; }
    .choice .box { fill: #352c10; stroke: #dfc166; }
    text { fill: #f1f4f6; }
    .quiet { fill: #c0cad2; }
    .way { stroke: #aab6c0; }
    .tip { fill: #aab6c0; }
  }
"""


def render_dot(answer: Answer) -> str:
    """The cascade as DOT text, left to right."""
    graph = cascade_graph(answer)
    lines = [
        "digraph cascade {",
        f"  label={_dot(graph.title)}; labelloc=t; rankdir=LR;",
        '  node [fontname="sans-serif"]; edge [fontname="sans-serif"];',
    ]
    shapes = {
        "fitted": 'shape=box style="rounded,bold"',
        "must": "shape=box style=bold",
        "choice": "shape=hexagon style=dashed",
    }
    names = {node.key: f"n{at}" for at, node in enumerate(graph.nodes, 1)}
    for node in graph.nodes:
        label = "\n".join((_headline(node), *node.parts[:1], _verdict(node)))
        lines.append(f"  {names[node.key]} [label={_dot(label)} {shapes[node.role]}];")
    for edge in graph.edges:
        label = _dot(", ".join(edge.kinds))
        lines.append(f"  {names[edge.start]} -> {names[edge.end]} [label={label}];")
    return "\n".join([*lines, "}"]) + "\n"


def render_svg(answer: Answer, *, prefix: str = "cascade") -> str:
    """The cascade as an SVG drawing that stands alone or in a page.

    `prefix` begins its element ids; give another to each drawing on one page.
    """
    return "\n".join(_Drawing(cascade_graph(answer), prefix).lines()) + "\n"


class _Drawing:
    def __init__(self, graph: CascadeGraph, prefix: str) -> None:
        self.graph, self.prefix = graph, prefix
        self.layout: Layout = layered(graph)
        columns, rows = len(self.layout.sizes), max(self.layout.sizes, default=0)
        self.width = max(2 * _MARGIN + columns * (_WIDE + _GAP_X) - _GAP_X, 560)
        self.height = _HEAD + rows * (_HIGH + _GAP_Y) + _FOOT
        self.rows = rows

    def lines(self) -> Iterator[str]:
        ids = f"{self.prefix}-title {self.prefix}-desc"
        yield (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="{ids}" '
            f'viewBox="0 0 {self.width} {self.height}" width="{self.width}" '
            f'height="{self.height}">'
        )
        yield f'<title id="{self.prefix}-title">{escape(self.graph.title)}</title>'
        told = " ".join((self.graph.summary, *self.graph.told()))
        yield f'<desc id="{self.prefix}-desc">{escape(told)}</desc>'
        yield f"<style>{_LOOK}</style>"
        yield (
            f'<defs><marker id="{self.prefix}-tip" viewBox="0 0 10 10" refX="9" refY="5" '
            'markerWidth="7" markerHeight="7" orient="auto-start-reverse">'
            '<path class="tip" d="M0 0 L10 5 L0 10 Z"/></marker></defs>'
        )
        yield f'<rect class="sheet" width="{self.width}" height="{self.height}"/>'
        room = int((self.width - 2 * _MARGIN) / _LETTER)
        yield self._text(
            _MARGIN, 22, _cut(self.graph.title, int(room * _LETTER / _BOLD_LETTER)), "name"
        )
        yield self._text(_MARGIN, 40, _cut(self.graph.summary, room), "")
        for edge in self.graph.edges:
            yield from self._way(edge)
        for node in self.graph.nodes:
            yield from self._box(node)
        yield from self._legend()
        yield "</svg>"

    def _corner(self, place: Place) -> tuple[float, float]:
        """Left top of the box at a place; columns are centred on one line."""
        spare = self.rows - self.layout.sizes[place.column]
        x = _MARGIN + place.column * (_WIDE + _GAP_X)
        y = _HEAD + (place.row + spare / 2) * (_HIGH + _GAP_Y)
        return x, y

    def _box(self, node: Node) -> Iterator[str]:
        x, y = self._corner(self.layout.nodes[node.key])
        full = "; ".join((_headline(node), *node.parts, _verdict(node), f"now {node.now}"))
        yield f'<g class="{node.role}"><title>{escape(full)}</title>'
        yield _shape(node.role, x, y)
        room = _WIDE - 28
        yield self._text(x + 14, y + 21, _cut(_headline(node), int(room / _BOLD_LETTER)), "name")
        part = node.parts[0] if node.parts else "to be chosen"
        yield self._text(x + 14, y + 38, _cut(part, int(room / _LETTER)), "")
        yield self._text(x + 14, y + 54, _cut(_verdict(node), int(room / _LETTER)), "quiet")
        yield "</g>"

    def _text(self, x: float, y: float, text: str, look: str) -> str:
        of_class = f' class="{look}"' if look else ""
        return f'<text{of_class} x="{x:g}" y="{y:g}">{escape(text)}</text>'

    def _way(self, edge: Edge) -> Iterator[str]:
        start, end = self.layout.nodes[edge.start], self.layout.nodes[edge.end]
        x, y = self._corner(start)
        x, y = x + _WIDE, y + _HIGH / 2
        path = [f"M{x:g} {y:g}"]
        if end.column <= start.column:
            # They force each other: the way goes round on the right of their column.
            to_y = self._corner(end)[1] + _HIGH / 2
            out = x + _GAP_X * 0.6
            path.append(f"C{out:g} {y:g} {out:g} {to_y:g} {x:g} {to_y:g}")
        else:
            for place in self.layout.bends[edge.start, edge.end]:
                to_x, to_y = self._corner(place)
                to_y += _HIGH / 2
                path.append(_curve(x, y, to_x, to_y))
                path.append(f"L{to_x + _WIDE:g} {to_y:g}")
                x, y = to_x + _WIDE, to_y
            to_x, to_y = self._corner(end)
            path.append(_curve(x, y, to_x, to_y + _HIGH / 2))
        labels = {node.key: node.label for node in self.graph.nodes}
        why = "; ".join(edge.why or edge.kinds)
        told = f"{labels[edge.start]} forces {labels[edge.end]}{': ' if why else ''}{why}"
        yield (
            f'<path class="way" marker-end="url(#{self.prefix}-tip)" d={quoteattr(" ".join(path))}>'
            f"<title>{escape(told)}</title></path>"
        )

    def _legend(self) -> Iterator[str]:
        y = self.height - 16
        told = "● fitted    ■ must change    ◆ choice    ? check first    → forces"
        yield f'<text class="quiet" x="{_MARGIN}" y="{y:g}" xml:space="preserve">{told}</text>'


def _shape(role: Role, x: float, y: float) -> str:
    if role == "choice":
        cut = 9
        points = [
            (x, y + _HIGH / 2), (x + cut, y), (x + _WIDE - cut, y), (x + _WIDE, y + _HIGH / 2),
            (x + _WIDE - cut, y + _HIGH), (x + cut, y + _HIGH),
        ]  # fmt: skip
        return f'<polygon class="box" points="{" ".join(f"{a:g},{b:g}" for a, b in points)}"/>'
    radius = 18 if role == "fitted" else 0
    return f'<rect class="box" x="{x:g}" y="{y:g}" width="{_WIDE}" height="{_HIGH}" rx="{radius}"/>'


def _curve(x: float, y: float, to_x: float, to_y: float) -> str:
    middle = (x + to_x) / 2
    return f"C{middle:g} {y:g} {middle:g} {to_y:g} {to_x:g} {to_y:g}"


def _headline(node: Node) -> str:
    times = f" ×{node.quantity}" if node.quantity > 1 else ""
    return f"{_SIGNS[node.role]} {node.label}{times}"


def _verdict(node: Node) -> str:
    hangs = ", ? check first" if node.hangs else ""
    more = f", or {len(node.parts) - 1} more" if len(node.parts) > 1 else ""
    return f"{_WORDS[node.role]}{hangs}{more}"


def _cut(text: str, room: int) -> str:
    return text if len(text) <= room else f"{text[: room - 1].rstrip()}…"


def _dot(text: str) -> str:
    plain = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{plain}"'
