"""Section `questions`: what else must change if I fit X, over a catalogue that is loaded and warm."""

from __future__ import annotations

import gc
import time
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from statistics import median
from typing import Any

from .apart import DidNotFinish, Took, apart
from .catalogues import Question, Size
from .measured import Row, percentile
from .stand import Stand, size_of

_WARM_UP = 50
_REMEMBERED = 40
"""So many questions back an answer's problem is surely still remembered."""
_MANY = 5
"""So many questions about many parts, or many cars; they take longest."""
_MEDIUM, _LARGE = 10_000, 100_000
_MOST_MS, _MOST_GROWTH = 50.0, 2.0


def measure(stand: Stand) -> Iterator[Row]:
    """Distinct questions, each asked once, after others have warmed the process."""
    count = 200 if stand.full else 40
    took: dict[Size, dict[str, Any]] = {}
    for size in stand.sizes:
        measured = _ask_apart(stand, size, stand.asked(size, count + _WARM_UP))
        if measured is None:
            continue
        found = took[size] = measured.value
        note = (
            f"{found['asked']} questions, {found['workable']} workable, "
            f"{found['changed']} with other stations to change"
        )
        limit = _MOST_MS if size.parts == _MEDIUM else None
        yield _row("cascade, median", size, found["median"], "cascade", note=note)
        yield _row("cascade, p95", size, found["p95"], "cascade", limit=limit)
        yield _row("cascade, slowest", size, found["slowest"], "cascade")
        for what, name in (("median", "again"), ("p95", "again_p95")):
            yield _row(f"asked again, {what}", size, found[name], "again")
        yield _row("first question", size, found["first"])
        yield _row("whole answer, median", size, found["answer"], "answer")
        yield _row("whole answer, p95", size, found["answer_p95"], "answer")
        yield _row("what fits a station", size, found["fits"])
        yield _row("where a part fits", size, found["where"])
        yield _row("peak memory", size, measured.peak_mb, unit="MB")
    medium, large = size_of(_MEDIUM), size_of(_LARGE)
    if medium in took and large in took:
        yield from _growth(took[medium], took[large], large, "")
    if stand.full and medium in took:
        # The same questions, and nine times as many parts that have nothing to do with them.
        beside = Size(_LARGE, medium.generations * (_LARGE // _MEDIUM), _LARGE // _MEDIUM)
        measured = _ask_apart(stand, beside, stand.asked(medium, count + _WARM_UP))
        if measured is not None:
            found = measured.value
            yield _row("cascade, median, the rest unrelated", beside, found["median"])
            yield _row("cascade, p95, the rest unrelated", beside, found["p95"])
            yield from _growth(took[medium], found, beside, ", the rest unrelated")


def _ask_apart(stand: Stand, size: Size, asked: list[Question]) -> Took | None:
    data = stand.data(size)
    stand.say(f"asking {len(asked)} questions of {size.parts} parts")
    words = {"data": str(data), "questions": [asdict(question) for question in asked]}
    try:
        return apart("asking:ask", words, stand.cache, stand.patience)
    except DidNotFinish as error:
        stand.could_not(f"questions of {size.parts} parts", error)
        return None


def _growth(before: dict[str, Any], after: dict[str, Any], size: Size, note: str) -> Iterator[Row]:
    for what in ("median", "p95"):
        told = f"growth of the {what} from {_MEDIUM:,} parts{note}"
        yield _row(told, size, after[what] / before[what], unit="×", limit=_MOST_GROWTH)


def _row(
    what: str, size: Size, value: float, series: str = "", *, unit: str = "ms",
    limit: float | None = None, note: str = "",
) -> Row:  # fmt: skip
    return Row(
        "questions", what, size.parts, size.generations, value, unit, series, limit, note=note
    )


def ask(asked: dict[str, Any]) -> dict[str, Any]:
    """Ask in this process: cascades alone, then whole answers in words to the same questions."""
    from ..query.desk import Desk
    from ..reasoner.build import stock_build
    from ..reasoner.cascade import Cascade, find_cascade
    from ..reasoner.collecting import tidy
    from ..reasoner.load import load_catalogue
    from ..reasoner.problem import Wishes

    desk = Desk(load_catalogue(Path(asked["data"])))
    asked_all = [Question(**words) for words in asked["questions"]]

    def cascade(question: Question) -> Cascade:
        part, station, car = question.iris
        build = stock_build(desk.catalogue, desk.catalogue.cars[car])
        return find_cascade(desk.mating, build, Wishes({station: part}))

    warm_up = min(_WARM_UP, len(asked_all) // 2)
    first = _ms(lambda: cascade(asked_all[0]))[0]
    for question in asked_all[1:warm_up]:
        cascade(question)
    # As the processes of `knockon serve` do, which look for cycles between answers.
    tidy()
    gc.disable()
    timed = [_ms(lambda question=q: cascade(question)) for q in asked_all[warm_up:]]
    times, cascades = [t for t, _ in timed], [c for _, c in timed]
    again = [_ms(lambda q=q: cascade(q))[0] for q in asked_all[-_REMEMBERED:]]
    answers = [_ms(lambda q=q: desk.ask(q.sentence, plans=0))[0] for q in asked_all[warm_up:]]
    parts, cars, name = desk.catalogue.parts, desk.catalogue.cars, desk.catalogue.name
    each = [question.iris for question in asked_all[-_MANY:]]
    fits = [f'what fits "{name(station)}" on "{cars[car].label}"?' for _, station, car in each]
    where = [f'where does "{parts[part].number}" fit?' for part, _, _ in each]
    return {
        "asked": len(times),
        "workable": sum(c.workable for c in cascades),
        "changed": sum(_changes(c) for c in cascades),
        "first": first,
        "median": median(times),
        "p95": percentile(times, 0.95),
        "slowest": max(times),
        "again": median(again),
        "again_p95": percentile(again, 0.95),
        "answer": median(answers),
        "answer_p95": percentile(answers, 0.95),
        "fits": median([_ms(lambda said=said: desk.ask(said))[0] for said in fits]),
        "where": median([_ms(lambda said=said: desk.ask(said))[0] for said in where]),
    }


def _changes(cascade: Any) -> bool:
    return any(k.verdict.name != "KEEPS" for k in cascade.knock_ons)


def _ms(do: Any) -> tuple[float, Any]:
    began = time.perf_counter()
    found = do()
    return (time.perf_counter() - began) * 1000, found
