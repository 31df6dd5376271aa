"""Which of all that follows is told: facts of the trade, in knockon's own words."""

from __future__ import annotations

from collections.abc import Mapping, Set

from rdflib import RDF, RDFS
from rdflib.term import BNode, Literal, Node

from .reading import Triple
from .terms import KO


def about_the_trade(triple: Triple) -> bool:
    """Whether a triple says something of named things in knockon's own words."""
    subject, predicate, obj = triple
    if subject == obj or isinstance(obj, BNode) or isinstance(subject, (Literal, BNode)):
        return False
    if predicate in (RDF.type, RDFS.subClassOf):
        return str(obj).startswith("https://")
    return str(predicate).startswith(str(KO))


def not_by_use(triple: Triple, stated: Mapping[Node, Set[Node]]) -> bool:
    """Whether a thing is of a kind by what is stated of it, and not only by how it is used."""
    subject, predicate, obj = triple
    return predicate != RDF.type or obj in stated.get(subject, ())
