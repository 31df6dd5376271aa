"""Find and read the catalogue's text files, and tell one version of them from another.

Knows nothing of RDF, so that an unchanged catalogue starts without it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Final

from .addresses import is_endpoint
from .errors import CatalogueFileError

SUFFIXES = (".ttl", ".trig")
"""Turtle for the vocabulary, TriG for facts inside the graphs of their sources."""

STORE: Final = "quads"
"""The database's folder inside the folder of a store (see `upkeep/store.py`)."""


def is_store(folder: Path) -> bool:
    """Whether a place is a catalogue's store, embedded or an endpoint, and not its text."""
    return is_endpoint(folder) or (folder / STORE / "CURRENT").is_file()


@dataclass(frozen=True, slots=True)
class TextFile:
    """One file of the catalogue: a short name for messages, and its text."""

    name: str
    text: str
    ontology: bool


def catalogue_files(ontology: Path, data: Path) -> tuple[TextFile, ...]:
    """The Turtle and TriG files below two folders, in a stable order.

    Raises:
        CatalogueFileError: a folder is missing or holds no such file, or a file cannot be read.
    """
    return (*folder_files(ontology, is_ontology=True), *folder_files(data))


def folder_files(folder: Path, is_ontology: bool = False) -> tuple[TextFile, ...]:
    """The Turtle and TriG files below one folder. Raises as `catalogue_files`."""
    top = folder.resolve().name
    return tuple(
        TextFile(f"{top}/{path.relative_to(folder).as_posix()}", _text_of(path), is_ontology)
        for path in _paths(folder)
    )


def _paths(folder: Path) -> Iterable[Path]:
    if not folder.exists():
        raise CatalogueFileError(str(folder), None, "there is no such folder")
    if not folder.is_dir():
        raise CatalogueFileError(str(folder), None, "this is a file; name the folder it is in")
    paths = sorted(p for p in folder.rglob("*") if p.suffix in SUFFIXES and p.is_file())
    if not paths:
        raise CatalogueFileError(str(folder), None, "no .ttl or .trig file in this folder")
    return paths


def _text_of(path: Path) -> str:
    try:
        # Some editors put a byte order mark in front of UTF-8; it says nothing and is dropped.
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        line = path.read_bytes()[: error.start].count(b"\n") + 1
        raise CatalogueFileError(
            str(path), line, "not UTF-8 text; save the file with UTF-8 encoding"
        ) from None
    except OSError as error:
        raise CatalogueFileError(str(path), None, error.strerror or "cannot be read") from None


def fingerprint(files: Sequence[TextFile]) -> str:
    """A hash that changes when any catalogue file changes: the catalogue's version."""
    digest = sha256()
    for file in files:
        for piece in (file.name, file.text):
            data = piece.encode()
            digest.update(len(data).to_bytes(8, "big") + data)
    return digest.hexdigest()
