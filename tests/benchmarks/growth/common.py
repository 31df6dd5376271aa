"""What every synthetic catalogue has beside its lines: sources, makers, named sizes, the workshop."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Protocol

from ..reasoner.load import demo_folder, ontology_folder
from .extras import maker_name, makers
from .line import DRAWINGS
from .sizes import forms
from .trig import PREFIXES, any_family

_SOURCES = (
    # name, label, who, standing
    ("bench", "bench measurements", "bench", "Measured"),
    ("trial-fits", "workshop record of trial fits", "fitters", "TrialFitted"),
    ("maker-drawings", "drawings and parts lists of the makers", "makers", "Documented"),
    ("aftermarket-sheets", "data sheets of other makers", "makers", "Documented"),
    ("house-rules", "house rules", "keeper", "Documented"),
    ("customer-reports", "customers' reports", "customers", "Reported"),
    ("family-likeness", "presumed from likeness", "keeper", "Presumed"),
    ("register", "register of sources", "keeper", "Documented"),
)
_WORKSHOP = ("tolerances.trig", "ostrel/labour.trig", "ostrel/consumables.trig")


class _Sized(Protocol):
    @property
    def houses(self) -> int: ...

    def lines(self) -> Iterator[tuple[int, int, int]]: ...


def shared_files(size: _Sized) -> Iterator[tuple[str, Iterable[str]]]:
    """The files that all lines lean on."""
    yield "sources.trig", _sources()
    yield "families.trig", _stations()
    yield "forms.trig", _forms(size.houses)
    yield "makers.trig", _makers(max(number for number, _, _ in size.lines()))


def workshop_files() -> Iterator[tuple[str, bytes]]:
    """Tolerances, labour and consumables: those of the demo, which hold for every station."""
    for name in _WORKSHOP:
        yield name.rsplit("/", 1)[-1], (demo_folder() / name).read_bytes()


def _head(what: str) -> str:
    return f"# Synthetic catalogue: {what}. Invented data.\n\n{PREFIXES}\n"


def _sources() -> Iterator[str]:
    yield _head("sources") + "src:register {\n"
    for who in sorted({who for _, _, who, _ in _SOURCES}):
        yield f'who:{who} a prov:Agent ; skos:prefLabel "{who}"@en .\n'
    for name, label, who, standing in _SOURCES:
        yield (
            f'src:{name} a prov:Entity , ko:Source ; skos:prefLabel "{label}"@en ;\n'
            f'    prov:wasAttributedTo who:{who} ; prov:generatedAtTime "2024-01-08T09:00:00Z"^^xsd:dateTime ;\n'
            f"    ko:standing ko:{standing} .\n"
        )
    yield "}\n"


def _stations() -> Iterator[str]:
    yield _head("a family for each station") + f"src:{DRAWINGS} {{\n"
    text = (ontology_folder() / "stations.ttl").read_text(encoding="utf-8")
    for station in re.findall(r"^st:([\w-]+) a ko:Station", text, re.M):
        yield any_family(station)
    yield "}\n"


def _forms(houses: int) -> Iterator[str]:
    yield _head("named sizes") + f"src:{DRAWINGS} {{\n"
    for name, values in forms(houses):
        words = name.replace("-", " ").replace("x", " × ")
        yield f'form:{name} a ko:Form ; skos:prefLabel "{words}"@en ; {values} .\n'
    yield "}\n"


def _makers(lines: int) -> Iterator[str]:
    yield _head("makers") + f"src:{DRAWINGS} {{\n"
    names = [f"ostrel-{n:02d}" for n in range(1, (lines - 1) // 10 + 2)]
    names += [maker_name(n) for n in range(1, makers() + 1)]
    for name in names:
        yield f'maker:{name} a schema:Organization ; skos:prefLabel "{name.replace("-", " ").capitalize()}"@en .\n'
    yield "}\n"
