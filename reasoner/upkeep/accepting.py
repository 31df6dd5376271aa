"""Accept an edit into a catalogue, text or store: looked at first, and then whole or not at all."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path

from rdflib import URIRef

from ..catalogue import Catalogue
from ..errors import CatalogueRefused
from ..files import TextFile, catalogue_files, fingerprint, folder_files, is_store
from ..load import load_texts, ontology_folder, remember_changed, version_in_store
from .at_hand import AtHand
from .changes import ChangeRefused, ChangeSet, apply, draft, from_lines
from .history import Entry
from .quads import Quad, moved
from .shelf import Outrun
from .store import CatalogueStore, read, stated_in, writing
from .text import EDITS, edit_text, statements_in, text_files, write_edit

_TRIES = 3
_SOURCES = "https://knockon.example/source/"


def draft_from_json(text: str) -> ChangeSet:
    """The one change set in a JSON text. Raises `ChangeRefused` if there is not just one."""
    found = from_lines(text)
    if len(found) != 1:
        raise ChangeRefused(f"the file holds {len(found)} change sets; accept them one by one")
    return found[0]


def draft_from_files(
    folder: Path,
    adding: Path,
    taking_away: Path | None,
    who: str,
    when: datetime,
    why: str,
    source: str,
    base: str = "now",
) -> ChangeSet:
    """A change set from files of statements.

    `source` is an IRI, or the name of a source; it states what stands outside any graph.

    Raises:
        ChangeRefused, NotAStatement: a file cannot be read, or states what cannot be.
        CatalogueFileError: the catalogue cannot be opened, or has no such version.
    """
    graph = source if ":" in source else _SOURCES + source
    if is_store(folder):
        version = read(folder, lambda store: store.version_at(store.point(base)))
    else:
        version = stated_in(folder)[0] if base == "now" else base
    removed = statements_in(taking_away, graph) if taking_away else ()
    added = statements_in(adding, graph)
    return draft(who, when, why, str(URIRef(graph)), added, removed, version)


def accept(
    folder: Path,
    change: ChangeSet,
    check: bool = True,
    cache: Path | None = None,
    hand: AtHand | None = None,
) -> str:
    """Make an edit part of a catalogue; what became of it, in a line for people.

    With `check`, the catalogue with the edit is closed and checked, and remembered, so that it is
    served at once. Nobody is kept waiting meanwhile: if others were quicker, it is done again.
    A store whose catalogue is at `hand`, of the same version, is closed and checked by that.

    Raises:
        CatalogueRefused: the catalogue could not be served with the edit; nothing was changed.
        ChangeConflicts, ChangeRefused, NotAStatement: see `CatalogueStore.accept`.
        CatalogueFileError: the catalogue cannot be opened.
    """
    if not is_store(folder):
        return f"written as {_accept_as_text(folder, change, check, cache)}"
    if check and hand is not None and (made := _accept_at_hand(folder, change, cache, hand)):
        return _told(made)
    for _ in range(_TRIES):
        looked_at = _look(folder, change, cache) if check else None
        with suppress(Outrun), writing(folder) as store:
            if looked_at in (None, store.version):
                return _told(store.accept(change))
    raise ChangeRefused("others keep changing the catalogue; nothing was accepted, try again")


def _told(made: Entry) -> str:
    return (
        f"change {made.number}, {made.id}: +{made.added} −{made.removed}, version {made.after[:12]}"
    )


def _accept_at_hand(
    folder: Path, change: ChangeSet, cache: Path | None, hand: AtHand
) -> Entry | None:
    """Accept by what is at hand; None where that is another version, or would refuse it.

    Why it is refused is told by who reads it all anew: then each place is right.
    """
    before, left = read(folder, lambda store: (store.version, store.conflicts_of(change)[0]))
    if before != hand.version:
        return None
    try:
        with _following(folder, left, cache, hand), writing(folder) as store:
            if store.version != before:
                raise Outrun("others were quicker")
            return store.accept(change)
    except (CatalogueRefused, Outrun):
        return None


def follow(
    folder: Path, made: Entry, change: ChangeSet, hand: AtHand, cache: Path | None = None
) -> None:
    """Bring what is at hand up to date with an edit that went live, and keep what comes of it.

    If it cannot be, it stays as it was: who loads the catalogue next is told why.
    """
    if made.before == hand.version:
        with suppress(CatalogueRefused), _following(folder, change, cache, hand):
            pass


@contextmanager
def _following(
    folder: Path, change: ChangeSet, cache: Path | None, hand: AtHand
) -> Iterator[Catalogue]:
    """The catalogue of a store with one more edit, by what is at hand, compiled for all to read.

    Inside the block the edit goes live, or is live already; if that fails it is taken back.

    Raises:
        CatalogueRefused: the catalogue could not be served with the edit.
    """
    after = moved(hand.version, change.added, change.removed)
    ontology = folder_files(ontology_folder(), is_ontology=True)
    with hand.accepting(change, version_in_store(ontology, after), folder) as catalogue:
        kept = remember_changed(catalogue, cache)
        yield kept
    hand.goes_on_from(kept)


def _look(folder: Path, change: ChangeSet, cache: Path | None) -> str:
    """Check the catalogue as it would be; the version of the store it was checked for."""

    def ask(store: CatalogueStore) -> tuple[str, ChangeSet, frozenset[Quad]]:
        left, _ = store.conflicts_of(change)
        return store.version, left, apply(frozenset(store.quads()), left)

    before, left, quads = read(folder, ask)
    after = moved(before, left.added, left.removed)
    ontology = folder_files(ontology_folder(), is_ontology=True)
    facts = text_files(quads, folder.resolve().name)
    _check(version_in_store(ontology, after), (*ontology, *facts), cache)
    return before


def _accept_as_text(folder: Path, change: ChangeSet, check: bool, cache: Path | None) -> Path:
    text = edit_text(folder, change)
    if check:
        new = TextFile(f"{folder.resolve().name}/{EDITS}/{change.id}.trig", text, ontology=False)
        files = (*catalogue_files(ontology_folder(), folder), new)
        _check(fingerprint(files), files, cache)
    return write_edit(folder, change.id, text)


def _check(version: str, files: tuple[TextFile, ...], cache: Path | None) -> None:
    try:
        load_texts(version, files, cache)
    except CatalogueRefused as refused:
        raise CatalogueRefused(
            "With this edit the catalogue could not be served; nothing was accepted.",
            refused.faults,
        ) from None
