"""The American labels that the vocabulary prefers, beside the British ones."""

from __future__ import annotations

from pyoxigraph import Literal, QuerySolutions, Store

_ASKED = """
PREFIX ko: <https://knockon.example/ns#>
PREFIX skos: <http://www.w3.org/2004/02/skos/core#>
SELECT ?british ?american {
  { ?thing a ko:Station } UNION { ?thing a ko:Joint } UNION { ?thing a ko:Family }
  ?thing skos:prefLabel ?british , ?american .
  FILTER(LCASE(LANG(?british)) IN ("", "en", "en-gb") && LCASE(LANG(?american)) = "en-us")
} ORDER BY ?british DESC(?american)
"""


def american_labels(store: Store) -> dict[str, str]:
    """British label → preferred American label, for stations, joints and families that have one.

    Other American labels are what people type, too many and too loose to be shown.
    """
    found = store.query(_ASKED, use_default_graph_as_union=True)
    if not isinstance(found, QuerySolutions):
        raise TypeError("a SELECT finds rows")
    return {_text(row["british"]): _text(row["american"]) for row in found}


def _text(term: object) -> str:
    return term.value if isinstance(term, Literal) else ""
