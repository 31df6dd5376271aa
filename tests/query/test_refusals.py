"""What is refused is found out part by part, and is the same however it is asked."""

from __future__ import annotations

from collections.abc import Set
from functools import partial

from knockon.query.refusals import Refused, comes_from, is_or_is_of
from knockon.reasoner.catalogue import Catalogue


def test_what_is_refused_is_a_set_like_any_other(tiny: Catalogue) -> None:
    family = next(iter(tiny.families))
    refused = Refused(tiny.parts, partial(is_or_is_of, iri=family))
    expected = frozenset(iri for iri, part in tiny.parts.items() if family in part.families)
    assert expected
    assert refused == expected
    assert len(refused) == len(expected)
    assert hash(refused) == hash(Refused(tiny.parts, partial(is_or_is_of, iri=family)))
    assert refused & expected == expected
    assert [iri for iri in tiny.parts if iri in refused] == sorted(expected)
    assert "part:none" not in refused


def test_refusals_for_several_reasons_go_together(tiny: Catalogue) -> None:
    first, *_, last = tiny.families
    one, other = (Refused(tiny.parts, partial(is_or_is_of, iri=iri)) for iri in (first, last))
    nobody = Refused(tiny.parts, partial(comes_from, iri="maker:nobody"))
    banned: Set[str] = frozenset()
    for refused in (one, other, nobody):
        banned |= refused
    assert set(banned) == set(one) | set(other)
    assert len(banned) == len(one) + len(other)
    assert all(iri in banned for iri in other)
