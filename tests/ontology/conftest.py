"""The shipped vocabulary and data as graphs, read once by a library that the reasoner does not use."""

from __future__ import annotations

from pathlib import Path

import pytest
from knockon.reasoner.load import demo_folder, ontology_folder
from rdflib import Dataset, Graph


@pytest.fixture(scope="session")
def ontology_files() -> tuple[Path, ...]:
    """Every file of the vocabulary."""
    return tuple(sorted(ontology_folder().rglob("*.ttl")))


@pytest.fixture(scope="session")
def data_files() -> tuple[Path, ...]:
    """Every file of the demo."""
    return tuple(sorted(p for p in demo_folder().rglob("*") if p.suffix in (".ttl", ".trig")))


@pytest.fixture(scope="session")
def vocabulary(ontology_files: tuple[Path, ...]) -> Graph:
    """The vocabulary alone."""
    graph = Graph()
    for path in ontology_files:
        graph.parse(path, format="turtle")
    return graph


@pytest.fixture(scope="session")
def everything(vocabulary: Graph, data_files: tuple[Path, ...]) -> Graph:
    """The vocabulary and every fact of the demo, whoever states it."""
    graph = Graph()
    for triple in vocabulary:
        graph.add(triple)
    for path in data_files:
        dataset = Dataset()
        dataset.parse(path, format="trig")
        for s, p, o, _ in dataset.quads():
            graph.add((s, p, o))
    return graph
