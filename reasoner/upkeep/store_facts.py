"""What a store states as facts, without writing it out as text and reading that."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from rdflib.term import BNode, Node

from ..collecting import without_collecting
from ..files import folder_files
from ..load import ontology_folder
from ..reading import Facts, read_facts
from .preview_edit import THE_EDIT, as_read
from .quads import Quad
from .store import CatalogueStore, read, stored_files
from .text import file_of


class Later(dict[str, str]):
    """The texts of files that are only written out when one is asked for."""

    def __init__(self, write: Callable[[], dict[str, str]]) -> None:
        super().__init__()
        self._write: Callable[[], dict[str, str]] | None = write

    def get(self, key: str, default: Any = None) -> Any:
        """As of any mapping."""
        if self._write is not None:
            write, self._write = self._write, None
            self.update(write())
        return super().get(key, default)


def texts_of(folder: Path) -> Later:
    """The texts of the vocabulary and of a store's export, to tell lines by."""
    ontology = folder_files(ontology_folder(), is_ontology=True)

    def write() -> dict[str, str]:
        return {file.name: file.text for file in (*ontology, *stored_files(folder)[1])}

    return Later(write)


def facts_in_store(folder: Path) -> tuple[str, Facts]:
    """The version of what a store states, and that beside the vocabulary.

    Records are as edits name them, and things stand in the files of the store's export.

    Raises:
        CatalogueFileError: the store cannot be opened.
    """
    words = read_facts(folder_files(ontology_folder(), is_ontology=True))
    texts, name = texts_of(folder), folder.resolve().name

    def ask(store: CatalogueStore) -> tuple[str, Facts]:
        # Anew each time: an endpoint may be asked twice.
        facts = Facts(dict(words.sources), dict(words.files), texts, [], dict(words.owners))
        _take(facts, store.quads(), name)
        return store.version, facts

    with without_collecting():
        return read(folder, ask)


def _take(facts: Facts, quads: Iterable[Quad], folder: str) -> None:
    """Add what a store states. Everything here happens millions of times."""
    sources, files, owners = facts.sources, facts.files, facts.owners
    known: dict[Node, Node] = {}
    said: dict[tuple[str, ...], tuple[str, ...]] = {}

    def term(node: Node) -> Node:
        found = known.get(node)
        if found is None:
            found = known[node] = as_read(node)
        return found

    for s, p, o, graph in quads:
        subject, value = term(s), term(o)
        triple = (subject, term(p), value)
        had = sources.get(triple)
        by = (str(graph),) if had is None else tuple(sorted({*had, str(graph)}))
        sources[triple] = said.setdefault(by, by)
        if type(value) is BNode:
            owners[value] = subject
        if type(subject) is BNode:
            files.setdefault(subject, THE_EDIT)
        else:
            file = file_of(s, graph, folder)
            files[subject] = min(file, files.get(subject, file))
