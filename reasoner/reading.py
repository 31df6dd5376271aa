"""Read ontology and catalogue files into facts that remember their source and their file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

from rdflib import Dataset, Graph, URIRef
from rdflib.graph import DATASET_DEFAULT_GRAPH_ID
from rdflib.plugins.parsers.notation3 import BadSyntax
from rdflib.term import BNode, Node

from .errors import CatalogueFileError
from .terms import ONTOLOGY_GRAPH, local_name

Triple = tuple[Node, Node, Node]

_FORMATS = {".ttl": "turtle", ".trig": "trig"}


@dataclass(frozen=True, slots=True)
class TextFile:
    """One file of the catalogue: a short name for messages, and its text."""

    name: str
    text: str
    ontology: bool


@dataclass(slots=True)
class Facts:
    """Every asserted triple with the sources (named graphs) that assert it.

    `sources[triple]` is sorted; the ontology's own graph counts as a source of its axioms.
    `files[subject]` says where a thing was stated first. `prefixes` is for showing names.
    """

    sources: dict[Triple, tuple[str, ...]] = field(default_factory=dict)
    files: dict[Node, str] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)
    unsourced: list[tuple[Triple, str]] = field(default_factory=list)

    def graph(self) -> Graph:
        """All asserted triples as one plain graph."""
        graph = Graph()
        for triple in self.sources:
            graph.add(triple)
        return graph

    def place(self, node: Node) -> str:
        """File and, where the name can be found in it, line at which `node` is stated."""
        file = self.files.get(node, "unknown file")
        name = local_name(node)
        pattern = re.compile(rf"(?<![\w.-]){re.escape(':' + name)}(?![\w-])|/{re.escape(name)}>")
        if not isinstance(node, BNode):
            for number, line in enumerate(self.texts.get(file, "").splitlines(), 1):
                if not line.lstrip().startswith("#") and pattern.search(":" + line):
                    return f"{file}, line {number}"
        return file


def catalogue_files(ontology: Path, data: Path) -> tuple[TextFile, ...]:
    """The Turtle and TriG files below two folders, in a stable order.

    Raises:
        CatalogueFileError: a folder is missing or holds no such file, or a file is not UTF-8.
    """
    found: list[TextFile] = []
    for folder, is_ontology in ((ontology, True), (data, False)):
        paths = sorted(p for p in folder.rglob("*") if p.suffix in _FORMATS and p.is_file())
        if not paths:
            raise CatalogueFileError(str(folder), None, "no .ttl or .trig file here")
        for path in paths:
            name = f"{folder.name}/{path.relative_to(folder).as_posix()}"
            found.append(TextFile(name, _text_of(path), is_ontology))
    return tuple(found)


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        line = path.read_bytes()[: error.start].count(b"\n") + 1
        raise CatalogueFileError(str(path), line, "not UTF-8 text") from None
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


def read_facts(files: Iterable[TextFile]) -> Facts:
    """Parse all files.

    Raises:
        CatalogueFileError: a file does not parse; names file, line and what was found.
    """
    facts = Facts()
    gathered: dict[Triple, set[str]] = {}
    for file in files:
        facts.texts[file.name] = file.text
        for s, p, o, graph in _parse(file):
            source = str(graph) if graph is not None else ""
            if not source and file.ontology:
                source = str(ONTOLOGY_GRAPH)
            gathered.setdefault((s, p, o), set()).add(source)
            facts.files.setdefault(s, file.name)
            if not source:
                facts.unsourced.append(((s, p, o), file.name))
    for triple in sorted(gathered, key=lambda t: tuple(map(str, t))):
        facts.sources[triple] = tuple(sorted(gathered[triple]))
    return facts


def _parse(file: TextFile) -> Iterable[tuple[Node, Node, Node, URIRef | None]]:
    dataset = Dataset()
    suffix = file.name[file.name.rfind(".") :]
    try:
        dataset.parse(data=file.text, format=_FORMATS[suffix])
    except BadSyntax as error:
        raise CatalogueFileError(file.name, error.lines + 1, _plain(error)) from None
    except Exception as error:
        # rdflib lets a few other exception types out of its Turtle reader on broken text.
        raise CatalogueFileError(file.name, None, f"cannot be read: {error}") from None
    for s, p, o, graph in dataset.quads():
        named = graph if graph != DATASET_DEFAULT_GRAPH_ID else None
        yield s, p, o, URIRef(str(named)) if named is not None else None


def _plain(error: BadSyntax) -> str:
    text, at = error._str.decode(errors="replace"), error._i
    around = text[at : at + 40].split("\n", 1)[0].strip()
    why = str(error._why).strip().removesuffix(".")
    return f"{why}, near “{around}”" if around else f"{why}, at the end of the file"
