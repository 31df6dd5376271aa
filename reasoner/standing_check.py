"""A check that stays: of a catalogue that changes, only what a change touches is checked again.

Everything that `validate.check_shapes` refuses is refused here too, in the same words, and nothing
else. What is there is taken to be sound, for it was checked when it came.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator

from rdflib import RDF, URIRef
from rdflib.term import Node

from .collecting import without_collecting
from .errors import Fault
from .grouped import Grouped, by_property
from .links import Links
from .reading import Facts, Triple
from .screen import find_suspects, shape_book, who_looks_at
from .sense import SENSE_PREDICATES, PartNumbers, check_sense_of
from .statements import Finding, Vocabulary, check_these, without_source
from .terms import KO, SCHEMA
from .validate import broken_by, refuse


class StandingCheck:
    """What shapes, statements and sense need to know of a catalogue, kept up to date.

    `facts` are sound, with all that follows from them (`derived`). The vocabulary, its shapes and
    its classes stay as they are: after a change of those make another check.
    """

    def __init__(self, facts: Facts, derived: Iterable[Triple]) -> None:
        with without_collecting():
            stated, follows = by_property(facts.sources), by_property(derived)
            self.book = shape_book(facts)
            self._aimed_at = {p for s in self.book.screens for p in s.targets.objects_of}
            self._links = self.book.links(stated, follows)
            self._stated = Links(SENSE_PREDICATES)
            self._stated.add(stated)
            self._vocabulary = Vocabulary()
            self._vocabulary.add_words(facts, stated)
            self._vocabulary.add(stated)
            # What follows of kinds are the wider kinds of what is stated: one table serves both.
            self._vocabulary.types = self._links.types()
            self._uses: Counter[Node] = Counter(o for _, _, o in facts.sources if type(o) is URIRef)
            self._makers: dict[Node, list[Node]] = {}
            self._numbers = PartNumbers()
            self._note_makers((stated, follows), self._stated.table(SCHEMA.mpn))
            numbered = sorted(self._stated.table(SCHEMA.mpn), key=str)
            list(self._note_numbers(facts, numbered))

    def change(
        self,
        facts: Facts,
        added: Collection[Triple] = (),
        removed: Collection[Triple] = (),
        derived: Collection[Triple] = (),
        underived: Collection[Triple] = (),
    ) -> None:
        """Check a change that `facts` show already.

        `added` are statements that nobody made before and somebody makes now, `removed` those that
        nobody makes any more, `derived` what follows and did not, `underived` what followed and
        does not. What was derived and is stated now is in `added` and in `underived`.

        Raises:
            CatalogueRefused: as by `check_shapes`; the check is then as it was before.
        """
        groups = [by_property(g) for g in (added, removed, derived, underived)]
        before = self._existing(added, derived)
        self._apply(facts, *groups)
        try:
            self._refuse_if_broken(facts, groups, before)
        except BaseException:
            self._apply(facts, groups[1], groups[0], groups[3], groups[2])
            raise

    def _existing(self, *groups: Collection[Triple]) -> set[Node]:
        types = self._links.types()
        return {s for group in groups for s, _, _ in group if s in types}

    def _apply(
        self, facts: Facts, added: Grouped, removed: Grouped, derived: Grouped, underived: Grouped
    ) -> None:
        parts = self._parts_concerned(added, removed, derived, underived)
        numbers, makers = self._stated.table(SCHEMA.mpn), self._makers
        self._numbers.drop(parts, numbers, makers)
        for links in (self._links, self._stated):
            links.remove(removed)
            links.add(added)
        self._links.remove(underived)
        self._links.add(derived)
        self._uses.subtract(_named_objects(removed))
        self._uses.update(_named_objects(added))
        self._vocabulary.remove({p: g for p, g in removed.items() if p != RDF.type})
        self._vocabulary.add({p: g for p, g in added.items() if p != RDF.type})
        for group in (removed, underived):
            for s, _, o in group.get(SCHEMA.manufacturer, ()):
                self._makers[s] = [m for m in self._makers.get(s, ()) if m != o]
        self._note_makers((added, derived), parts)
        self._twice = tuple(self._note_numbers(facts, sorted(parts, key=str)))

    def _parts_concerned(self, *groups: Grouped) -> set[Node]:
        return {
            s for g in groups for p in (SCHEMA.mpn, SCHEMA.manufacturer) for s, _, _ in g.get(p, ())
        }

    def _note_makers(self, groups: tuple[Grouped, Grouped], parts: Collection[Node]) -> None:
        for group in groups:
            for s, _, o in group.get(SCHEMA.manufacturer, ()):
                if s in parts:
                    self._makers.setdefault(s, []).append(o)

    def _note_numbers(self, facts: Facts, parts: Iterable[Node]) -> Iterable[Fault]:
        return self._numbers.add(facts, parts, self._stated.table(SCHEMA.mpn), self._makers)

    def _refuse_if_broken(self, facts: Facts, groups: list[Grouped], before: set[Node]) -> None:
        added, removed, _, underived = groups
        changed = {s for g in groups for group in g.values() for s, _, _ in group}
        changed |= {o for g in groups for p in self._aimed_at for _, _, o in g.get(p, ())}
        changed |= _owners(facts, changed)
        gone = (t for g in (removed, underived) for group in g.values() for t in group)
        known = before | {s for s, _, _ in gone}
        retyped = {s for g in groups for s, _, _ in g.get(RDF.type, ()) if s in known}
        lookers = who_looks_at(self.book, self._links, retyped, changed & known)
        suspects = find_suspects(self.book, self._links, changed | lookers)
        broken = list(broken_by(suspects, self.book, self._links, facts))
        untyped = self._untyped(facts, removed, underived)
        said_by = [facts.sources[t] for group in added.values() for t in group]
        refuse(
            facts,
            broken,
            self._statements(facts, added, untyped, said_by),
            (*self._twice, *check_sense_of(facts, self._stated.table, changed)),
        )

    def _untyped(self, facts: Facts, removed: Grouped, underived: Grouped) -> set[Node]:
        """What is no longer of some kind that may be wanted of it, and is still spoken of."""
        gone: dict[Node, set[Node]] = {}
        for group in (removed, underived):
            for s, _, o in group.get(RDF.type, ()):
                gone.setdefault(s, set()).add(o)
        types, above = self._vocabulary.types, self._vocabulary.above
        return {
            s
            for s, kinds in gone.items()
            if (s in facts.files or self._uses[s])
            and not _wanted_kinds(above, kinds) <= _wanted_kinds(above, types.get(s, ()))
        }

    def _statements(
        self, facts: Facts, added: Grouped, untyped: set[Node], said_by: list[tuple[str, ...]]
    ) -> Iterable[Finding]:
        yield from without_source(facts)
        yield from check_these(facts, added, self._vocabulary, said_by)
        if untyped:
            # Whoever uses what is no longer stated may stand anywhere.
            left = by_property(
                t
                for t in facts.sources
                if t[0] in untyped or (type(t[2]) is URIRef and t[2] in untyped)
            )
            new = {t for group in added.values() for t in group}
            others = {p: [t for t in group if t not in new] for p, group in left.items()}
            yield from check_these(facts, others, self._vocabulary, ())


def _owners(facts: Facts, things: Collection[Node]) -> set[Node]:
    """Whose records things are, and whose those are: what a record says is said of its owner."""
    found: set[Node] = set()
    for thing in things:
        while thing in facts.owners and thing not in found:
            thing = facts.owners[thing]
            found.add(thing)
    return found


def _named_objects(groups: Grouped) -> Iterator[Node]:
    return (o for group in groups.values() for _, _, o in group if type(o) is URIRef)


def _wanted_kinds(above: Callable[[Node], frozenset[Node]], kinds: Iterable[Node]) -> set[Node]:
    """The kinds, with all above them, that the vocabulary may want of a thing."""
    return {k for kind in kinds for k in above(kind) if str(k).startswith(str(KO))}
