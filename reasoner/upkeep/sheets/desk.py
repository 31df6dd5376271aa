"""What every sheet's reading shares: names, statements, faults, and who says so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from rdflib import RDFS, Literal, URIRef
from rdflib.term import Node

from ...supply import StockItem
from .defining import Defined
from .faults import FaultList
from .names import Names
from .rows import Record
from .statements import Statements
from .vocabulary import Vocabulary
from .words import KO


@dataclass(slots=True)
class NewFamily:
    """A family that the file brings, or what it adds to one of the catalogue."""

    parents: tuple[URIRef, ...] = ()
    stations: tuple[URIRef, ...] = ()
    ends: set[URIRef] = field(default_factory=set)


@dataclass(slots=True)
class Desk:
    """The state of one reading."""

    vocabulary: Vocabulary
    names: Names
    statements: Statements
    faults: FaultList
    defined: Defined
    source: URIRef | None = None
    families: dict[Node, NewFamily] = field(default_factory=dict)
    part_family: dict[Node, URIRef] = field(default_factory=dict)
    own_ends: dict[Node, set[URIRef]] = field(default_factory=dict)
    new_roles: dict[URIRef, URIRef] = field(default_factory=dict)
    new_kinds: dict[URIRef, URIRef] = field(default_factory=dict)
    stock: list[StockItem] = field(default_factory=list)
    observation_sorts: dict[URIRef, Node] = field(default_factory=dict)
    observation_units: dict[URIRef, str] = field(default_factory=dict)
    observation_words: dict[URIRef, set[str]] = field(default_factory=dict)
    rows_of_rules: dict[Node, int] = field(default_factory=dict)
    stated: dict[tuple[Node, Node, Node], tuple[Literal, str, int]] = field(default_factory=dict)

    def subject(self, record: Record) -> URIRef | None:
        """The thing that a defining row is about; None where the row has a fault already."""
        found = self.defined.by_row.get((record.sheet, record.number))
        if found is None:
            record.ok = False
        return found

    def who(self, record: Record) -> URIRef | None:
        """The source of a row: its own, else the file's; a fault where there is neither."""
        if record.has("source"):
            return record.name("source")
        if self.source is None:
            record.fault("source", "blank, and no source is named for the whole file: who says so?")
        return self.source

    def wider(self, family: Node) -> list[Node]:
        """A family and every wider one."""
        found: list[Node] = []
        waiting = [family]
        while waiting:
            node = waiting.pop()
            if node not in found and isinstance(node, URIRef):
                found.append(node)
                waiting += self.statements.known(node, RDFS.subClassOf)
                waiting += self.families[node].parents if node in self.families else ()
        return found

    def families_of(self, owner: Node) -> list[Node]:
        """A part's families with all wider ones, or a family with its wider ones."""
        own = self.part_family.get(owner)
        nearest: Iterable[Node] = [own] if own else self.statements.families_of(owner)
        if owner in self.names.table("family").shown:
            nearest = [owner]
        return list(dict.fromkeys(f for n in nearest for f in self.wider(n)))

    def stations_of(self, part: Node) -> set[URIRef]:
        """Where a part may sit."""
        found: set[URIRef] = {o for o in self.statements.known(part, KO.sitsAt) if _iri(o)}  # type: ignore[misc]
        for family in self.families_of(part):
            found |= set(self.statements.restricted(family, KO.sitsAt))
            found |= set(self.families[family].stations if family in self.families else ())
        return found

    def ends_of(self, owner: Node) -> dict[URIRef, set[URIRef]]:
        """Role → ends of a part or family; a part's own ends win over its families'."""
        own = set(self.own_ends.get(owner, ()))
        own |= {o for o in self.statements.known(owner, KO.ownEnd) if isinstance(o, URIRef)}
        theirs: set[URIRef] = set()
        for family in self.families_of(owner):
            theirs |= set(self.statements.restricted(family, KO.hasEnd))
            theirs |= self.families[family].ends if family in self.families else set()
        found: dict[URIRef, set[URIRef]] = {}
        for end in sorted(own):
            found.setdefault(self.role_of(end), set()).add(end)
        mine = set(found)
        for end in sorted(theirs):
            role = self.role_of(end)
            if role not in mine:
                found.setdefault(role, set()).add(end)
        return found

    def role_of(self, end: URIRef) -> URIRef:
        """What an end is there to meet."""
        known = self.statements.known(end, KO.role)
        return self.new_roles.get(end) or next((r for r in known if _iri(r)), URIRef(""))  # type: ignore[return-value]


def _iri(node: Node) -> bool:
    return isinstance(node, URIRef)
