"""Promote, retract and dispute what sources say: each makes a change set, nothing is overwritten.

To promote is to let a stronger source say it too; to retract is to take one source's word away; to
dispute is to let another source say otherwise beside it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from rdflib import PROV, RDF, SKOS, XSD, Literal, URIRef
from rdflib.term import BNode, Node

from ..catalogue import Catalogue, Claim, End, Standing
from ..errors import KnockonError
from ..interfaces.kind import Scalar
from ..reading import Facts
from ..terms import KO, local_name
from .changes import ChangeSet, draft
from .quads import LooseQuad, Quad, is_record, quads_of, version_of


class StandingRefused(KnockonError):
    """A promotion, retraction or dispute that would change nothing or contradict itself."""


@dataclass(frozen=True, slots=True)
class Signature:
    """Who makes an edit, when, and why."""

    who: str
    when: datetime
    why: str


@dataclass(frozen=True, slots=True)
class NewSource:
    """A source that is not described yet and is to be, with the edit."""

    iri: str
    label: str
    by: str
    standing: Standing

    def quads(self, when: datetime) -> list[LooseQuad]:
        """Its description, in its own graph."""
        node = URIRef(self.iri)
        agent = URIRef(f"https://knockon.example/who/{local_name(self.iri)}")
        word = "".join(part.title() for part in self.standing.word.split("-"))
        stamp = Literal(when.isoformat(timespec="seconds"), datatype=XSD.dateTime)
        return [
            (node, RDF.type, KO.Source, node),
            (node, SKOS.prefLabel, Literal(self.label, lang="en"), node),
            (node, PROV.wasAttributedTo, agent, node),
            (node, PROV.generatedAtTime, stamp, node),
            (node, KO.standing, KO[word], node),
            (agent, RDF.type, PROV.Agent, node),
            (agent, SKOS.prefLabel, Literal(self.by, lang="en"), node),
        ]


@dataclass(frozen=True, slots=True)
class Stated:
    """The facts that are edited and the catalogue that is made of them."""

    facts: Facts
    catalogue: Catalogue

    def quads(self) -> frozenset[Quad]:
        """The facts as statements of sources."""
        return quads_of(self.facts)


def promote_fit(
    data: Stated, first: str, second: str, source: str | NewSource, signed: Signature
) -> ChangeSet:
    """The two ends were put together and it worked, says `source`.

    Raises:
        StandingRefused: there is no such end, the source is not described or too weak to prove
            anything, or it says so already.
    """
    for end in (first, second):
        _end(data.catalogue, end)
    if first == second:
        raise StandingRefused("an end is not tried with itself; name the two ends that met")
    iri = _strong_enough(data.catalogue, source, Standing.TRIAL_FITTED)
    pair = (min(first, second), max(first, second))
    if iri in data.catalogue.tried.get(pair, ()):
        raise StandingRefused(f"{_source_name(data.catalogue, iri)} says already that they fit")
    quad = (URIRef(pair[0]), KO.triedWith, URIRef(pair[1]), URIRef(iri))
    return _drafted(data, signed, source, [quad], [])


def promote_value(
    data: Stated, end: str, quantity: str, source: str | NewSource, signed: Signature
) -> ChangeSet:
    """`source` confirms the value that the end has, in its own words from now on.

    A value that several ends share by their form is confirmed for this end alone.

    Raises:
        StandingRefused: nothing is stated, sources differ (confirm one of them by `dispute`), or
            the source is no stronger than those that state it.
    """
    described = _end(data.catalogue, end)
    claims = _claims(described, quantity)
    if len(claims) > 1:
        said = " or ".join(str(claim.value) for claim in claims)
        raise StandingRefused(
            f"sources differ on this value ({said}); retract what is wrong, or let the new source "
            "say which it is with dispute"
        )
    claim = claims[0]
    now = data.catalogue.standing(claim.sources)
    iri = _strong_enough(data.catalogue, source, Standing(max(now - 1, 0)))
    return _drafted(data, signed, source, _restated(data, end, quantity, claim, iri), [])


def dispute(
    data: Stated,
    end: str,
    quantity: str,
    value: Scalar,
    source: str | NewSource,
    signed: Signature,
) -> ChangeSet:
    """`source` says that the value is another; both stand side by side from now on.

    A value that an end has by its form is disputed for the form, which is where it is stated.

    Raises:
        StandingRefused: nothing is stated, the value is not of the same sort, or the source says
            something of it already.
    """
    described = _end(data.catalogue, end)
    claims = _claims(described, quantity)
    if any(claim.value == value for claim in claims):
        raise StandingRefused("that is what is stated already; to confirm it, promote it")
    iri = _described(data.catalogue, source)
    if any(iri in claim.sources for claim in claims):
        raise StandingRefused(
            f"{_source_name(data.catalogue, iri)} states this value itself; retract that first"
        )
    stated = _statements(data, end, quantity)
    sample = next((o for _, _, o, _ in stated if isinstance(o, Literal)), None)
    if sample is None:
        raise StandingRefused(
            "this value is a list of records; state the whole list in the other source's graph"
        )
    literal = _like(sample, value)
    quad = (stated[0][0], KO[quantity], literal, URIRef(iri))
    return _drafted(data, signed, source, [quad], [])


def retract(
    data: Stated, subject: str, prop: str, source: str, signed: Signature, obj: str = ""
) -> ChangeSet:
    """Take away what `source` says of `subject` under the property with local name `prop`.

    `subject` is an end (a value it has by its form is found there), a part, a car or any other
    thing; `obj` narrows it to one value, by IRI, local name or text. Records go whole.

    Raises:
        StandingRefused: the source says no such thing.
    """
    held = data.quads()
    said = [
        (s, p, o, g)
        for s, p, o, g in held
        if str(g) == source
        and local_name(p) == prop
        and (not obj or obj in (str(o), local_name(o)))
    ]
    both_ways = prop == "triedWith"
    gone = [q for q in said if str(q[0]) == subject or (both_ways and str(q[2]) == subject)]
    if not gone:
        forms = _forms(held, subject)
        gone = [q for q in said if str(q[0]) in forms]
    gone += [part for quad in gone for part in _record(held, quad[2])]
    if not gone:
        name = _source_name(data.catalogue, source)
        what = f"{prop} {obj}".strip()
        raise StandingRefused(f"{name} says nothing of {local_name(subject)} under {what}")
    return _drafted(data, signed, source, [], gone)


def shared_by(data: Stated, change: ChangeSet) -> tuple[str, ...]:
    """Ends that a change of a form's value reaches, for the maintainer to know."""
    forms = {str(s) for s, _, _, _ in (*change.added, *change.removed)} - set(data.catalogue.ends)
    found = {str(s) for s, p, o in data.facts.sources if p == KO.form and str(o) in forms}
    return tuple(sorted(found & set(data.catalogue.ends)))


