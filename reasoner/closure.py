"""Close the facts under OWL 2 RL and refuse contradictions.

The fast engine (`deduction`) does it by the rules that the vocabulary uses. A catalogue that says
something in OWL which that engine does not know is closed by the reference engine, `owlrl`
(`reference_closure`); tests hold the two against each other. `StandingClosure` closes what changes.
"""

from __future__ import annotations

from .axioms import by_predicate, read_axioms
from .closed_facts import ClosedFacts
from .contradictions import contradictions, refuse
from .deduction import Deduction
from .domain_facts import about_the_trade
from .identities import NotWorkedOut
from .reading import Facts, Triple
from .reference_closure import close_by_reference
from .told import told

__all__ = ["about_the_trade", "close"]


def close(facts: Facts) -> frozenset[Triple]:
    """The domain triples that follow from `facts` and are not among them.

    That something is used as a station (rdfs:domain, rdfs:range) serves to find contradictions but
    does not make it one: a misspelt name would become a station by being sat at.

    Raises:
        CatalogueRefused: the facts contradict themselves; each contradiction is named with the
            facts that make it.
    """
    deduction = deduce(facts)
    return close_by_reference(facts) if deduction is None else followed(deduction, facts)


def followed(deduction: Deduction, facts: Facts) -> frozenset[Triple]:
    """What follows from `facts` and is not among them."""
    stated = facts.sources
    return frozenset(triple for triple in told(deduction) if triple not in stated)


def deduce(facts: Facts) -> Deduction | None:
    """The closure by the fast engine; None where the reference has to do it. Raises as `close`."""
    said = by_predicate(facts.sources)
    axioms = read_axioms(said)
    if axioms.unread:
        return None
    deduction = Deduction(said, axioms)
    if deduction.unread or not stands(deduction, facts):
        return None
    return deduction


def stands(deduction: Deduction, facts: Facts) -> bool:
    """Whether the closure is free of contradictions; False where the reference has to say.

    Raises:
        CatalogueRefused: it is not.
    """
    closed = ClosedFacts(deduction, facts)
    try:
        faults = contradictions(closed, facts, closed.messages())
    except NotWorkedOut:
        return False
    if closed.some_are_the_same() and not any(f.rule in _OF_IDENTITY for f in faults):
        return False  # nothing with a name is, so the facts stand; but they pass to each other
    refuse(faults)
    return True


_OF_IDENTITY = ("prp-fp", "prp-ifp", "eq-diff")
