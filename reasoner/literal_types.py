"""What type a literal is of, and which types exclude each other (dt-type2, dt-not-type).

The tables are those of the reference engine.
"""

from __future__ import annotations

from functools import cache

from owlrl.AxiomaticTriples import OWLRL_Datatypes_Disjointness
from owlrl.DatatypeHandling import AltXSDToPYTHON
from owlrl.XsdDatatypes import OWL_Datatype_Subsumptions, OWL_RL_Datatypes
from rdflib import Literal, URIRef
from rdflib.term import Node


@cache
def _with_wider(datatype: URIRef) -> tuple[URIRef, ...]:
    if datatype not in OWL_RL_Datatypes:
        return ()
    return (datatype, *OWL_Datatype_Subsumptions.get(datatype, ()))


def types_of(literal: Literal) -> tuple[URIRef, ...]:
    """The type of a literal and the types that hold it; none where OWL 2 RL knows none."""
    return () if literal.datatype is None else _with_wider(literal.datatype)


def exclusive_types() -> set[tuple[Node, Node]]:
    """Pairs of types that have no value in common."""
    return {(s, o) for s, _, o in OWLRL_Datatypes_Disjointness}


def objection(literal: Literal) -> str | None:
    """Why the text of a literal is none of its type, in the words of the reference engine."""
    if not types_of(literal):
        return None
    converter = AltXSDToPYTHON.get(literal.datatype)
    if converter is None:
        return None
    try:
        converter(str(literal))
    except ValueError:
        return (
            f"Lexical value of the literal '{literal}' does not match"
            f" its datatype ({literal.datatype})"
        )
    return None
