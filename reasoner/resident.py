"""A catalogue that stays in memory with all that it is made of: an edit costs what it touches.

The facts are closed, checked and assembled once. After that each change is closed by itself
(`StandingClosure`), checked (`StandingCheck`) and assembled (`CatalogueChange`). The catalogue that
comes of it is a new value; whoever still reads the one before goes on reading it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager

from rdflib import OWL, RDF, RDFS, SH
from rdflib.term import Node

from .assemble import assemble_index
from .assemble_change import CatalogueChange, Near
from .backward import Backward
from .catalogue import Catalogue
from .collecting import without_collecting
from .errors import CatalogueRefused
from .facts_change import FactsChange, Said
from .index import FactIndex
from .lookups import LOOKUPS, kept_with
from .lookups_change import LookupsChange
from .place_rows import PlaceRows
from .reading import Facts, Triple
from .standing_check import StandingCheck
from .standing_closure import StandingClosure
from .terms import KO
from .validate import check_shapes


class Resident:
    """Facts, what follows from them, and the catalogue of both, kept up to date.

    The facts belong to it from now on: they change with every edit.
    """

    def __init__(
        self,
        version: str,
        facts: Facts,
        catalogue: Catalogue | None = None,
        new_in: str = "the edit",
    ) -> None:
        """Close and check `facts`, and make their catalogue, or take the one that was made of them.

        What edits state of new things is said to stand in the file `new_in`.

        Raises:
            CatalogueRefused: as by `load_catalogue`.
        """
        self._facts, self._new_in = facts, new_in
        self._rows = PlaceRows()
        self._homes: dict[Node, str] = {}
        self._is_torn = False
        self._begin(is_sound=catalogue is not None)
        self.catalogue = catalogue or self._assembled(version)

    def _begin(self, *, is_sound: bool = False) -> None:
        facts = self._facts
        with without_collecting():
            self._closure = StandingClosure(facts)
            derived = self._closure.derived(facts)
            if not is_sound:
                check_shapes(facts, derived)
            self._check = StandingCheck(facts, derived)
            self._index = FactIndex(facts, derived)
            self._backward = Backward(facts.sources, derived)
            self._derived = len(derived)

    def _assembled(self, version: str) -> Catalogue:
        with without_collecting():
            self._rows = PlaceRows()
            return assemble_index(version, self._index, len(self._facts.sources), self._derived)

    @property
    def facts(self) -> Facts:
        """What is stated now; only to be read, and only until the next change."""
        return self._facts

    def ready(self) -> None:
        """Work out now what the first change would otherwise wait for."""
        look = self.catalogue.lookups
        for name in LOOKUPS:
            look.table(name)
        self._rows.ready(self.catalogue)

    def change(
        self,
        version: str,
        added: Iterable[Said],
        removed: Iterable[Said],
        done: Callable[[str], None] = lambda _: None,
    ) -> Catalogue:
        """Make a change and give the catalogue that comes of it, of that version.

        Statements that are made already are not made twice; those that nobody makes are not missed.
        `done` is told of each stage when it is behind.

        Raises:
            CatalogueRefused: as by `load_catalogue`; everything is as it was before.
        """
        with without_collecting():
            if self._is_torn:
                self.catalogue = self._anew(self.catalogue.version)
            made = FactsChange(self._facts, self._index, added, removed, self._homes, self._new_in)
            # Should anything unforeseen happen half way, the next change begins from the facts.
            self._is_torn = True
            try:
                self.catalogue = self._follow(version, made, done)
            except CatalogueRefused:
                self._is_torn = False
                made.undo()
                raise
            except BaseException:
                made.undo()
                raise
            self._is_torn = False
            return self.catalogue

    @contextmanager
    def tried(
        self, version: str, added: Iterable[Said], removed: Iterable[Said]
    ) -> Iterator[Catalogue]:
        """Make a change for a while: inside, `facts` show it; afterwards all is as it was.

        None of `added` may be stated before, all of `removed` must be. Raises as `change`.
        """
        added, removed, before = tuple(added), tuple(removed), self.catalogue
        after = self.change(version, added, removed)
        try:
            yield after
        finally:
            self.change(before.version, removed, added)
            self.catalogue = before

    def take(self, catalogue: Catalogue) -> None:
        """Go on from a catalogue that equals the one at hand, such as its compiled file."""
        self.catalogue = catalogue

    def stated_in(self, places: Mapping[Node, str], texts: dict[str, str]) -> None:
        """In which files things are stated from now on, and the text of all files."""
        self._facts.files.update(places)
        self._facts.texts = texts

    def who_states(self, thing: Node) -> set[str]:
        """The sources that state something of a thing itself."""
        said = self._index.about(thing).values()
        return {source for objects in said for _, by in objects for source in by}

    def _follow(self, version: str, made: FactsChange, done: Callable[[str], None]) -> Catalogue:
        facts, before = self._facts, self.catalogue
        if not _is_ordinary(facts, made):
            return self._anew(version)
        derived, underived = self._closure.change(facts, made.added, made.removed)
        done("closed")
        added, removed = [*made.added, *made.resaid], [*made.removed, *made.resaid]
        try:
            self._check.change(facts, added, removed, derived, underived)
        except BaseException:
            made.undo()
            self._closure.change(facts, made.removed, made.added)
            raise
        done("checked")
        told = {s for group in (derived, underived) for s, p, _ in group if p != KO.endOf}
        near = Near(self._index, self._backward, made.things | told)
        self._reindex((*removed, *underived), added, derived)
        self._derived += len(derived) - len(underived)
        change = CatalogueChange(before, self._index, self._backward, near)
        if change.counts_otherwise:
            return self._assembled(version)
        after = change.catalogue(version, len(facts.sources), self._derived)
        done("assembled")
        looked_up = LookupsChange(before, after, change, self._backward, self._rows)
        done("looked up")
        return kept_with(after, looked_up.tables)

    def _reindex(
        self, gone: Iterable[Triple], stated: Iterable[Triple], derived: Iterable[Triple]
    ) -> None:
        index, sources = self._index, self._facts.sources
        index.remove_all(gone)
        index.add_all((triple, sources[triple]) for triple in stated)
        index.add_all((triple, ()) for triple in derived)
        self._backward.remove(gone)
        self._backward.add(stated)
        self._backward.add(derived)

    def _anew(self, version: str) -> Catalogue:
        """From scratch; all that is held stays as it was until the new is sound."""
        held = self.__dict__.copy()
        try:
            self._begin()
            return self._assembled(version)
        except BaseException:
            self.__dict__.update(held)
            raise


_OF_FAMILIES = frozenset({OWL.onProperty, OWL.hasValue})
_OF_CLASSES = frozenset({OWL.Class, OWL.Restriction, OWL.NamedIndividual})
_VOCABULARIES = (str(OWL), str(RDFS), str(SH))
_LABELS = frozenset({RDFS.label, RDFS.comment, RDFS.seeAlso})
_WORDS = frozenset({KO.ValueProperty, KO.RecordProperty})


def _is_ordinary(facts: Facts, made: FactsChange) -> bool:
    """Whether a change says nothing of the vocabulary, nor takes away who vouches for facts."""
    families = {s for s, p, o in made.removed if p == RDF.type and o == KO.Family}
    for s, p, o in (*made.added, *made.removed, *made.resaid):
        if str(s).startswith(str(KO)) or p in (RDF.first, RDF.rest):
            return False
        if p == RDF.type:
            if o in _WORDS or (str(o).startswith(_VOCABULARIES) and o not in _OF_CLASSES):
                return False
        elif p == RDFS.subClassOf:
            if s not in families and (s, RDF.type, KO.Family) not in facts.sources:
                return False
        elif str(p).startswith(_VOCABULARIES) and p not in _OF_FAMILIES and p not in _LABELS:
            return False
    return not any(p == RDF.type and o == KO.Source for _, p, o in made.removed)
