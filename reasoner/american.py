"""The American terms of the trade that the vocabulary gives beside the British ones."""

from __future__ import annotations

from collections.abc import Iterable

from pyoxigraph import Literal, QuerySolutions, Store

_ASKED = """
PREFIX ko: <https://knockon.example/ns#>
PREFIX rdfs: <http://www.w3.org/2000/01/rdf-schema#>
PREFIX skos: <http://www.w3.org/2004/02/skos/core#>
SELECT ?british ?preferred ?american {
  { ?thing a ko:Station } UNION { ?thing a ko:Joint } UNION { ?thing a ko:Family }
  ?thing skos:prefLabel ?british . FILTER(lang(?british) IN ("", "en", "en-GB"))
  OPTIONAL { ?thing skos:prefLabel ?preferred . FILTER(lang(?preferred) = "en-US") }
  OPTIONAL { ?thing skos:altLabel ?american . FILTER(lang(?american) = "en-US") }
}
"""


def american_terms(store: Store) -> dict[str, str]:
    """British label → American label, for stations, joints and families that have one.

    The preferred American label decides. Without one it is the shortest of the others that is no
    abbreviation; a thing that Americans also call by its British name keeps it.
    """
    found = store.query(_ASKED, use_default_graph_as_union=True)
    if not isinstance(found, QuerySolutions):
        raise TypeError("a SELECT finds rows")
    preferred: dict[str, set[str]] = {}
    others: dict[str, set[str]] = {}
    for row in found:
        british = _text(row["british"])
        preferred.setdefault(british, set()).add(_text(row["preferred"]))
        others.setdefault(british, set()).add(_text(row["american"]))
    terms = {
        british: _best(british, preferred[british] - {""}) or _best(british, others[british])
        for british in sorted(preferred)
    }
    return {british: term for british, term in terms.items() if term and term != british}


def _best(british: str, labels: Iterable[str]) -> str:
    words = [label for label in labels if label and not label.isupper()]
    if british in words:
        return british
    return min(words, key=lambda label: (len(label), label), default="")


def _text(term: object) -> str:
    return term.value if isinstance(term, Literal) else ""
