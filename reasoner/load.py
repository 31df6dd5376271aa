"""From files to a catalogue that may be served: read, close, check, assemble; remember the result.

What took long to close and check is compiled into one file (see `compiled`) in the user's own cache
folder, under the fingerprint of every file that went in, so an unchanged catalogue starts at once
and a changed one never serves an old answer.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import suppress
from importlib import resources
from pathlib import Path
from typing import TypeAlias

import platformdirs

from .cache_files import forget_the_oldest, is_own, reasoner_stamp
from .catalogue import Catalogue
from .compiled import open_compiled, write_changed, write_compiled
from .files import TextFile, catalogue_files, fingerprint, folder_files, is_store
from .seen import listing, remember_seen, seen_version
from .shelf import BookUnusable

_FORMAT = "3"
"""Changes when what is kept changes its shape."""

_KEPT = 20
"""How many compiled catalogues stay in the cache at most …"""

_KEPT_BYTES = 4 << 30
"""… and how large they may be together; the two newest stay in any case."""


def ontology_folder() -> Path:
    """The vocabulary that comes with knockon."""
    return Path(str(resources.files("knockon.ontology")))


def demo_folder() -> Path:
    """The invented demo catalogue that comes with knockon."""
    return Path(str(resources.files("knockon.data")))


def default_cache() -> Path:
    """Where closed catalogues are remembered; `KNOCKON_CACHE` names another folder."""
    named = os.environ.get("KNOCKON_CACHE")
    return Path(named) if named else Path(platformdirs.user_cache_dir("knockon", appauthor=False))


def load_catalogue(data: Path | None = None, cache: Path | None = None) -> Catalogue:
    """The catalogue in folder `data` (the demo by default), checked and closed.

    `data` holds either text files or a store.

    Raises:
        CatalogueFileError: a file cannot be read or parsed, or the store cannot be opened.
        CatalogueRefused: the data breaks a shape or contradicts itself.
    """
    version, read = stated(data, cache)
    return _recall(_kept(version, cache)) or load_texts(*read(), cache)


def load_texts(version: str, files: tuple[TextFile, ...], cache: Path | None = None) -> Catalogue:
    """The catalogue that `files` state, remembered. Raises `CatalogueRefused`."""
    kept = _kept(version, cache)
    return _recall(kept) or _remember(kept, build_catalogue(version, files))


Texts: TypeAlias = tuple[str, tuple[TextFile, ...]]
"""The version of a catalogue and its files, the vocabulary among them."""


def stated(data: Path | None = None, cache: Path | None = None) -> tuple[str, Callable[[], Texts]]:
    """The version of what `data` states (the demo by default), and a way to read it.

    Text that looks untouched since it was last read is not read for that (see `seen`). Files and
    stores may have moved on until they are read; what is read says its own version.

    Raises:
        CatalogueFileError: a file cannot be read, or the store cannot be opened.
    """
    folder, ontology_is = data or demo_folder(), ontology_folder()
    if not is_store(folder):
        return _stated_in_text(ontology_is, folder, cache or default_cache())
    from .upkeep.store import stored_files, stored_version

    ontology = folder_files(ontology_is, is_ontology=True)

    def read() -> Texts:
        now, facts = stored_files(folder)
        return version_in_store(ontology, now), (*ontology, *facts)

    return version_in_store(ontology, stored_version(folder)), read


def _stated_in_text(ontology: Path, folder: Path, cache: Path) -> tuple[str, Callable[[], Texts]]:
    listed = listing((ontology, folder))
    version = None if listed is None else seen_version(listed, folder, cache)

    def read() -> Texts:
        files = catalogue_files(ontology, folder)
        return fingerprint(files), files

    if version is not None:
        return version, read
    now = read()
    if listed is not None:
        remember_seen(listed, now[0], folder, cache)
    return now[0], lambda: now


def version_in_store(ontology: tuple[TextFile, ...], facts: str) -> str:
    """The version of a catalogue of this vocabulary and a store's version of the facts."""
    return fingerprint((*ontology, TextFile("store", facts, ontology=False)))


def build_catalogue(version: str, files: tuple[TextFile, ...]) -> Catalogue:
    """Close, check and assemble without any cache. Raises as `load_catalogue`."""
    # Only this path needs the RDF machinery; a warm start does without importing it.
    from .assemble import assemble
    from .closure import close
    from .reading import read_facts
    from .validate import check_shapes

    facts = read_facts(files)
    derived = close(facts)
    check_shapes(facts, derived)
    return assemble(version, facts, derived)


def remember_changed(catalogue: Catalogue, cache: Path | None = None) -> Catalogue:
    """Keep a catalogue that was made by changing another, as if it had been loaded."""
    kept = _kept(catalogue.version, cache)
    return _recall(kept) or _remember(kept, catalogue, write_changed)


def _kept(version: str, cache: Path | None) -> Path:
    return (cache or default_cache()) / f"{version[:32]}-{reasoner_stamp(_FORMAT)}.catalogue"


def _recall(kept: Path) -> Catalogue | None:
    # Rows are pickles, read only from the user's own cache folder, which nobody else may write to;
    # anyone who can write there can already run code as the user. Damage means: build it again.
    try:
        if not is_own(kept):
            return None
        found = open_compiled(kept)
    except (OSError, BookUnusable):
        return None
    with suppress(OSError):
        os.utime(kept)  # what is used stays
    return found


def _remember(
    kept: Path,
    catalogue: Catalogue,
    write: Callable[[Catalogue, Path], None] = write_compiled,
) -> Catalogue:
    """The catalogue as it was kept, so that what was made of text need not stay in memory."""
    try:
        write(catalogue, kept)
        forget_the_oldest(kept.parent, "*.catalogue", _KEPT, _KEPT_BYTES)
    except OSError:
        return catalogue  # a cache that cannot be written costs time, never an answer
    return _recall(kept) or catalogue
