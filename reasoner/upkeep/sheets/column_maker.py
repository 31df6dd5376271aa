"""Columns made from the words of the vocabulary: label, unit, note and limits are the word's."""

from __future__ import annotations

from dataclasses import replace

from rdflib import RDFS, URIRef
from rdflib.namespace import SKOS

from ...terms import KO
from .columns import Column, Takes
from .vocabulary import ANYTHING, Limits, Vocabulary, Word

SOURCE = Column(
    "source",
    "source",
    Takes.NAME,
    "Who says so: a source of the catalogue or of the sheet “sources”. "
    "Left blank, the source named for the whole file.",
    of=("source",),
)
SHORT = Column(
    "short",
    "short name",
    Takes.TEXT,
    "Letters, figures and hyphens; used in addresses. Made from the name if left blank.",
)


def with_note(column: Column, note: str) -> Column:
    """The column with another note."""
    return replace(column, note=note)


class ColumnMaker:
    """Makes columns from the words of a vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary

    # ------------------------------------------------------------ columns
    def of(
        self,
        prop: URIRef,
        takes: Takes,
        note: str = "",
        *,
        of: tuple[str, ...] = (),
        label: str = "",
        required: bool = False,
        many: bool = False,
    ) -> Column:
        """A column of one property: label, unit and note are the vocabulary's."""
        word = self.vocabulary.word(prop)
        said = " ".join(filter(None, (word.note, note)))
        return Column(
            word.name,
            label or word.label,
            takes,
            said,
            of=of,
            unit=word.unit if takes is Takes.NUMBER else "",
            limits=self.limits(prop),
            required=required,
            many=many,
            prop=prop,
        )

    def limits(self, prop: URIRef) -> Limits:
        """What the shape of whatever carries the property asks of it."""
        carrier = {KO.price: KO.Part, KO.weight: KO.Part, KO.readTo: KO.Observation}.get(prop)
        return self.vocabulary.limits(carrier, prop) if carrier is not None else ANYTHING

    def new(self, cls: URIRef, key: str, note: str = "") -> Column:
        """The column with the name of a new thing of a class."""
        label = self.vocabulary.label(cls)
        about = self.vocabulary.graph.value(cls, RDFS.comment)
        said = " ".join(filter(None, (str(about or ""), note)))
        return Column(key, label, Takes.NEW, said, required=True, prop=SKOS.prefLabel)

    def value(self, word: Word) -> Column:
        """The column of one quantity: a number with its unit, a choice or a text."""
        takes = Takes.TEXT
        if word.number:
            takes = Takes.WHOLE if word.number == "whole" else Takes.NUMBER
        elif word.limits.one_of:
            takes = Takes.CHOICE
        return Column(
            word.name,
            word.label,
            takes,
            word.note,
            unit=word.unit,
            limits=word.limits,
            choices=word.limits.one_of,
            prop=word.iri,
            synonyms=word.synonyms,
        )

    def choices(self, cls: URIRef) -> tuple[str, ...]:
        """The labels of the vocabulary's own individuals of a class."""
        return tuple(map(self.vocabulary.label, self.vocabulary.members(cls)))

    def observation_kinds(self) -> tuple[str, ...]:
        """The kinds of observation that have no narrower ones."""
        graph = self.vocabulary.graph
        found = self.vocabulary.below(KO.Observation)
        leaves = [
            k for k in found if k != KO.Observation and not any(graph.subjects(RDFS.subClassOf, k))
        ]
        return tuple(sorted(map(self.vocabulary.label, leaves)))