# ---------------------------------------------------------------------- what is there


def _end(catalogue: Catalogue, iri: str) -> End:
    if iri not in catalogue.ends:
        raise StandingRefused(f"there is no end {local_name(iri)}")
    return catalogue.ends[iri]


def _claims(end: End, quantity: str) -> tuple[Claim, ...]:
    claims = end.claims.get(quantity, ())
    if not claims:
        known = ", ".join(sorted(end.claims)) or "nothing"
        raise StandingRefused(f"nobody states {quantity} of {end.label}; there is {known}")
    return claims


def _described(catalogue: Catalogue, source: str | NewSource) -> str:
    iri = source.iri if isinstance(source, NewSource) else source
    known = iri in catalogue.sources
    if isinstance(source, NewSource) and known:
        raise StandingRefused(f"{local_name(iri)} is described already; name it alone")
    if isinstance(source, str) and not known:
        names = ", ".join(sorted(map(local_name, catalogue.sources)))
        raise StandingRefused(
            f"no source {local_name(iri)} is described; there are {names}, or describe a new one"
        )
    return iri


def _strong_enough(catalogue: Catalogue, source: str | NewSource, wanted: Standing) -> str:
    iri = _described(catalogue, source)
    standing = source.standing if isinstance(source, NewSource) else catalogue.sources[iri].standing
    if standing > wanted:
        raise StandingRefused(
            f"{_source_name(catalogue, iri)} is {standing.word}, and only what is {wanted.word} "
            "or stronger would make a difference"
        )
    return iri


