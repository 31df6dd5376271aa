"""What people at the counter do on the pages, in a real browser."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient
from knockon.api.app import create_app
from knockon.query.answer import Answer
from knockon.query.cascade_graph import cascade_graph
from knockon.query.desk import Desk
from knockon.reasoner.catalogue import Catalogue

from ..conftest import TINY_DATA
from .browser import Page, driving, serving

HUB = "what else must change if I fit HD rear hub to Wether W2 late?"
DOWN, UP, RIGHT, LEFT, ENTER, TAB = "\ue015", "\ue013", "\ue014", "\ue012", "\ue007", "\ue004"


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with driving(tmp_path_factory.mktemp("profile")) as page:
        yield page


@pytest.fixture(scope="module")
def desk(page: Page, demo: Catalogue) -> Iterator[str]:
    with serving(Desk(demo)) as address:
        yield address


@pytest.fixture(scope="module")
def uncounted(page: Page, build_tiny: Callable[..., Catalogue]) -> Iterator[str]:
    """A shop where nobody has counted the teeth of the HD half-shaft."""
    known = "ko:role role:shaft-spline ; ko:side ko:External ; ko:teeth 30 ;"
    data = TINY_DATA.replace(known, known.removesuffix(" ko:teeth 30 ;"))
    assert data != TINY_DATA
    with serving(Desk(build_tiny(data))) as address:
        yield address


def asked(page: Page, desk: str, question: str = HUB, **window: int | bool) -> None:
    page.open(f"{desk}/?{urlencode({'q': question})}", **window)  # type: ignore[arg-type]
    page.answered(question)


# ---------------------------------------------------------------------- ask


def test_a_sentence_is_completed_as_it_is_typed_and_answered(page: Page, desk: str) -> None:
    page.open(f"{desk}/")
    page.focus("#sentence")
    page.keys("what else mu")
    page.one("#offers:not([data-stale]) li", "must")
    page.keys(DOWN, ENTER, "change if I fit HD rear hub to Wether W2 l")
    page.one("#offers:not([data-stale]) li", "Wether W2 late")
    page.keys(DOWN, ENTER, ENTER)
    page.answered(HUB)
    assert "7 must change" in page.one("#summary").text
    assert page.focused.startswith("7 must change")
    assert not page.troubles()


def test_the_reasons_of_a_verdict_lead_to_values_rule_source_and_standing(
    page: Page, desk: str
) -> None:
    asked(page, desk)
    page.press(".verdict summary .station", "rear half-shaft")
    reasons = page.one(".verdict[open]", "rear half-shaft").text
    assert "number of teeth 27 against 30" in reasons
    page.press(".verdict[open] .meeting summary", "Values, rule and sources")
    told = page.one(".verdict[open] .meeting details[open]").text
    assert "Rule: " in told
    assert "Ostrel drawings and parts lists" in told
    assert "documented" in told


def test_the_picture_is_walked_with_the_arrow_keys_and_told_in_words(page: Page, desk: str) -> None:
    asked(page, desk)
    page.focus(".picture .box.fitted")
    page.keys(RIGHT)
    first = page.focused
    assert "must change" in first
    page.keys(DOWN)
    assert page.focused != first
    page.keys(UP, LEFT)
    assert page.focused.startswith("● rear hub")
    page.keys(RIGHT, ENTER)
    assert page.one(".verdict[open]")
    words = page.one("#picture-words").get_property("textContent")
    assert "The rear hub is fitted; it forces the" in words
    assert len(page.all(".picture .box")) == 8


def test_the_picture_shows_what_every_other_picture_of_the_answer_shows(
    page: Page, desk: str, demo: Catalogue
) -> None:
    answer = Desk(demo).ask(
        "what else must change if I fit HD six-speed gearbox to Wether W2 late?"
    )
    assert isinstance(answer, Answer)
    page.open(f"{desk}/sheet")
    drawn = page.module(
        "const { graphOf } = await import('/web/picture.js'); return graphOf(given[0]);",
        answer.model_dump(mode="json"),
    )
    graph = cascade_graph(answer)
    assert [(n["key"], n["role"], n["hangs"]) for n in drawn["nodes"]] == [
        (n.key, n.role, n.hangs) for n in graph.nodes
    ]
    assert [(e["start"], e["end"], e["kinds"]) for e in drawn["edges"]] == [
        (e.start, e.end, list(e.kinds)) for e in graph.edges
    ]


FORTY = """
const { picture } = await import('/web/picture.js');
const { show, byId } = await import('/web/dom.js');
const thing = (at) => ({ iri: `st:${at}`, label: `station number ${at}` });
const part = (at) => ({ iri: `part:${at}`, number: `N-${1000 + at}`, label: "a part with quite a long name" });
const line = (at) => ({ station: thing(at), quantity: 2, verdict: at % 4 ? "must" : "choice",
  strictly: "must", now: part(0), options: [part(at), part(at + 1)], because: [], chains: [],
  forced_by: [thing(at < 7 ? 0 : Math.floor((at - 1) / 3)), ...(at % 7 === 3 ? [thing((at * 5) % at)] : [])] });
