"""Close the facts under OWL 2 RL and refuse contradictions.

The fast engine (`deduction`) does it by the rules that the vocabulary uses. A catalogue that says
something in OWL which that engine does not know is closed by the reference engine, `owlrl`
(`reference_closure`); tests hold the two against each other.
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

__all__ = ["about_the_trade", "close"]


def close(facts: Facts) -> frozenset[Triple]:
    """The domain triples that follow from `facts` and are not among them.

    That something is used as a station (rdfs:domain, rdfs:range) serves to find contradictions but
    does not make it one: a misspelt name would become a station by being sat at.

    Raises:
        CatalogueRefused: the facts contradict themselves; each contradiction is named with the
            facts that make it.
    """
    derived = close_fast(facts)
    return close_by_reference(facts) if derived is None else derived


def close_fast(facts: Facts) -> frozenset[Triple] | None:
    """As `close`, by the fast engine; None where the reference has to do it."""
    stated = facts.sources
    said = by_predicate(stated)
    axioms = read_axioms(said)
    if axioms.unread:
        return None
    deduction = Deduction(said, axioms)
    if deduction.unread:
        return None
    closed = ClosedFacts(deduction, facts)
    try:
        faults = contradictions(closed, facts, closed.messages())
    except NotWorkedOut:
        return None
    if closed.some_are_the_same() and not any(f.rule in _OF_IDENTITY for f in faults):
        return None  # nothing with a name is, so the facts stand; but they pass to each other
    refuse(faults)
    return frozenset(triple for triple in deduction.derived() if triple not in stated)


_OF_IDENTITY = ("prp-fp", "prp-ifp", "eq-diff")
