"""What `knockon check` says of a catalogue that was read and closed."""

from __future__ import annotations

from collections.abc import Iterator

from ..reasoner.build import meetings, stock_build
from ..reasoner.interfaces.kind import Outcome
from .desk import Desk
from .words import finding_text


def check_lines(desk: Desk) -> Iterator[tuple[str, bool]]:
    """Lines to print; True with those that tell of a fault."""
    known = desk.catalogue
    yield (
        f"{len(known.parts)} parts, {len(known.stations)} stations, {len(known.cars)} cars, "
        f"{len(known.sources)} sources; {known.asserted} facts stated, {known.derived} derived",
        False,
    )
    for car in known.cars.values():
        found = meetings(desk.mating, stock_build(known, car))
        clashing = [m for m in found if m.outcome is Outcome.CLASHES]
        unproven = [m for m in found if m.outcome is Outcome.UNPROVEN]
        verdict = "clashes" if clashing else "is sound"
        yield f"{car.label}: {len(found)} joints, {verdict}", bool(clashing)
        for mate in (*clashing, *unproven):
            mark = "✕" if mate.outcome is Outcome.CLASHES else "?"
            why = "; ".join(
                finding_text(f, known) for f in mate.findings if f.outcome is not Outcome.MATES
            )
            yield f"  {mark} {known.name(mate.joint)}: {why}", mate.outcome is Outcome.CLASHES
