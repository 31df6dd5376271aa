"""From files to a catalogue that may be served: read, close, check, assemble; remember the result.

What took seconds to close and check is kept in the user's own cache folder under the fingerprint
of every file that went in, so an unchanged catalogue starts at once and a changed one never
serves an old answer.
"""

from __future__ import annotations

import os
import pickle
import tempfile
from collections.abc import Callable
from hashlib import sha256
from importlib import resources
from pathlib import Path
from typing import TypeAlias

import platformdirs

from .catalogue import Catalogue
from .files import TextFile, catalogue_files, fingerprint, folder_files, is_store

_FORMAT = "2"
"""Changes when what is kept changes its shape."""

_KEPT = 20
"""How many closed catalogues stay in the cache."""


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
    version, read = stated(data)
    return _recall(_kept(version, cache)) or load_texts(*read(), cache)


def load_texts(version: str, files: tuple[TextFile, ...], cache: Path | None = None) -> Catalogue:
    """The catalogue that `files` state, remembered. Raises `CatalogueRefused`."""
    kept = _kept(version, cache)
    return _recall(kept) or _remember(kept, build_catalogue(version, files))


Texts: TypeAlias = tuple[str, tuple[TextFile, ...]]
"""The version of a catalogue and its files, the vocabulary among them."""


def stated(data: Path | None = None) -> tuple[str, Callable[[], Texts]]:
    """The version of what `data` states (the demo by default), and a way to read it.

    A store may have moved on until it is read; what is read says its own version.

    Raises:
        CatalogueFileError: a file cannot be read, or the store cannot be opened.
    """
    folder = data or demo_folder()
    if not is_store(folder):
        files = catalogue_files(ontology_folder(), folder)
        version = fingerprint(files)
        return version, lambda: (version, files)
    from .upkeep.store import stored_files, stored_version

    ontology = folder_files(ontology_folder(), is_ontology=True)

    def read() -> Texts:
        now, facts = stored_files(folder)
        return version_in_store(ontology, now), (*ontology, *facts)

    return version_in_store(ontology, stored_version(folder)), read


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


def _kept(version: str, cache: Path | None) -> Path:
    return (cache or default_cache()) / f"{version[:32]}-{_code_stamp()}.catalogue"


def _code_stamp() -> str:
    """Changes when the code that makes a catalogue does, so an upgrade never reads old values."""
    here = Path(__file__).parent
    digest = sha256(_FORMAT.encode())
    for path in (*sorted(here.glob("*.py")), here / "interfaces" / "kind.py"):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


def _recall(kept: Path) -> Catalogue | None:
    # Pickle is read only from the user's own cache folder, which nobody else may write to; anyone
    # who can write there can already run code as the user. Any damage means: build it again.
    try:
        if hasattr(os, "getuid") and kept.stat().st_uid != os.getuid():
            return None
        found = pickle.loads(kept.read_bytes())
    except Exception:
        return None
    return found if isinstance(found, Catalogue) else None


def _remember(kept: Path, catalogue: Catalogue) -> Catalogue:
    try:
        kept.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with tempfile.NamedTemporaryFile(dir=kept.parent, suffix=".part", delete=False) as handle:
            pickle.dump(catalogue, handle, protocol=pickle.HIGHEST_PROTOCOL)
        Path(handle.name).replace(kept)
        _forget_the_oldest(kept.parent)
    except OSError:
        pass  # a cache that cannot be written costs time, never an answer
    return catalogue


def _forget_the_oldest(folder: Path) -> None:
    """Every edit of the data leaves one catalogue behind; a few are worth going back to."""
    newest_first = sorted(
        folder.glob("*.catalogue"), key=lambda path: path.stat().st_mtime, reverse=True
    )
    for path in newest_first[_KEPT:]:
        path.unlink(missing_ok=True)
