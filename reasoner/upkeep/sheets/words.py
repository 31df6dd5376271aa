"""The words of the vocabulary, each made once: rdflib makes and checks an IRI at every mention."""

from __future__ import annotations

from rdflib import Namespace, URIRef

from ...terms import KO as _KO
from ...terms import SCHEMA as _SCHEMA


class Words:
    """A namespace that remembers its words."""

    def __init__(self, space: Namespace) -> None:
        self._space = space

    def __getattr__(self, name: str) -> URIRef:
        word = self._space[name]
        setattr(self, name, word)
        return word

    def __getitem__(self, name: str) -> URIRef:
        return getattr(self, name) if name.isidentifier() else self._space[name]


KO = Words(_KO)
SCHEMA = Words(_SCHEMA)
