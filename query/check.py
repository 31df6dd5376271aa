"""What `knockon check` says of a catalogue: what is there, whether cars are sound, what to mend."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from pydantic import Field

from ..reasoner.build import meetings, stock_build
from ..reasoner.catalogue import Catalogue
from ..reasoner.errors import CatalogueFileError, CatalogueRefused
from ..reasoner.interfaces.kind import Outcome
from ..reasoner.load import load_catalogue, stated
from ..reasoner.mating import Mating
from .answer import Value
from .finding_out import FindingOut, fault_out, finding_out
from .words import finding_text

_MARKS = {"stops": "✕", "warns": "!", "notes": "·"}


class CarNote(Value):
    """How a stock build stands: its joints, and those that are not proven or clash."""

    car: str
    joints: int
    clashing: int
    unproven: tuple[str, ...] = ()


class CheckReport(Value):
    """Everything that the check has to say."""

    catalogue: str = Field(description="version of the catalogue; empty where it is refused")
    counts: dict[str, int] = Field(description="how much of what there is")
    cars: tuple[CarNote, ...] = ()
    findings: tuple[FindingOut, ...] = ()

    @property
    def stops(self) -> bool:
        """Whether the catalogue must not be served as it is."""
        return any(finding.severity == "stops" for finding in self.findings)


def check(data: Path | None) -> CheckReport:
    """Check the catalogue in a folder or store (the demo by default), refused or not."""
    # Reading facts needs the RDF machinery, which no question does.
    from ..reasoner.reading import read_facts
    from ..reasoner.upkeep.findings import find_faults
    from ..reasoner.upkeep.findings_refused import check_everything

    try:
        facts = read_facts(stated(data)[1]()[1])
    except CatalogueFileError as error:
        return CheckReport(catalogue="", counts={}, findings=(_unreadable(error),))
    try:
        # One that is served has passed already, and is remembered.
        catalogue = load_catalogue(data)
        mating = Mating(catalogue)
        notes = find_faults(facts, catalogue, mating)
        return CheckReport(
            catalogue=catalogue.version,
            counts=_counts(catalogue),
            cars=tuple(_cars(mating)),
            findings=tuple(finding_out(note, catalogue) for note in notes),
        )
    except CatalogueRefused:
        checked = check_everything(facts)
    known = checked.catalogue
    told = () if known is None else tuple(finding_out(note, known) for note in checked.findings)
    return CheckReport(
        catalogue="",
        counts={} if known is None else _counts(known),
        findings=(*map(fault_out, checked.faults), *told),
    )


def _unreadable(error: CatalogueFileError) -> FindingOut:
    place = error.file if error.line is None else f"{error.file}, line {error.line}"
    return FindingOut(
        severity="stops",
        rule="files can be read",
        thing=error.file,
        place=place,
        reason=error.what,
        remedy="mend the file; nothing else is checked before",
    )


def _counts(known: Catalogue) -> dict[str, int]:
    return {
        "parts": len(known.parts),
        "stations": len(known.stations),
        "cars": len(known.cars),
        "sources": len(known.sources),
        "facts stated": known.asserted,
        "facts derived": known.derived,
    }


def _cars(mating: Mating) -> Iterator[CarNote]:
    known = mating.catalogue
    for car in known.cars.values():
        found = meetings(mating, stock_build(known, car))
        unproven = []
        for mate in found:
            if mate.outcome is Outcome.UNPROVEN:
                texts = [
                    finding_text(f, known) for f in mate.findings if f.outcome is not Outcome.MATES
                ]
                unproven.append(f"{known.name(mate.joint)}: {'; '.join(texts)}")
        clashing = sum(mate.outcome is Outcome.CLASHES for mate in found)
        yield CarNote(car=car.label, joints=len(found), clashing=clashing, unproven=tuple(unproven))


def check_lines(report: CheckReport) -> Iterator[tuple[str, str]]:
    """Lines to print, each with the class it is painted in."""
    if report.counts:
        told = [f"{count} {what}" for what, count in report.counts.items()]
        yield f"{', '.join(told[:4])}; {', '.join(told[4:])}", "title"
    for car in report.cars:
        verdict = "clashes" if car.clashing else "is sound"
        yield f"{car.car}: {car.joints} joints, {verdict}", "must" if car.clashing else ""
        for text in car.unproven:
            yield f"  ? {text}", "check"
    for finding in report.findings:
        yield "", ""
        yield from finding_lines(finding)
    if report.findings:
        yield "", ""
    yield _summary(report), "title"


def finding_lines(finding: FindingOut) -> Iterator[tuple[str, str]]:
    """A finding in lines: what should hold, of what, where, why not, and what to do."""
    paint = {"stops": "must", "warns": "choice", "notes": "quiet"}[finding.severity]
    mark = _MARKS[finding.severity]
    where = "" if finding.place == finding.thing else f" ({finding.place})"
    yield f"{mark} {finding.severity}: {finding.thing}{where}", paint
    yield f"    {finding.reason} [{finding.rule}]", ""
    for fact in finding.because:
        yield f"    because {fact}", ""
    yield f"    → {finding.remedy}", "quiet"


def _summary(report: CheckReport) -> str:
    counts = [
        f"{count} {word}"
        for severity, word in (("stops", "to mend first"), ("warns", "to look at"),
                               ("notes", "to know"))
        if (count := sum(f.severity == severity for f in report.findings))
    ]  # fmt: skip
    return f"Findings: {', '.join(counts)}." if counts else "Nothing to mend."
