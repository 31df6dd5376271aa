"""Who forces whom, as a graph: the stations that change, and what passes the change on.

Nodes and edges are values in a fixed order; `layered` gives each node a column (how far from what
is fitted) and a row, with as few crossings as a few sweeps find.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

import networkx as nx

from .answer import Answer, Line, PartRef

Role: TypeAlias = Literal["fitted", "must", "choice"]
_SWEEPS: Final = 12


@dataclass(frozen=True, slots=True)
class Node:
    """A station that changes. `parts` is what it may take; `hangs` on a check before ordering."""

    key: str
    label: str
    role: Role
    parts: tuple[str, ...]
    now: str
    quantity: int = 1
    hangs: bool = False


@dataclass(frozen=True, slots=True)
class Edge:
    """The change of `start` forces that of `end`: by which kinds of joint, and in what words."""

    start: str
    end: str
    kinds: tuple[str, ...]
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CascadeGraph:
    """The whole picture."""

    title: str
    summary: str
    nodes: tuple[Node, ...]
    edges: tuple[Edge, ...]

    def told(self) -> tuple[str, ...]:
        """The picture in words, a sentence for each station, for whoever cannot see it."""
        labels = {node.key: node.label for node in self.nodes}
        sentences = []
        for node in self.nodes:
            forced = [
                f"{labels[e.end]}{f' (by {_list(e.kinds)})' if e.kinds else ''}"
                for e in self.edges
                if e.start == node.key
            ]
            role = {"fitted": "is fitted", "must": "must change", "choice": "is a choice"}[
                node.role
            ]
            check = ", if a check does not turn it" if node.hangs else ""
            then = f"; it forces {_list(forced)}" if forced else ""
            sentences.append(f"{node.label} {role}{check}{then}.")
        return tuple(sentences)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a node, or a bend of an edge, stands: column and row, both from 0."""

    column: int
    row: int


@dataclass(frozen=True, slots=True)
class Layout:
    """Places of nodes by key; for edges by (start, end) the bends between columns; column sizes."""

    nodes: Mapping[str, Place]
    bends: Mapping[tuple[str, str], tuple[Place, ...]]
    sizes: tuple[int, ...]


def cascade_graph(answer: Answer) -> CascadeGraph:
    """The graph of an answer; without edges where nothing else changes."""
    changing = [line for line in answer.lines if line.verdict != "keeps"]
    nodes = [
        Node(f.station.iri, f.station.label, "fitted", (_named(f.part),), _named(f.now))
        for f in answer.fitted
    ]
    nodes += [_node(line) for line in changing]
    return CascadeGraph(
        answer.question, answer.summary, tuple(nodes), _edges(changing, {n.key for n in nodes})
    )


def _node(line: Line) -> Node:
    return Node(
        line.station.iri,
        line.station.label,
        "must" if line.verdict == "must" else "choice",
        tuple("taken off" if part.iri is None else _named(part) for part in line.options),
        _named(line.now),
        line.quantity,
        line.strictly is not None and line.strictly != line.verdict,
    )


def _edges(changing: Sequence[Line], keys: set[str]) -> tuple[Edge, ...]:
    kinds: dict[tuple[str, str], dict[str, None]] = {}
    texts: dict[tuple[str, str], dict[str, None]] = {}
    for line in changing:
        for origin in line.forced_by:
            kinds.setdefault((origin.iri, line.station.iri), {})
        for step in line.because:
            for origin in step.origin:
                pair = (origin.iri, step.station.iri)
                if step.kind in ("fit", "keep"):
                    continue
                found = [meeting.kind for meeting in step.meetings] or [step.kind]
                kinds.setdefault(pair, {}).update(dict.fromkeys(found))
                texts.setdefault(pair, {})[step.text] = None
    return tuple(
        Edge(start, end, tuple(found), tuple(texts.get((start, end), ())))
        for (start, end), found in kinds.items()
        if start in keys and end in keys and start != end
    )


# ---------------------------------------------------------------------- layout


