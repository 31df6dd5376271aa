"""Loose ends: empty families, idle stations, roles and ends, and odd serial numbers."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from ..serial_ranges import RangeFault, RangeFaultKind, check_ranges
from ..witness import Witness
from .findings_note import FindingNote, Notebook, Severity, listed


def empty_families(book: Notebook) -> Iterator[FindingNote]:
    """Families without a part, worst where something waits for one of them."""
    catalogue = book.catalogue
    empty = {iri for iri, family in catalogue.families.items() if not family.parts}
    told: set[tuple[str, str]] = set()
    for iri, part in catalogue.parts.items():
        for family in part.requires:
            asker = part.asks.get(family)
            if family in empty and asker is not None and (family, asker) not in told:
                told.add((family, asker))
                subject = asker if asker in catalogue.families else iri
                yield book.note(
                    Severity.WARNS,
                    "what is required can be had",
                    subject,
                    f"it requires {book.name(family)}, a family without a single part, so nothing "
                    "with it is workable",
                    "state the parts of that family, or correct what is required",
                )
    used = {family for family, _ in told}
    for iri, advice in catalogue.advice.items():
        for family in sorted(empty & {*advice.when, *advice.unless}):
            used.add(family)
            never = family in advice.when
            yield book.note(
                Severity.WARNS if never else Severity.NOTES,
                "advice can be given",
                iri,
                f"it names {book.name(family)}, a family without a single part, so it "
                f"{'is never said' if never else 'is never lifted by it'}",
                "state the parts of that family, or correct the family it names",
            )
    for family in sorted(empty - used):
        yield book.note(
            Severity.NOTES,
            "a family has parts",
            family,
            "no part belongs to it",
            "state its parts, or take it away",
        )


def idle_stations(book: Notebook) -> Iterator[FindingNote]:
    """Stations at which nothing can sit, and stations that no car has."""
    catalogue = book.catalogue
    filled = {station for part in catalogue.parts.values() for station in part.stations}
    on_cars = {station for car in catalogue.cars.values() for station in car.fits}
    for iri, station in catalogue.stations.items():
        if iri not in filled:
            yield book.note(
                Severity.NOTES if station.may_stand_empty else Severity.WARNS,
                "a station has parts",
                iri,
                "no part sits there",
                "state a part that does, or take the station away",
            )
        elif iri not in on_cars and not station.may_stand_empty:
            yield book.note(
                Severity.NOTES,
                "a station is on some car",
                iri,
                "no car has it, so what sits there goes on none",
                "state what sits there on the cars that have it",
            )


def idle_roles_and_ends(book: Notebook) -> Iterator[FindingNote]:
    """Roles in no joint, ends of no part, and ends that meet nothing where their parts sit."""
    catalogue = book.catalogue
    places: set[tuple[str, str]] = set()
    for joint in catalogue.joints.values():
        places |= {(m.station, m.role) for m in joint.members}
        places |= {(joint.via, role) for role in joint.via_roles if role}
    used = {role for _, role in places}
    for role in sorted(set(catalogue.roles) - used):
        yield book.note(
            Severity.NOTES,
            "a role is for a joint",
            role,
            "no joint uses it, so ends of this role are never compared",
            "state the joint, or take the role away",
        )
    bearers: dict[str, list[str]] = {}
    for iri, part in catalogue.parts.items():
        for each in sorted({end for ends in part.ends.values() for end in ends}):
            bearers.setdefault(each, []).append(iri)
    for iri, end in catalogue.ends.items():
        parts = [catalogue.parts[p] for p in bearers.get(iri, ())]
        if not parts:
            yield book.note(
                Severity.NOTES,
                "an end belongs to a part",
                iri,
                "no part has it",
                "give it to its family or part, or take it away",
            )
        elif end.role in used and not any(
            (s, end.role) in places for p in parts for s in p.stations
        ):
            where = sorted({s for p in parts for s in p.stations})
            yield book.note(
                Severity.WARNS,
                "an end can meet another",
                iri,
                f"no joint takes a {book.name(end.role)} at the {listed([*map(book.name, where)])}",
                "correct the end's role, or where its parts sit",
            )


def serial_numbers(book: Notebook) -> Iterator[FindingNote]:
    """Serial numbers that belong to two lookalikes, or to neither."""
    for fault in check_ranges(Witness(book.catalogue)):
        first, second = fault.subjects
        span = _span(fault)
        if fault.kind is RangeFaultKind.OVERLAP:
            yield book.note(
                Severity.WARNS,
                "a serial number tells one thing",
                second,
                f"{span} {_belong(fault)} to {book.name(first)} as well as to {book.name(second)}",
                "correct where one ends or the other begins, or say by what else they differ",
            )
        else:
            yield book.note(
                Severity.NOTES,
                "serial numbers leave no gap",
                second,
                f"{span} {_belong(fault)} to nothing: they lie between {book.name(first)} and "
                f"{book.name(second)}",
                "state what was built with these numbers, or that none was",
            )


def _span(fault: RangeFault) -> str:
    if fault.least is not None and fault.least == fault.most:
        return f"number {_number(fault.least)}"
    low = "the first" if fault.least is None else _number(fault.least)
    high = "the last" if fault.most is None else _number(fault.most)
    return f"numbers {low} to {high}"


def _belong(fault: RangeFault) -> str:
    return "belongs" if fault.least is not None and fault.least == fault.most else "belong"


def _number(value: Decimal) -> str:
    return f"{value:f}"
