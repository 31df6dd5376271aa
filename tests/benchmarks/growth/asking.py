"""Section `questions`: what else must change if I fit X, over a catalogue that is loaded and warm."""

from __future__ import annotations

import gc
import time
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from statistics import median
from typing import Any

from .apart import DidNotFinish, apart
from .catalogues import Question
from .measured import Row, percentile
from .stand import Stand

_WARM_UP = 50
_REMEMBERED = 40
"""So many questions back an answer's problem is surely still remembered."""
_MEDIUM, _LARGE = 10_000, 100_000
_MOST_MS, _MOST_GROWTH = 50.0, 2.0


def measure(stand: Stand) -> Iterator[Row]:
    """Distinct questions, each asked once, after others have warmed the process."""
    count = 200 if stand.full else 40
    medians: dict[int, tuple[float, float]] = {}
    for size in stand.sizes:
        asked = stand.asked(size, count + _WARM_UP)
        data = stand.data(size)
        stand.say(f"asking {len(asked)} questions of {size.parts} parts")
        words = {"data": str(data), "questions": [asdict(q) for q in asked]}
        try:
            took = apart("asking:ask", words, stand.cache, stand.patience)
        except DidNotFinish as error:
            stand.could_not(f"questions of {size.parts} parts", error)
            continue
        known = size.parts, size.generations
        found = took.value
        note = (
            f"{found['asked']} questions, {found['workable']} workable, "
            f"{found['changed']} with other stations to change"
        )
        limit = _MOST_MS if size.parts == _MEDIUM else None
        medians[size.parts] = found["median"], found["p95"]
        yield Row(
            "questions", "cascade, median", *known, found["median"], "ms", "cascade", note=note
        )
        yield Row("questions", "cascade, p95", *known, found["p95"], "ms", "cascade", limit)
        yield Row("questions", "cascade, slowest", *known, found["slowest"], "ms", "cascade")
        for what, name in (("median", "again"), ("p95", "again_p95")):
            told = f"asked again, {what}"
            yield Row("questions", told, *known, found[name], "ms", "again")
        yield Row("questions", "first question", *known, found["first"], "ms")
        yield Row("questions", "whole answer, median", *known, found["answer"], "ms", "answer")
        yield Row("questions", "whole answer, p95", *known, found["answer_p95"], "ms", "answer")
        yield Row("questions", "peak memory", *known, took.peak_mb, "MB")
    if _MEDIUM in medians and _LARGE in medians:
        for at, what in enumerate(("median", "p95")):
            growth = medians[_LARGE][at] / medians[_MEDIUM][at]
            yield Row(
                "questions", f"growth of the {what} from 10,000 parts", _LARGE, 1000, growth, "×",
                limit=_MOST_GROWTH,
            )  # fmt: skip


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
    }


def _changes(cascade: Any) -> bool:
    return any(k.verdict.name != "KEEPS" for k in cascade.knock_ons)


def _ms(do: Any) -> tuple[float, Any]:
    began = time.perf_counter()
    found = do()
    return (time.perf_counter() - began) * 1000, found