def layered(graph: CascadeGraph) -> Layout:
    """Columns by distance from what is fitted, rows with few crossings. Deterministic."""
    columns = _columns(graph)
    layers: list[list[str]] = [[] for _ in range(max(columns.values(), default=-1) + 1)]
    for node in graph.nodes:
        layers[columns[node.key]].append(node.key)
    # An edge over several columns bends around the nodes between, at places of its own.
    segments: list[tuple[str, str]] = []
    bends: dict[tuple[str, str], list[str]] = {}
    for edge in graph.edges:
        start, end = columns[edge.start], columns[edge.end]
        chain = [edge.start]
        for column in range(start + 1, end):
            chain.append(f"{edge.start}→{edge.end}@{column}")
            layers[column].append(chain[-1])
        bends[edge.start, edge.end] = chain[1:]
        if end > start:
            segments += zip(chain, [*chain[1:], edge.end], strict=True)
    layers = _uncrossed(layers, segments)
    places = {
        key: Place(column, row)
        for column, keys in enumerate(layers)
        for row, key in enumerate(keys)
    }
    return Layout(
        {node.key: places[node.key] for node in graph.nodes},
        {pair: tuple(places[b] for b in chain) for pair, chain in bends.items()},
        tuple(map(len, layers)),
    )


def _columns(graph: CascadeGraph) -> dict[str, int]:
    """Longest way from a root; stations that force each other stand in one column."""
    digraph: nx.DiGraph[str] = nx.DiGraph()
    digraph.add_nodes_from(node.key for node in graph.nodes)
    digraph.add_edges_from((edge.start, edge.end) for edge in graph.edges)
    condensed = nx.condensation(digraph)
    found: dict[str, int] = {}
    for column, rings in enumerate(nx.topological_generations(condensed)):
        for ring in rings:
            for key in condensed.nodes[ring]["members"]:
                found[key] = column
    return found


def _uncrossed(layers: list[list[str]], segments: Sequence[tuple[str, str]]) -> list[list[str]]:
    before: dict[str, list[str]] = {}
    after: dict[str, list[str]] = {}
    for start, end in segments:
        after.setdefault(start, []).append(end)
        before.setdefault(end, []).append(start)
    best, fewest = layers, _crossings(layers, segments)
    for sweep in range(_SWEEPS):
        forward = sweep % 2 == 0
        layers = _swept(layers, before if forward else after, forward=forward)
        count = _crossings(layers, segments)
        if count < fewest:
            best, fewest = layers, count
    return best


def _swept(
    layers: list[list[str]], beside: Mapping[str, Sequence[str]], *, forward: bool
) -> list[list[str]]:
    """Each column in the order of the middle of what its nodes are joined to."""
    swept = [list(layer) for layer in layers]
    for column in range(len(swept)) if forward else reversed(range(len(swept))):
        near = column - 1 if forward else column + 1
        if not 0 <= near < len(swept):
            continue
        # Heights are taken from the middle of a column, as columns are drawn centred.
        height = {key: row - len(swept[near]) / 2 for row, key in enumerate(swept[near])}
        own = {key: row - len(swept[column]) / 2 for row, key in enumerate(swept[column])}
        middle = {
            key: sum(joined) / len(joined) if (joined := _heights(beside, key, height)) else row
            for key, row in own.items()
        }
        swept[column].sort(key=lambda key: (middle[key], own[key]))
    return swept


def _heights(
    beside: Mapping[str, Sequence[str]], key: str, height: Mapping[str, float]
) -> list[float]:
    return [height[other] for other in beside.get(key, ()) if other in height]


def _crossings(layers: Sequence[Sequence[str]], segments: Sequence[tuple[str, str]]) -> int:
    place = {
        key: (column, row) for column, keys in enumerate(layers) for row, key in enumerate(keys)
    }
    between: dict[int, list[tuple[int, int]]] = {}
    for start, end in segments:
        between.setdefault(place[start][0], []).append((place[start][1], place[end][1]))
    return sum(
        (a[0] - b[0]) * (a[1] - b[1]) < 0
        for pairs in between.values()
        for at, a in enumerate(pairs)
        for b in pairs[:at]
    )


def _named(part: PartRef) -> str:
    return part.label if part.number is None else f"{part.number} {part.label}"


def _list(words: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))
