"""Names of cells become things, exactly: by IRI, part number or short name, label, or synonym.

Nothing is guessed. Case and spaces do not count; what is nearly a name is an error that says which
name is nearest.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field

from rapidfuzz import fuzz, process
from rdflib import RDF, RDFS, Literal, URIRef
from rdflib.namespace import SKOS
from rdflib.term import Node

from ...reading import Facts
from ...terms import KO, SCHEMA, local_name
from .vocabulary import Vocabulary

_TABLES = {
    KO.Station: "station",
    KO.Role: "role",
    KO.Family: "family",
    KO.Car: "car",
    KO.Generation: "generation",
    KO.Line: "line",
    KO.Source: "source",
    KO.Form: "form",
    KO.Operation: "operation",
    KO.MatchedSet: "set",
    KO.Body: "body",
    KO.Part: "part",
    SCHEMA.Organization: "maker",
}
_BY_NUMBER, _BY_LABEL, _BY_SYNONYM = 0, 1, 2
_TIERS = (_BY_NUMBER, _BY_LABEL, _BY_SYNONYM)
_NEAR_ENOUGH = 60


class NotFound(ValueError):
    """A name that is nobody's, or several things'; the text is the sentence for people."""


@dataclass(slots=True)
class Table:
    """The names of one sort of thing: for each tier of names, key to things."""

    word: str
    tiers: tuple[dict[str, list[URIRef]], ...] = field(
        default_factory=lambda: tuple({} for _ in _TIERS)
    )
    shown: dict[URIRef, str] = field(default_factory=dict)
    spelt: dict[str, str] = field(default_factory=dict)

    def add(
        self,
        iri: URIRef,
        shown: str,
        labels: Iterable[str] = (),
        synonyms: Iterable[str] = (),
        numbers: Iterable[str] = (),
    ) -> None:
        """Names for one thing; `shown` is what a template offers."""
        self.shown.setdefault(iri, shown)
        for tier, names in zip(
            _TIERS, ((local_name(iri), *numbers), labels, synonyms), strict=True
        ):
            for name in names:
                key = key_of(name)
                self.spelt.setdefault(key, name)
                things = self.tiers[tier].setdefault(key, [])
                if iri not in things:
                    things.append(iri)

    def word_for(self, iri: URIRef) -> str:
        """What a template calls a thing."""
        return self.shown.get(iri, local_name(iri))

    def find(self, name: str) -> list[URIRef]:
        """The things of that name; the strongest kind of name that anything has decides."""
        if name.startswith(("http://", "https://")):
            return [iri for iri in (URIRef(name),) if iri in self.shown]
        key = key_of(name)
        return next((tier[key] for tier in self.tiers if key in tier), [])


@dataclass(slots=True)
class Names:
    """Every name that a cell may hold, by table."""

    tables: dict[str, Table] = field(default_factory=dict)
    _near: dict[tuple[tuple[str, ...], str], str] = field(default_factory=dict)

    def table(self, name: str) -> Table:
        """One table, empty if nothing is known of its sort."""
        found = self.tables.get(name)
        if found is None:
            found = self.tables[name] = Table(name)
        return found

    def find(self, name: str, tables: tuple[str, ...]) -> URIRef:
        """The one thing of that name in any of the tables.

        Raises:
            NotFound: there is none (says which is nearest) or there are several.
        """
        found = sorted({iri for table in tables for iri in self.table(table).find(name)})
        if len(found) == 1:
            return found[0]
        if found:
            listed = ", ".join(sorted(map(local_name, found))[:6])
            raise NotFound(f"“{name}” is the name of several: {listed}; write which")
        word = " or ".join(tables)
        raise NotFound(f"no {word} is called “{name}”{self._nearest(name, tables)}")

    def _nearest(self, name: str, tables: tuple[str, ...]) -> str:
        """The nearest real name, as the end of a sentence."""
        cached = self._near.get((tables, name))
        if cached is not None:
            return cached
        names: dict[str, str] = {}
        for table in map(self.table, tables):
            for tier in table.tiers:
                for key, things in tier.items():
                    shown, spelt = table.shown[things[0]], table.spelt[key]
                    also = "" if key_of(shown) == key else f" ({shown})"
                    names.setdefault(key, f"{spelt}”{also}")
        said = _did_you_mean(key_of(name), names)
        if len(self._near) < 10_000:
            self._near[(tables, name)] = said
        return said


def _did_you_mean(key: str, names: dict[str, str]) -> str:
    if not names:
        return ""
    close = process.extractOne(key, list(names), scorer=fuzz.ratio, score_cutoff=_NEAR_ENOUGH)
    if close is not None:
        return f"; did you mean “{names[close[0]]}?"
    offered = sorted({name.partition("”")[0] for name in names.values()})
    return f"; there are {', '.join(offered)}" if len(offered) <= 8 else ""


def nearest(text: str, choices: Iterable[str]) -> str:
    """The nearest of some choices, as the end of a sentence; "" if none is near."""
    keys = {key_of(choice): choice for choice in choices}
    close = process.extractOne(key_of(text), list(keys), scorer=fuzz.ratio, score_cutoff=50)
    return f"; did you mean “{keys[close[0]]}”?" if close is not None else ""


def key_of(name: str) -> str:
    """Names that differ in case, spaces or form of their signs only are one.

    >>> key_of("  W4  Rear hub ")
    'w4 rear hub'
    """
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def names_of(facts: Facts, vocabulary: Vocabulary) -> Names:
    """Every name the catalogue and its vocabulary know."""
    labels: dict[Node, list[str]] = {}
    synonyms: dict[Node, list[str]] = {}
    numbers: dict[Node, list[str]] = {}
    types: dict[Node, list[Node]] = {}
    makers: set[Node] = set()
    texts = {SKOS.prefLabel: labels, RDFS.label: labels, SKOS.altLabel: synonyms,
             SCHEMA.mpn: numbers}  # fmt: skip
    for s, p, o in facts.sources:
        if isinstance(o, Literal):
            table = texts.get(p)  # type: ignore[call-overload]
            if table is not None:
                table.setdefault(s, []).append(str(o))
        elif p == RDF.type:
            types.setdefault(s, []).append(o)
        elif p == SCHEMA.manufacturer:
            makers.add(o)
    found = Names()
    families = {s for s, of in types.items() if KO.Family in of}
    seen = vocabulary.below(KO.Observation)
    sorts: dict[Node, str] = {**dict[Node, str](_TABLES.items()), **dict.fromkeys(families, "part"),
                              **dict.fromkeys(vocabulary.kinds, "end"),
                              **dict.fromkeys(seen, "observation")}  # fmt: skip
    for s in sorted({*types, *makers}, key=str):
        if isinstance(s, URIRef):
            of = types.get(s, [])
            tables = {sorts[cls] for cls in of if cls in sorts} | (
                {"maker"} if s in makers else set()
            )
            for table in sorted(tables):
                own = numbers.get(s, [])
                said = sorted(labels.get(s, []))
                shown = own[0] if own else said[0] if said else local_name(s)
                if table == "end":
                    shown = local_name(s)
                found.table(table).add(s, shown, said, synonyms.get(s, ()), own)
    return found
