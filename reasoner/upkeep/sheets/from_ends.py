"""Rows of the sheets of the interface kinds as ends of families and parts.

One end may take several rows: a record in each (a profile's steps, a plug's contacts), or an owner
in each. So the rows are gathered first, and stated when the sheet is at its end.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from rdflib import RDF, Literal, URIRef
from rdflib.term import Node

from ...terms import local_name
from .columns import Takes
from .defining import SPACE, slug
from .desk import Desk, NewFamily
from .from_parts import give
from .rows import Record
from .statements import decimal, text, whole
from .vocabulary import KindWords, Word
from .words import KO


@dataclass(slots=True)
class _End:
    """One end as its rows have it so far."""

    first: Record
    role: URIRef
    side: URIRef | None = None
    form: URIRef | None = None
    values: dict[URIRef, tuple[Literal, URIRef, int]] = field(default_factory=dict)
    records: dict[URIRef, dict[tuple[tuple[URIRef, Literal], ...], URIRef]] = field(
        default_factory=dict
    )
    owners: dict[URIRef, URIRef] = field(default_factory=dict)


@dataclass(slots=True)
class EndsOfKind:
    """Gathers the ends of one kind from its sheet."""

    kind: KindWords
    desk: Desk
    ends: dict[URIRef, _End] = field(default_factory=dict)

    def row(self, record: Record) -> None:
        """One row."""
        desk, kind = self.desk, self.kind
        owner, role, who = record.name("owner"), record.name("role"), desk.who(record)
        form, side = record.name("form"), self._side(record)
        if role is not None and kind.iri not in desk.statements.known(role, KO.kind):
            kinds = [desk.vocabulary.label(k) for k in desk.statements.known(role, KO.kind)]
            record.fault(
                "role", f"a role of the kind {' or '.join(kinds)}, which has its own sheet"
            )
        name = record.text("end")
        values = [(w.iri, v) for w in kind.values if (v := value_of(record, w)) is not None]
        stated = [(w, self._record(record, fields)) for w, fields in kind.records]
        if owner is None or role is None or who is None or not record.ok:
            return
        tail = slug(name) if name else f"{local_name(owner)}-{local_name(role)}"
        iri = next(iter(desk.names.table("end").find(name)), None) if name else None
        iri = iri or URIRef(f"{SPACE}end/{tail}")
        end = self.ends.setdefault(iri, _End(record, role))
        self._same(record, end, "role", end.role, role)
        end.side = end.side or side
        end.form = end.form or form
        if side is not None:
            self._same(record, end, "side", end.side, side)
        if form is not None:
            self._same(record, end, "form", end.form, form)
        for prop, value in values:
            before, _, row = end.values.setdefault(prop, (value, who, record.number))
            if before != value:
                self._twice(record, local_name(prop), row)
        for word, said in stated:
            if said:
                end.records.setdefault(word.iri, {}).setdefault(said, who)
        end.owners.setdefault(owner, who)
        desk.names.table("end").add(iri, tail)
        desk.new_roles[iri], desk.new_kinds[iri] = end.role, kind.iri
        self._note_owner(owner, iri)

    def _note_owner(self, owner: URIRef, iri: URIRef) -> None:
        if self._is_family(owner):
            self.desk.families.setdefault(owner, NewFamily()).ends.add(iri)
        else:
            self.desk.own_ends.setdefault(owner, set()).add(iri)

    def _is_family(self, owner: URIRef) -> bool:
        return owner in self.desk.names.table("family").shown

    def _same(self, record: Record, end: _End, key: str, before: Node | None, now: Node) -> None:
        if before != now:
            self._twice(record, key, end.first.number)

    def _twice(self, record: Record, key: str, row: int) -> None:
        record.fault(
            key,
            f"row {row} says otherwise of the same end; "
            "two ends of one role need names in the column “end”",
        )

    def _side(self, record: Record) -> URIRef | None:
        if not self.kind.sides:
            return None
        said = record.choice("side")
        labels = {self.desk.vocabulary.label(s): s for s in self.kind.sides}
        return labels.get(said)

    def _record(
        self, record: Record, fields: tuple[Word, ...]
    ) -> tuple[tuple[URIRef, Literal], ...]:
        said = [(w.iri, v) for w in fields if (v := value_of(record, w)) is not None]
        if said:
            for word in fields:
                # Numbers make the record what it is; a word such as a contact's function may lack.
                if word.number and not record.has(word.name):
                    record.fault(word.name, "blank, though the row states the rest of the record")
        return tuple(said)

    def state(self) -> None:
        """State every end that the rows made up."""
        for iri, end in self.ends.items():
            if self._serves(iri, end):
                self._say(iri, end)

    def _serves(self, iri: URIRef, end: _End) -> bool:
        empty = not (end.values or end.records or end.form or end.side)
        known = self.desk.statements.known_at_all(iri)
        if known and not empty:
            end.first.fault(
                "end",
                f"the end {local_name(iri)} is in the catalogue already; leave the values blank to "
                "give it to another family, or name a new one; measured values go on “values”",
            )
        elif known and end.role not in self.desk.statements.known(iri, KO.role):
            end.first.fault("role", f"the end {local_name(iri)} has another role")
        elif not known and self.kind.sides and end.side is None:
            sides = ", ".join(map(self.desk.vocabulary.label, self.kind.sides))
            end.first.fault("side", f"blank; a new end needs one of {sides}")
        return end.first.ok

    def _say(self, iri: URIRef, end: _End) -> None:
        say = self.desk.statements.say
        who = next(iter(end.owners.values()))
        if not self.desk.statements.known_at_all(iri):
            say(iri, RDF.type, self.kind.iri, who)
            say(iri, KO.role, end.role, who)
            for prop, thing in ((KO.side, end.side), (KO.form, end.form)):
                if thing is not None:
                    say(iri, prop, thing, who)
        for prop, (value, source, _) in end.values.items():
            say(iri, prop, value, source)
        for prop, listed in end.records.items():
            for said, source in listed.items():
                node = self.desk.statements.record(source, *said, of=f"{iri} {prop}")
                say(iri, prop, node, source)
        for owner, source in end.owners.items():
            if self._is_family(owner):
                give(self.desk, owner, KO.hasEnd, iri, source)
            else:
                say(owner, KO.ownEnd, iri, source)


def value_of(record: Record, word: Word) -> Literal | None:
    """The value of one quantity in its own column."""
    takes = record.columns[word.name].takes
    if takes is Takes.NUMBER:
        number = record.number_in(word.name)
        return None if number is None else decimal(number)
    if takes is Takes.WHOLE:
        count = record.whole(word.name)
        return None if count is None else whole(count)
    said = record.choice(word.name) if takes is Takes.CHOICE else record.text(word.name)
    return text(said) if said else None
