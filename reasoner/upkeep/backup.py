"""A store in one file, and a store from it again; both are verified before they count as done.

The file is a zip of three texts that other tools can read: what is stated (N-Quads), every accepted
change (JSON lines), and a manifest. The facts are counted and hashed into their version, and the
history must lead from the first version to that one.
"""

from __future__ import annotations

import io
import json
import zipfile
import zlib
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from .changes import ChangeRefused, ChangeSet, State, as_lines, from_lines
from .durable import put
from .history import entry_of, entry_quads
from .kept import Beginning, KeptCatalogue
from .layout import FORMAT, about, packed
from .opening import StoreError, build_store
from .quads import NotAStatement, Quad, line, moved, named, read_lines, version_of

_FACTS, _HISTORY, _MANIFEST = "statements.nq", "history.jsonl", "manifest.json"
_KIND = "knockon backup"
_LAYOUT: Final = 1
_MOST_BYTES: Final = 4 * 1024**3
_EPOCH = (1980, 1, 1, 0, 0, 0)


class BackupRefused(StoreError):
    """A file that is no sound backup."""


def back_up(store: KeptCatalogue, file: Path) -> str:
    """Write all of a store to `file`, read it back, and compare; the version that it holds.

    The same store gives the same bytes. An existing file is replaced only by a sound one.

    Raises:
        BackupRefused: the file cannot be written, or what was read is not sound.
    """
    changes = [store.change(entry) for entry in store.history()]
    begun = store.beginning
    facts = "".join(f"{text}\n" for text in sorted(map(line, store.quads())))
    texts = {_FACTS: facts, _HISTORY: "".join(as_lines(changes))}
    manifest = {
        "kind": _KIND,
        "layout": _LAYOUT,
        "version": store.version,
        "edits": len(changes),
        "begun": {"who": begun.who, "when": begun.when, "why": begun.why, "as": begun.version},
        "sha256": {name: sha256(text.encode()).hexdigest() for name, text in texts.items()},
    }
    texts[_MANIFEST] = json.dumps(manifest, ensure_ascii=False, indent=2) + "\n"
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as packed_up:
        for name in (_MANIFEST, _FACTS, _HISTORY):
            packed_up.writestr(zipfile.ZipInfo(name, _EPOCH), texts[name], zipfile.ZIP_DEFLATED)
    _read(data, file)
    try:
        put(file, data.getvalue())
    except OSError as error:
        raise BackupRefused(file, error.strerror or "cannot be written") from None
    return store.version


def restore(file: Path, folder: Path) -> str:
    """Make a store from a backup, in a folder that is new or empty; the version that it holds.

    Raises:
        BackupRefused: the file is damaged, was altered, or is no backup; nothing was made.
        StoreError: something is at `folder` already.
    """
    try:
        with file.open("rb") as handle:
            begun, quads, changes = _read(handle, file)
    except OSError as error:
        raise BackupRefused(file, error.strerror or "cannot be read") from None
    versions = _versions(begun.version, changes)
    kept = [packed(quad) for quad in quads]
    for number, change in enumerate(changes, 1):
        before, after = versions[number - 1 : number + 1]
        state: State = "undone" if change.state == "undone" else "accepted"
        kept += entry_quads(entry_of(number, change, before, after, state), change)
    kept += about(
        format=str(FORMAT),
        version=versions[-1],
        edits=str(len(changes)),
        begunBy=begun.who,
        begunWhen=begun.when,
        begunWhy=begun.why,
        begunAs=begun.version,
    )
    build_store(folder, kept)
    return versions[-1]


def verify(file: Path) -> tuple[str, int]:
    """The version and the number of edits in a backup. Raises `BackupRefused` if it is unsound."""
    try:
        with file.open("rb") as handle:
            begun, _, changes = _read(handle, file)
    except OSError as error:
        raise BackupRefused(file, error.strerror or "cannot be read") from None
    return _versions(begun.version, changes)[-1], len(changes)


def _versions(first: str, changes: Sequence[ChangeSet]) -> list[str]:
    found = [first]
    for change in changes:
        found.append(moved(found[-1], change.added, change.removed))
    return found


def _read(handle: Any, file: Path) -> tuple[Beginning, tuple[Quad, ...], tuple[ChangeSet, ...]]:
    try:
        with zipfile.ZipFile(handle) as archive:
            infos = archive.infolist()
            if sorted(i.filename for i in infos) != sorted((_FACTS, _HISTORY, _MANIFEST)):
                raise BackupRefused(file, "this is no backup of knockon")
            if sum(i.file_size for i in infos) > _MOST_BYTES:
                raise BackupRefused(file, "it unpacks to more than 4 GiB")
            texts = {i.filename: archive.read(i).decode() for i in infos}
        manifest = json.loads(texts[_MANIFEST])
        if manifest["kind"] != _KIND or manifest["layout"] != _LAYOUT:
            raise BackupRefused(file, "made by another knockon than this one can read")
        for name, digest in manifest["sha256"].items():
            if sha256(texts[name].encode()).hexdigest() != digest:
                raise BackupRefused(file, f"{name} is not what was written")
        quads = read_lines(texts[_FACTS])
        changes = from_lines(texts[_HISTORY])
        said = manifest["begun"]
        begun = Beginning(said["who"], said["when"], said["why"], said["as"])
        version = str(manifest["version"])
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, UnicodeDecodeError) as error:
        raise BackupRefused(file, f"damaged, or no backup: {error}") from None
    except (json.JSONDecodeError, KeyError, TypeError, AttributeError):
        raise BackupRefused(file, "its manifest cannot be read") from None
    except (ChangeRefused, NotAStatement) as error:
        raise BackupRefused(file, str(error)) from None
    if version_of(quads) != version or named(quads) != frozenset(quads):
        raise BackupRefused(file, "the facts in it are not those of its version")
    if _versions(begun.version, changes)[-1] != version:
        raise BackupRefused(file, "its history does not lead to its facts")
    return begun, quads, changes
