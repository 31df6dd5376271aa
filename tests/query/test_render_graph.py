"""The picture of a cascade."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

import pytest
from knockon.query.answer import Answer, Line, PartRef, ReasonStep, Thing
from knockon.query.cascade_graph import CascadeGraph, Edge, Node, cascade_graph, layered
from knockon.query.render_graph import render_dot, render_svg

from .conftest import KNOCK_ONS, Run
from .golden import same_as_golden

SVG = "{http://www.w3.org/2000/svg}"


def drawing(answer: Answer) -> ElementTree.Element:
    return ElementTree.fromstring(render_svg(answer))


def boxes(svg: ElementTree.Element) -> list[tuple[float, float, float, float]]:
    """Left, top, right and bottom of every box."""
    found = []
    for group in svg.iter(f"{SVG}g"):
        for rect in group.findall(f"{SVG}rect"):
            x, y = float(rect.attrib["x"]), float(rect.attrib["y"])
            width, height = float(rect.attrib["width"]), float(rect.attrib["height"])
            found.append((x, y, x + width, y + height))
        for shape in group.findall(f"{SVG}polygon"):
            points = [tuple(map(float, p.split(","))) for p in shape.attrib["points"].split()]
            xs, ys = [p[0] for p in points], [p[1] for p in points]
            found.append((min(xs), min(ys), max(xs), max(ys)))
    return found


def chain_of(count: int, answer: Answer) -> Answer:
    """An answer in which each of many stations is forced by one before it, three at a time."""
    things = [Thing(iri=f"st:{n}", label=f"station {n}") for n in range(count)]
    things[0] = answer.fitted[0].station
    lines = tuple(
        Line(
            station=things[n],
            quantity=1,
            verdict="choice" if n % 4 == 0 else "must",
            now=PartRef(label="nothing"),
            forced_by=(things[(n - 1) // 3],),
            because=(
                ReasonStep(
                    kind="joint", text="must mate", origin=(things[n // 5],), station=things[n]
                ),
            )
            if n // 5 != n
            else (),
        )
        for n in range(1, count)
    )
    return answer.model_copy(update={"lines": lines})


def test_the_drawing_stays_as_it_was_reviewed(full_answer: Answer) -> None:
    same_as_golden("cascade.svg", render_svg(full_answer))


def test_the_dot_text_stays_as_it_was_reviewed(full_answer: Answer) -> None:
    same_as_golden("cascade.dot", render_dot(full_answer))


def test_the_drawing_tells_itself_in_words(full_answer: Answer) -> None:
    svg = drawing(full_answer)
    assert svg.attrib["role"] == "img"
    title, description = svg.find(f"{SVG}title"), svg.find(f"{SVG}desc")
    assert title is not None
    assert description is not None
    assert svg.attrib["aria-labelledby"] == f"{title.attrib['id']} {description.attrib['id']}"
    assert title.text == full_answer.question
    assert "rear hub is fitted; it forces rear half-shaft (by spline)" in str(description.text)
    assert "rear calliper is a choice, if a check does not turn it." in str(description.text)


def test_fitted_must_and_choice_differ_in_sign_word_and_shape(full_answer: Answer) -> None:
    groups = {g.attrib["class"]: g for g in drawing(full_answer).iter(f"{SVG}g")}
    texts = {role: [t.text for t in g.findall(f"{SVG}text")] for role, g in groups.items()}
    assert texts["fitted"][::2] == ["● rear hub", "fitted"]
    assert texts["must"][::2] == ["■ rear rotor ×2", "must change"]
    assert texts["choice"][::2] == ["◆ rear calliper ×2", "choice, ? check first, or 1 more"]
    assert groups["choice"].find(f"{SVG}polygon") is not None
    assert [groups[r].find(f"{SVG}rect").get("rx") for r in ("fitted", "must")] == ["18", "0"]


@pytest.mark.parametrize("count", [2, 7, 40])
def test_no_two_boxes_touch_and_all_are_on_the_sheet(full_answer: Answer, count: int) -> None:
    svg = drawing(chain_of(count, full_answer))
    found = boxes(svg)
    assert len(found) == count
    for left, top, right, bottom in found:
        assert left >= 0
        assert top >= 0
        assert right <= float(svg.attrib["width"])
        assert bottom <= float(svg.attrib["height"])
    for at, a in enumerate(found):
        for b in found[:at]:
            assert a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]


def test_stations_that_force_each_other_stand_in_one_column() -> None:
    nodes = tuple(Node(k, k, "fitted" if k == "a" else "must", (), "") for k in "abc")
    edges = tuple(Edge(x, y, (), ()) for x, y in ("ab", "bc", "cb"))
    places = layered(CascadeGraph("", "", nodes, edges)).nodes
    assert [places[k].column for k in "abc"] == [0, 1, 1]


def test_an_edge_over_several_columns_bends_around_the_boxes_between() -> None:
    nodes = tuple(Node(k, k, "must", (), "") for k in "abcd")
    edges = tuple(Edge(x, y, (), ()) for x, y in (*map("".join, pairwise("abcd")), "ad"))
    layout = layered(CascadeGraph("", "", nodes, edges))
    bends = layout.bends["a", "d"]
    assert [b.column for b in bends] == [1, 2]
    assert not {(b.column, b.row) for b in bends} & {
        (p.column, p.row) for p in layout.nodes.values()
    }


def test_ways_that_need_not_cross_do_not() -> None:
    nodes = tuple(Node(k, k, "must", (), "") for k in "abxy")
    edges = (Edge("a", "y", (), ()), Edge("b", "x", (), ()))
    rows = layered(CascadeGraph("", "", nodes, edges)).nodes
    assert (rows["a"].row < rows["b"].row) == (rows["y"].row < rows["x"].row)


def test_a_picture_where_nothing_else_changes_shows_what_is_fitted(full_answer: Answer) -> None:
    alone = full_answer.model_copy(update={"lines": ()})
    assert [n.role for n in cascade_graph(alone).nodes] == ["fitted"]
    assert len(boxes(drawing(alone))) == 1


def test_names_cannot_break_out_of_the_drawing_or_the_dot_text(full_answer: Answer) -> None:
    mean = Thing(iri="st:x", label='</svg><script>"\\"')
    line = full_answer.lines[0].model_copy(update={"station": mean, "because": ()})
    answer = full_answer.model_copy(update={"lines": (line,)})
    assert not list(drawing(answer).iter(f"{SVG}script"))
    assert r"</svg><script>\"\\\" ×2" in render_dot(answer)


def test_the_command_draws(run: Run) -> None:
    svg = run("ask", KNOCK_ONS, "--format", "svg")
    assert svg.exit_code == 0
    assert ElementTree.fromstring(svg.stdout).tag == f"{SVG}svg"
    assert run("ask", KNOCK_ONS, "--format", "dot").stdout.startswith("digraph cascade {\n")
