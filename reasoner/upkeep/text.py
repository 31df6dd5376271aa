"""A catalogue as a folder of text: read into statements, and written so that it diffs well.

The layout is a function of what is stated, `<source>/<kind of thing>.trig`: two shops with the same
facts export the same bytes, whatever edits led there. Keeping the files that facts once came from
would be a second thing to keep true beside the facts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from hashlib import sha256
from itertools import count
from pathlib import Path
from typing import Final

import pyoxigraph as ox
from rdflib import URIRef

from ..errors import KnockonError
from ..files import SUFFIXES, TextFile, folder_files, is_store
from ..reading import read_facts
from ..terms import local_name
from .changes import ChangeConflicts, ChangeRefused, ChangeSet, conflicts, effective
from .durable import put, write_new
from .quads import LooseQuad, Quad, from_store, is_record, quads_of, version_of
from .trig import trig

HEADING: Final = "Written by knockon. "
"""How the first line of an exported file goes on after its `#`."""

EDITS: Final = "edits"
"""The folder for accepted change sets inside a text folder."""

_SPACE = "https://knockon.example/"
_SAFE = re.compile(r"[a-z0-9][a-z0-9-]*")
_FORMATS = {
    ".trig": ox.RdfFormat.TRIG,
    ".ttl": ox.RdfFormat.TURTLE,
    ".nq": ox.RdfFormat.N_QUADS,
    ".jsonld": ox.RdfFormat.JSON_LD,
}


class FolderRefused(KnockonError):
    """A folder that cannot be written to without doing harm."""


def quads_in(folder: Path) -> frozenset[Quad]:
    """What the Turtle and TriG files of a data folder state.

    Raises:
        CatalogueFileError: the folder or a file cannot be read.
        NotAStatement: something is stated outside any source, or a record is not a value.
    """
    return quads_of(read_facts(folder_files(folder)))


def text_files(quads: Iterable[Quad], folder: str = "data") -> tuple[TextFile, ...]:
    """The statements as text files, in the order of their names, which begin with `folder`."""
    held = tuple(quads)
    owner = {o: s for s, _, o, _ in held if is_record(o)}
    files: dict[str, tuple[URIRef, str, list[Quad]]] = {}
    for quad in held:
        thing = quad[0]
        while thing in owner:
            thing = owner[thing]
        name = file_of(thing, quad[3], folder)
        files.setdefault(name, (quad[3], _kind(thing), []))[2].append(quad)
    return tuple(
        TextFile(
            name,
            trig(graph, facts, f"{HEADING}What {local_name(graph)} states, by kind: {kind}."),
            ontology=False,
        )
        for name, (graph, kind, facts) in sorted(files.items(), key=_by_source_and_kind)
    )


def _by_source_and_kind(file: tuple[str, object]) -> list[str]:
    return file[0].removesuffix(".trig").split("/")


def file_of(thing: URIRef, source: URIRef, folder: str = "data") -> str:
    """In which file `text_files` writes what a source states of a thing and of its records."""
    return f"{folder}/{_source_name(source)}/{_kind(thing)}.trig"


def _kind(thing: URIRef) -> str:
    if is_record(thing):
        return "record"
    space, _, rest = thing.removeprefix(_SPACE).partition("/")
    known = thing.startswith(_SPACE) and rest and _SAFE.fullmatch(space)
    return space if known else "other"


def _source_name(graph: URIRef) -> str:
    name = graph.removeprefix(f"{_SPACE}source/")
    if name != graph and _SAFE.fullmatch(name):
        return name
    return f"source-{sha256(graph.encode()).hexdigest()[:12]}"


def write_folder(quads: Iterable[Quad], folder: Path) -> int:
    """Export into a folder that is new, empty, or holds an earlier export; the number of files.

    Files of the earlier export that nothing is written to any more are taken away. Each file is
    replaced whole, but not all at one moment: a version control system keeps what was.

    Raises:
        FolderRefused: the folder holds catalogue files that were not exported; they would be read
            beside the export.
    """
    ours = folder.rglob("*") if folder.is_dir() else ()
    old = {path for path in ours if path.suffix in SUFFIXES and path.is_file()}
    for path in sorted(old):
        with path.open(encoding="utf-8", errors="replace") as handle:
            if not handle.readline().startswith(f"# {HEADING}"):
                raise FolderRefused(
                    f"{path} was not written by an export and would be read beside it; "
                    "export into another folder"
                )
    if folder.exists() and not folder.is_dir():
        raise FolderRefused(f"{folder} is a file; name a folder")
    if is_store(folder):
        raise FolderRefused(f"{folder} is a store; export into another folder")
    written = set()
    for file in text_files(quads):
        path = folder / file.name.removeprefix("data/")
        if not path.exists() or path.read_bytes() != file.text.encode():
            put(path, file.text.encode())
        written.add(path)
    for path in sorted(old - written):
        path.unlink()
        if path.parent != folder and not any(path.parent.iterdir()):
            path.parent.rmdir()
    return len(written)


def statements_in(file: Path, source: str) -> tuple[LooseQuad, ...]:
    """The statements of one TriG, Turtle, N-Quads or JSON-LD file, records still blank.

    What stands outside any graph is stated by `source`. Nothing is fetched from elsewhere.

    Raises:
        ChangeRefused: the file cannot be read as what its name says.
    """
    if file.suffix not in _FORMATS:
        raise ChangeRefused(f"{file}: its name is to end in {', '.join(_FORMATS)}")
    try:
        text = file.read_text(encoding="utf-8-sig")
        found = tuple(ox.parse(text, format=_FORMATS[file.suffix]))
    except UnicodeDecodeError:
        raise ChangeRefused(f"{file}: not UTF-8 text") from None
    except SyntaxError as error:
        place = f"{file}, line {error.lineno}" if error.lineno else str(file)
        raise ChangeRefused(f"{place}: {error.msg}") from None
    except OSError as error:
        raise ChangeRefused(f"{file}: {error.strerror or 'cannot be read'}") from None
    return tuple(
        (
            from_store(quad.subject),
            from_store(quad.predicate),
            from_store(quad.object),
            from_store(quad.graph_name)
            if isinstance(quad.graph_name, ox.NamedNode)
            else URIRef(source),
        )
        for quad in found
    )


def edit_text(folder: Path, change: ChangeSet) -> str:
    """An edit that only adds, as the text of one new file for a text folder.

    The files stay the one place of truth: nothing in them is rewritten, so an edit that takes
    something away is refused with where that is stated. Its history is the folder's own, in
    version control.

    Raises:
        ChangeRefused: the edit takes something away, or says nothing new.
        ChangeConflicts: it was made on another version, and its places say something already.
    """
    facts = read_facts(folder_files(folder))
    now = quads_of(facts)
    if change.removed:
        places = sorted(
            {f"  {facts.place(s)}" for s, _, _, _ in change.removed if not is_record(s)}
        )
        raise ChangeRefused(
            "\n".join(
                [
                    f"The edit takes away {len(change.removed)} statements, and a text folder is "
                    "edited by hand. Change them here, or keep the catalogue in a store:",
                    *places,
                ]
            )
        )
    if change.base != version_of(now):
        # What was there at the base is not known, so whatever is there now counts as new.
        met = conflicts(change, now, added=[q for q in now if q[:2] in change.touched])
        if met:
            raise ChangeConflicts(
                "The edit was made on another version, and these places say something.", met
            )
    change = effective(change, now)
    if not change.added:
        raise ChangeRefused("all of it is stated already; nothing was written")
    heading = f"Edit {change.id}, accepted {change.when} by {_one_line(change.who)}: "
    heading += _one_line(change.why)
    graphs = sorted({quad[3] for quad in change.added})
    texts = (trig(g, [q for q in change.added if q[3] == g], heading) for g in graphs)
    return "\n".join(texts)


def write_edit(folder: Path, name: str, text: str) -> Path:
    """Put the text of an edit into a text folder under the next number; where it is written."""
    edits = folder / EDITS
    have = [int(p.name[:4]) for p in edits.glob("[0-9][0-9][0-9][0-9]-*.trig")]
    for number in count(max(have, default=0) + 1):
        path = edits / f"{number:04}-{name}.trig"
        if not any(edits.glob(f"{number:04}-*")) and write_new(path, text.encode()):
            return path
    raise AssertionError("numbers do not end")


def _one_line(text: str) -> str:
    return " ".join(text.split())