def _source_name(catalogue: Catalogue, iri: str) -> str:
    known = catalogue.sources.get(iri)
    return known.label if known else local_name(iri)


def _forms(held: Iterable[Quad], subject: str) -> set[str]:
    return {str(o) for s, p, o, _ in held if str(s) == subject and p == KO.form}


def _statements(data: Stated, end: str, quantity: str) -> list[Quad]:
    """Where the value of an end is stated: on itself, or else on its form."""
    held = data.quads()
    for subjects in ({end}, _forms(held, end)):
        found = [q for q in held if str(q[0]) in subjects and q[1] == KO[quantity]]
        if found:
            return sorted(found, key=str)
    raise StandingRefused(f"nobody states {quantity} of {local_name(end)}")


def _restated(data: Stated, end: str, quantity: str, claim: Claim, source: str) -> list[LooseQuad]:
    """The statements of one claim again, of the end itself, in another source's graph."""
    graph, node, held = URIRef(source), URIRef(end), data.quads()
    found: list[LooseQuad] = []
    for _, p, o, g in _statements(data, end, quantity):
        if str(g) == claim.sources[0]:
            found.append((node, p, _loose(o), graph))
            found += [(_loose(rs), rp, _loose(ro), graph) for rs, rp, ro, _ in _record(held, o)]
    return found


def _loose(node: Node) -> Node:
    """A record under a passing name: it is named by whose it is, and it is to be another's."""
    if isinstance(node, Literal) or not is_record(node):
        return node
    return BNode(str(node).rsplit("/", 1)[1])


def _record(held: Iterable[Quad], node: Node) -> list[Quad]:
    """Everything a record says, records inside it included; nothing for a thing with a name."""
    if isinstance(node, Literal) or not is_record(node):
        return []
    mine = [quad for quad in held if quad[0] == node]
    return [*mine, *(inner for quad in mine for inner in _record(held, quad[2]))]


def _like(sample: Literal, value: Scalar) -> Literal:
    """A value written as its kind is written: whole numbers, decimals, texts, truth."""
    kind = sample.datatype
    if kind == XSD.boolean and isinstance(value, bool):
        return Literal("true" if value else "false", datatype=XSD.boolean)
    if kind in (XSD.decimal, XSD.integer) and not isinstance(value, (bool, str)):
        number = Decimal(value)
        if number != number.to_integral_value():
            return Literal(f"{number.normalize():f}", datatype=XSD.decimal)
        text = f"{number.quantize(Decimal(1)):f}"
        return Literal(text if kind == XSD.integer else f"{text}.0", datatype=kind)
    if kind in (None, XSD.string) and isinstance(value, str):
        return Literal(value)
    raise StandingRefused(f"“{value}” is not of the same sort as what is stated, “{sample}”")


def _drafted(
    data: Stated,
    signed: Signature,
    source: str | NewSource,
    added: list[LooseQuad],
    removed: Iterable[LooseQuad],
) -> ChangeSet:
    new = source.quads(signed.when) if isinstance(source, NewSource) else []
    return draft(
        who=signed.who,
        when=signed.when,
        why=signed.why,
        source=source.iri if isinstance(source, NewSource) else source,
        added=[*new, *added],
        removed=removed,
        base=version_of(data.quads()),
    )