const lines = Array.from({ length: 39 }, (_, at) => line(at + 1));
const fitted = [{ station: thing(0), part: part(0), now: part(1) }];
show(byId("main"), picture({ summary: "39 must change", fitted, lines }, () => {}));
await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
return [...document.querySelectorAll(".picture .box")].map((box) => {
  const edge = box.querySelector(".edge").getBoundingClientRect();
  const texts = [...box.querySelectorAll("text")].map((t) => t.getBoundingClientRect());
  return { left: edge.left, right: edge.right, top: edge.top, bottom: edge.bottom,
    wide: Math.max(...texts.map((t) => t.right)), least: Math.min(...texts.map((t) => t.height)) };
});
"""


def test_forty_stations_can_be_read(page: Page, desk: str) -> None:
    page.open(f"{desk}/")
    boxes = page.module(FORTY)
    assert len(boxes) == 40
    for at, box in enumerate(boxes):
        assert box["wide"] <= box["right"], "no text runs out of its box"
        assert box["least"] >= 10, "no text is smaller than 10 pixels"
        for other in boxes[:at]:
            apart = (
                box["left"] >= other["right"]
                or other["left"] >= box["right"]
                or box["top"] >= other["bottom"]
                or other["top"] >= box["bottom"]
            )
            assert apart, "no box lies over another"


def test_a_car_is_found_by_its_serial_and_a_part_picked_station_by_station(
    page: Page, desk: str
) -> None:
    page.open(f"{desk}/")
    page.one("#cars .pick label", "Wether W1")
    page.focus("#cars input[inputmode=numeric]")
    page.keys("231500")
    page.until(lambda: len(page.all("#cars .pick label")) == 2, "two cars of that serial")
    page.press("#cars .pick label", "W2 late")
    page.press("#job summary", "rear corner")
    page.press("#job button[aria-label='Fit another part as rear hub']")
    page.press("dialog[open] .pick label", "OW-42310")
    page.press("dialog[open] button", "Fit this one")
    page.press("#ask-picked")
    page.answered("what else must change if I fit OW-42310 at rear hub to Wether W2 late?")
    assert "7 must change" in page.one("#summary").text


def test_a_choice_is_settled_by_a_switch_and_opened_again(page: Page, desk: str) -> None:
    asked(page, desk)
    page.press(".pick label", "OW-44140")
    settled = "what else must change if I fit HD rear hub and fit OW-44140 at rear calliper"
    page.answered(settled)
    assert page.one(".picture .box.fitted[data-key$='/rear-calliper']")
    assert page.driver.switch_to.active_element.get_attribute("value") == "OW-44140"
    assert "OW-44240" in page.one(".verdict", "rear rotor").get_property("textContent")
    page.press("details[open] .pick label:has([data-key$='rear-calliper '])", "Leave it open")
    page.answered(HUB)


def test_what_must_stay_says_what_cannot_hold_together(page: Page, desk: str) -> None:
    asked(page, desk)
    page.press(".verdict summary .station", "rear wheel")
    page.press(".verdict[open] button", "What if it must stay?")
    page.answered("keeping rear wheel")
    told = page.one(".note.bad", "These cannot hold together").text
    assert "The least to give up" in told
    page.press(".pick label", "Leave it open")
    page.answered(HUB)


def test_plans_stand_side_by_side_and_say_where_they_differ(page: Page, desk: str) -> None:
    asked(page, desk)
    assert len(page.all("#plans thead th")) == 3
    assert "▸" in page.one("#plans tr.marked th", "rear rotor").text
    assert page.one("#plans th", "Parts, EUR")


def test_a_measured_value_answers_the_check_at_once(page: Page, uncounted: str) -> None:
    question = "what else must change if I fit HD hub to Tiny T1 light?"
    asked(page, uncounted, question)
    page.press("#checks .tick")
    page.focus("#checks .measure input")
    page.keys("thirty", ENTER)
    assert "is a number, not “thirty”" in page.one("#answer [role=alert]").text
    asked(page, uncounted, question)
    page.focus("#checks .measure input")
    page.keys("30", ENTER)
    page.one("#checks .note", "Nothing is left to check")
    page.press("#checks .chips button")
    page.one("#checks .measure input")
    page.press("#checks button", "Offered up, it fits")
    page.one("#checks .note", "Nothing is left to check")


def test_a_slip_of_the_pen_is_told_in_words_and_mended_by_one_press(page: Page, desk: str) -> None:
    page.open(f"{desk}/?{urlencode({'q': HUB.replace('rear hub', 'rear hubb')})}")
    assert "rear hubb" in page.one("[role=alert] mark").text
    page.press("[role=alert] button", "HD rear hub")
    page.answered("HD rear hub")


def test_any_other_question_gets_its_report(page: Page, desk: str) -> None:
    asked_for = "does OW-42310 mate with HD rear half-shaft?"
    page.open(f"{desk}/?{urlencode({'q': asked_for})}")
    assert "HD rear hub" in page.one("#summary").text
    assert page.one("#answer .meeting")


def test_inches_and_american_words_are_one_press_away(page: Page, desk: str) -> None:
    asked(page, desk)
    page.press("#reader label", "inch")
    page.until(lambda: "4.5 in against 3.937 in" in page.text, "inches")
    page.press("#reader label", "US")
    page.one(".verdict .station", "rear caliper")
    page.press(".pick label", "OW-44140")
    page.answered("OW-44140 at rear calliper")
    page.press("#reader label", "UK")
    page.press("#reader label", "mm")
    page.one(".verdict .station", "rear rotor")


# ---------------------------------------------------------------------- job sheet


@pytest.mark.parametrize(
    ("width", "height", "box"),
    [(210, 297, b"595"), (215.9, 279.4, b"612 792")],
    ids=["A4", "Letter"],
)
def test_the_job_sheet_prints_on_its_paper(
    page: Page, desk: str, width: float, height: float, box: bytes
) -> None:
    page.open(f"{desk}/sheet?{urlencode({'q': HUB, 'plan': 2})}")
    sheet = page.one(".sheet").text
    for part in ("Check before ordering", "Order of work", "one-use", "Cautions", "Signed"):
        assert part in sheet
    assert "OW-42310" in sheet
    paper = page.printed(width, height)
    assert paper.startswith(b"%PDF")
    assert b"/MediaBox [0 0 " + box in paper
    assert 1 <= paper.count(b"/Type /Page\n") <= 4


# ---------------------------------------------------------------------- identify, maintain


def test_a_used_part_is_identified_one_look_after_another(page: Page, desk: str) -> None:
    page.open(f"{desk}/identify")
    page.one("#sorts option")
    page.focus("#sort")
    page.keys("rear hub", ENTER)
    page.one(".look.first h3", "chassis serial")
    page.focus(".look.first input")
    page.keys("180000", ENTER)
    page.one(".chips li", "chassis serial: 180000")
    assert page.one("#summary").text != "It can still be 10 parts of 10."
    assert "ruled out" in page.text


def test_the_maintainer_sees_who_states_each_value_and_what_is_unproven(
    page: Page, desk: str
) -> None:
    page.open(f"{desk}/maintain")
    page.one("#sources td", "trial-fitted")
    page.focus("#words")
    page.keys("OW-42310", ENTER)
    facts = page.one("#found table", "hub spline").text
    assert "number of teeth: 30" in facts
    assert "documented" in facts
    page.press("#unproven-form button")
    page.one("#unproven #summary")


# ---------------------------------------------------------------------- for everybody


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_axe_finds_no_fault_on_any_page(page: Page, desk: str, *, dark: bool) -> None:
    asked(page, desk, dark=dark)
    page.driver.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
    found = page.faults(contrast_alone=dark)
    page.open(f"{desk}/sheet?{urlencode({'q': HUB})}", dark=dark)
    page.one(".sheet")
    found += page.faults(contrast_alone=dark)
    page.open(f"{desk}/identify", dark=dark)
    page.one("#sorts option")
    page.focus("#sort")
    page.keys("rear hub", ENTER)
    page.one(".look")
    found += page.faults(contrast_alone=dark)
    page.open(f"{desk}/maintain?part=OW-42310", dark=dark)
    page.one("#part-title")
    found += page.faults(contrast_alone=dark)
    assert found == []


@pytest.mark.parametrize("width", [390, 768])
def test_no_page_has_to_be_pushed_sideways(page: Page, desk: str, width: int) -> None:
    asked(page, desk, width=width)
    assert page.sideways() <= 0
    for address, there in (
        (f"/sheet?{urlencode({'q': HUB})}", ".sheet"),
        ("/identify", "#sorts option"),
        ("/maintain?part=OW-42310", "#part-title"),
    ):
        page.open(desk + address, width=width)
        page.one(there)
        assert page.sideways() <= 0, address


def test_the_picker_is_worked_by_keyboard_alone(page: Page, desk: str) -> None:
    page.open(f"{desk}/")
    page.one("#cars .pick input")
    page.focus("#cars .pick input")
    page.keys(" ")
    page.one("#job h3", "On the Lanner L1")
    page.focus("#job summary")
    page.keys(ENTER, TAB, ENTER)
    page.one("dialog[open]")
    page.keys("\ue00c")
    page.until(lambda: not page.all("dialog[open]"), "the dialog to close")


# ---------------------------------------------------------------------- without a browser


@pytest.fixture(scope="module")
def client(tiny: Catalogue) -> Iterator[TestClient]:
    with TestClient(create_app(Desk(tiny)), raise_server_exceptions=False) as client:
        yield client


@pytest.mark.parametrize("path", ["/", "/sheet", "/identify", "/maintain"])
def test_a_page_runs_nothing_inline_and_asks_nobody_else(client: TestClient, path: str) -> None:
    response = client.get(path)
    assert response.headers["content-type"].startswith("text/html")
    policy = response.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http:" not in response.text.replace("http://www.w3.org", "")
    assert "https:" not in response.text
    assert "style=" not in response.text
    assert "<script>" not in response.text


def test_everything_that_a_page_names_is_served(client: TestClient) -> None:
    web = Path(__file__).parents[2] / "api" / "web"
    for file in web.rglob("*"):
        if file.suffix in {".js", ".css", ".svg", ".html"}:
            path = file.relative_to(web).as_posix()
            assert client.get(f"/web/{path}").status_code == 200, path


def test_a_page_that_has_not_changed_is_not_sent_again(client: TestClient) -> None:
    tag = client.get("/").headers["etag"]
    assert client.get("/", headers={"If-None-Match": tag}).status_code == 304


@pytest.mark.parametrize(
    "path", ["/web/..%2fapp.py", "/web/nothing.js", "/web/vendor/dagre/LICENSE"]
)
def test_nothing_else_of_the_package_is_served(client: TestClient, path: str) -> None:
    response = client.get(path)
    assert response.status_code == 404
    assert response.headers["content-type"] == "application/problem+json"
