"""Facts that nobody vouches for, exceptions that contradict, and things entered twice."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from rdflib import OWL, RDFS, URIRef
from rdflib.term import Node

from ..catalogue import Part
from ..reading import Facts
from ..terms import KO
from .findings_note import FindingNote, Notebook, Severity, listed


def without_source(book: Notebook) -> Iterator[FindingNote]:
    """Facts outside any named graph, told once for each file."""
    rule, remedy = "every fact has a source", "put them inside the graph of the source that says so"
    first: dict[str, Node] = {}
    counts: Counter[str] = Counter()
    for (subject, _, _), file in book.facts.unsourced:
        first.setdefault(file, subject)
        counts[file] += 1
    for file, subject in sorted(first.items()):
        many = "1 fact stands" if counts[file] == 1 else f"{counts[file]} facts stand"
        reason = f"{many} in no source's graph, the first about {book.facts.name(subject)}"
        place = book.facts.place(subject)
        yield FindingNote(Severity.STOPS, rule, "", file, place, reason, remedy)


# ---------------------------------------------------------------------- exceptions


def exceptions_that_contradict(book: Notebook) -> Iterator[FindingNote]:
    """Own ends and lacking roles that say nothing new, or say it against the part's own word."""
    own, lacking = _stated(book.facts, KO.ownEnd), _stated(book.facts, KO.lacksRole)
    of_family = _ends_of_families(book.facts)
    for iri in sorted({*own, *lacking} & set(book.catalogue.parts)):
        part = book.catalogue.parts[iri]
        inherited = sorted({e for f in part.families for e in of_family.get(f, ())})
        yield from _own_ends(book, part, own.get(iri, []), inherited, lacking.get(iri, []))
        roles = {book.catalogue.ends[e].role for e in inherited if e in book.catalogue.ends}
        for role in lacking.get(iri, []):
            if role not in roles:
                yield book.note(
                    Severity.WARNS,
                    "an exception says something new",
                    iri,
                    f"it is said to lack the role {book.name(role)}, which none of its families "
                    f"gives it",
                    "take the exception away, or correct the role it names",
                )


def _own_ends(
    book: Notebook, part: Part, own: list[str], inherited: list[str], lacking: list[str]
) -> Iterator[FindingNote]:
    ends = book.catalogue.ends
    by_role: dict[str, list[str]] = {}
    for end in own:
        if end in ends:
            by_role.setdefault(ends[end].role, []).append(end)
    for role, mine in sorted(by_role.items()):
        name = book.name(role)
        if role in lacking:
            yield book.note(
                Severity.STOPS,
                "an exception does not contradict itself",
                part.iri,
                f"it is said to lack the role {name} and to have {book.name(mine[0])} there",
                "keep one of the two",
            )
        if len(mine) > 1:
            yield book.note(
                Severity.WARNS,
                "a part has one own end a role",
                part.iri,
                f"it has {len(mine)} ends of its own for the role {name}: "
                f"{listed([book.name(e) for e in mine])}; they count as alternatives",
                "keep one, unless the part really offers either (drilled twice, for example)",
            )
        theirs = [e for e in inherited if e in ends and ends[e].role == role]
        for end in mine:
            alike = next((t for t in theirs if t == end or _alike(book, end, t)), None)
            if alike is not None and len(theirs) == 1:
                yield book.note(
                    Severity.NOTES,
                    "an exception says something new",
                    part.iri,
                    f"its own end {book.name(end)} is what its family gives it anyway"
                    f"{'' if alike == end else f' ({book.name(alike)} has the same values)'}",
                    "take the exception away; the part inherits the end",
                )


def _alike(book: Notebook, one: str, other: str) -> bool:
    def said(iri: str) -> object:
        end = book.catalogue.ends[iri]
        values = {q: {repr(c.value) for c in claims} for q, claims in end.claims.items()}
        return end.kind, end.side, values, end.open

    return said(one) == said(other)


def _stated(facts: Facts, link: URIRef) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for s, p, o in facts.sources:
        if p == link:
            found.setdefault(str(s), []).append(str(o))
    return {subject: sorted(objects) for subject, objects in found.items()}


def _ends_of_families(facts: Facts) -> dict[str, list[str]]:
    """The ends that each family itself gives its parts."""
    giving = {s for s, p, o in facts.sources if p == OWL.onProperty and o == KO.hasEnd}
    given = {s: str(o) for s, p, o in facts.sources if p == OWL.hasValue and s in giving}
    found: dict[str, list[str]] = {}
    for s, p, o in facts.sources:
        if p == RDFS.subClassOf and o in given:
            found.setdefault(str(s), []).append(given[o])
    return found


# ---------------------------------------------------------------------- entered twice


def entered_twice(book: Notebook) -> Iterator[FindingNote]:
    """One part under two names: by its key, by number where a maker is missing, or by all it is."""
    yield from _same_key(book)
    parts = book.catalogue.parts
    numbers: dict[str, list[str]] = {}
    everything: dict[object, list[str]] = {}
    for iri, part in parts.items():
        numbers.setdefault(_canonical(part.number), []).append(iri)
        if part.ends:
            is_ = (part.label.casefold(), part.maker, part.stations, repr(part.ends))
            everything.setdefault((*is_, part.rework_of), []).append(iri)
    for same in numbers.values():
        makers = {parts[p].maker for p in same}
        if len(same) > 1 and "" in makers:
            yield _twice(book, same, f"both have the number {parts[same[0]].number}, and of one "
                         "nobody says who makes it")  # fmt: skip
    for same in everything.values():
        for at, iri in enumerate(same[1:], 1):
            others = [o for o in same[:at] if not _known_to_be_two(parts[iri], parts[o])]
            if others:
                reason = "both have the same label, maker, stations and ends"
                yield _twice(book, [others[0], iri], reason)


def _same_key(book: Notebook) -> Iterator[FindingNote]:
    keys: dict[str, list[str]] = {}
    for s, p, o in book.facts.sources:
        if p == KO.mpnKey:
            keys.setdefault(str(o).casefold(), []).append(str(s))
    for key, same in sorted(keys.items()):
        if len(set(same)) > 1:
            yield _twice(book, sorted(set(same)), f"both have the key “{key}”", Severity.STOPS)


def _twice(
    book: Notebook, same: list[str], reason: str, severity: Severity = Severity.WARNS
) -> FindingNote:
    return book.note(
        severity,
        "a part is entered once",
        same[-1],
        f"it looks like {book.name(same[0])} entered again: {reason}",
        "keep one; if they are two parts, say what tells them apart, or that they interchange",
    )


def _known_to_be_two(one: Part, other: Part) -> bool:
    linked = {*one.superseded_by, *one.interchanges}, {*other.superseded_by, *other.interchanges}
    return other.iri in linked[0] or one.iri in linked[1] or bool(linked[0] & linked[1])


def _canonical(number: str) -> str:
    return re.sub(r"[\W_]+", "", number).casefold()
