"""Stock builds that cannot be as they are stated, and parts that go on no car."""

from __future__ import annotations

from collections.abc import Iterator

from ..build import Build, clashes, stock_build
from ..catalogue import Catalogue, Part
from ..fewest import why_not
from ..mating import Mate, Mating
from ..problem import Problem, Reason, ReasonKind, Wishes
from ..supply import Supply
from ..verdicts import Search
from .findings_note import FindingNote, Notebook, Severity, listed

_CORRECT = "correct the value that is wrong, or the part that is stated at one of these stations"


def unsound_stock_builds(book: Notebook, mating: Mating) -> Iterator[FindingNote]:
    """Cars whose own parts clash: chains that do not close, gauges without a sender, and the rest.

    A car that left the works was sound, so a clash on it means that something is stated wrongly.
    """
    for car in book.catalogue.cars.values():
        build = stock_build(book.catalogue, car)
        for mate in clashes(mating, build):
            yield _clash(book, build, mate)


def stock_builds_that_lack(book: Notebook) -> Iterator[FindingNote]:
    """Cars on which a part misses what it requires, or meets what it rules out."""
    for car in book.catalogue.cars.values():
        there = [book.catalogue.parts[fit.part] for fit in car.fits.values() if fit.part]
        for part in there:
            others = [other for other in there if other is not part]
            for family, asker in part.asks.items():
                if not any(family in other.families for other in there):
                    yield _unmet(book, car.iri, part, asker, f"requires {book.name(family)}")
            for family in part.excludes:
                met = [other for other in others if family in other.families]
                if met:
                    said = f"rules out {book.name(family)} such as {book.name(met[0].iri)}"
                    yield _unmet(book, car.iri, part, part.family or part.iri, said)


def _unmet(book: Notebook, car: str, part: Part, asker: str, what: str) -> FindingNote:
    by = "" if asker == part.iri else f" (of {book.name(asker)})"
    return book.note(
        Severity.STOPS,
        "a stock build keeps to what its parts require",
        car,
        f"its {book.name(part.iri)}{by} {what}",
        "correct what is required, or the part that is stated on the car",
    )


def _clash(book: Notebook, build: Build, mate: Mate) -> FindingNote:
    joint = book.catalogue.joints[mate.joint]
    at = [s for s in joint.stations if build.fits.get(s)]
    parts = listed([book.name(str(build.fits[s])) for s in at], 6)
    stop = Severity.STOPS
    if any(finding.quantity == "partner" for finding in mate.findings):
        alone = next(e for e in mate.ends if e is not None)
        end = book.catalogue.ends[alone]
        if joint.kind == "Signal" and end.side == "signalSink":
            reason = f"the {book.name(end.role)} of {parts} wants a signal and nothing sends it"
            remedy = "state the sender at its station, or the role on the part that sends"
            return book.note(stop, "a signal has a source", build.car, reason, remedy, (mate,))
        reason = f"the {book.name(end.role)} of {parts} meets nothing at “{joint.label}”"
        remedy = (
            "state the part that belongs there, give the part on the other side its end, or say "
            "that this part lacks the role"
        )
        return book.note(stop, "an end meets its partner", build.car, reason, remedy, (mate,))
    if joint.kind == "Length":
        reason = f"“{joint.label}” does not close with {parts}"
        remedy = "correct the length that is wrong, or the part stated at one of these stations"
        return book.note(stop, "a chain of lengths closes", build.car, reason, remedy, (mate,))
    reason = f"{parts} clash at “{joint.label}”"
    return book.note(stop, "a stock build is sound", build.car, reason, _CORRECT, (mate,))


# ---------------------------------------------------------------------- parts that fit nowhere


def parts_that_fit_nowhere(book: Notebook, mating: Mating) -> Iterator[FindingNote]:
    """Parts that no car has and none could take, whatever else were changed on it.

    Exact: the solver is asked for each, kindly (what nobody has proven may mate).
    """
    catalogue = book.catalogue
    fitted = {fit.part for car in catalogue.cars.values() for fit in car.fits.values()}
    builds = [stock_build(catalogue, car) for car in catalogue.cars.values()]
    places: dict[str, list[Build]] = {
        iri: [b for b in builds if any(s in b.fits for s in part.stations)]
        for iri, part in catalogue.parts.items()
        if iri not in fitted
    }
    homeless = set(places)
    for build in builds:
        homeless -= _that_go_on(mating, build, homeless)
    for iri in sorted(homeless):
        part = catalogue.parts[iri]
        stations = listed([book.name(s) for s in part.stations])
        if not places[iri]:
            reason = f"no car has a {stations}"
            remedy = "state the car that has this station, or correct where the part sits"
        else:
            why = _why_not(book, mating, places[iri][0], part)
            reason = f"it goes on no car with a {stations}, whatever else is changed"
            if why:
                reason += f"; on {places[iri][0].name}, {why}"
            remedy = "correct its ends, or state the parts that go with it"
        yield book.note(Severity.WARNS, "a part fits somewhere", iri, reason, remedy)


def _that_go_on(mating: Mating, build: Build, wanted: set[str]) -> set[str]:
    """Those of `wanted` with which some plan for `build` is workable."""
    parts = [mating.catalogue.parts[iri] for iri in sorted(wanted)]
    supply = _everything(mating.catalogue, build)
    problem = Problem(mating, build, Wishes(), supply, whole=True)
    found: set[str] = set()
    with Search(problem, strict=False) as search:
        for part in parts:
            at = [s for s in part.stations if part.iri in problem.domains.get(s, ())]
            if any(search.solve([problem.variable(s, part.iri)]) is not None for s in at):
                found.add(part.iri)
    for part in parts:
        fixed = [s for s in part.stations if s in build.fits and mating.catalogue.stations[s].fixed]
        if part.iri not in found and any(_workable(mating, build, s, part) for s in fixed):
            found.add(part.iri)
    return found


def _everything(catalogue: Catalogue, build: Build) -> Supply:
    """A supply that has even what is no longer sold: donor cars with every part there is."""
    donors: list[dict[str, str | None]] = []
    filled: dict[str, int] = {}
    for part in catalogue.parts.values():
        for station in part.stations:
            if station in build.fits:
                at = filled[station] = filled.get(station, -1) + 1
                if at == len(donors):
                    donors.append({})
                donors[at][station] = part.iri
    return Supply(donors=tuple(Build(build.car, "any", fits) for fits in donors))


def _workable(mating: Mating, build: Build, station: str, part: Part) -> bool:
    problem = Problem(mating, build, Wishes({station: part.iri}))
    with Search(problem, strict=False) as search:
        return search.solve() is not None


def _why_not(book: Notebook, mating: Mating, build: Build, part: Part) -> str:
    station = next(s for s in part.stations if s in build.fits)
    reasons = why_not(mating, build, Wishes({station: part.iri}))
    told = [_told(book, reason) for reason in reasons if reason.kind is not ReasonKind.FIT]
    return listed(told, 3)


def _told(book: Notebook, reason: Reason) -> str:
    subject, other = book.name(reason.subject), book.name(reason.other)
    if reason.kind is ReasonKind.REQUIREMENT:
        return f"{subject} needs {other}"
    if reason.kind is ReasonKind.EXCLUSION:
        return f"{subject} rules out {other}"
    if reason.kind is ReasonKind.MATCHED_SET:
        return f"{subject} is only used complete"
    return f"“{subject}” cannot mate"
