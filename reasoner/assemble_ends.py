"""Make ends, and the claims on any thing's values, from closed facts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import Final

from rdflib import OWL, URIRef
from rdflib.term import BNode, Node

from .catalogue import Claim, End, OpenValue, Source
from .index import SUBCLASS, TYPE, FactIndex, Said, Sources, iris
from .interfaces.kind import Scalar, Value
from .terms import KO, code_name, local_name

Records = tuple[dict[str, Scalar], ...]

_ROLE, _SIDE, _FORM, _MADE = str(KO.role), str(KO.side), str(KO.form), str(KO.madeToSuit)
_OF, _ONE, _LEAST, _MOST = str(KO.ofQuantity), str(KO.oneOf), str(KO.least), str(KO.most)
_WEAKEST: Final = 9


class EndsIn:
    """The ends in one index, made one by one as they are asked for."""

    def __init__(self, index: FactIndex, sources: Mapping[str, Source]) -> None:
        self._index = index
        self._ranks = {iri: int(source.standing) for iri, source in sources.items()}
        self._values = _by_name(index.instances(KO.ValueProperty))
        self._lists = _by_name(index.instances(KO.RecordProperty))
        known = (*index.instances(OWL.DatatypeProperty), *index.instances(OWL.ObjectProperty))
        ours = [str(prop) for prop in known if str(prop).startswith(str(KO))]
        self._fields = {word: local_name(word) for word in ours}
        self._kinds = [str(kind) for kind in index.subjects(SUBCLASS, KO.End)]
        self._sides: dict[str, str] = {}
        self._claims: dict[tuple[int, Sources], tuple[Scalar, tuple[Claim, ...]]] = {}

    def end(self, node: URIRef) -> End:
        """One end, with what its form says where it says nothing itself."""
        index = self._index
        said = index.about(node)
        types = set(iris(said.get(TYPE, ())))
        side = next(iter(iris(said.get(_SIDE, ()))), "")
        claims = self.claims(said)
        form = next(iter(iris(said.get(_FORM, ()))), "")
        if form:
            claims = self.claims(index.about(URIRef(form))) | claims
        iri = str(node)
        kind = next((kind for kind in self._kinds if kind in types), "")
        return End(
            iri=iri,
            label=index.label(node, local_name(iri)),
            kind=self._short(kind, local_name) if kind else "",
            role=next(iter(iris(said.get(_ROLE, ()))), ""),
            side=self._short(side, code_name) if side else "",
            claims=dict(sorted(claims.items())),
            open=self._open_values(said) if _MADE in said else (),
        )

    def claims(self, said: Said) -> dict[str, tuple[Claim, ...]]:
        """Every value stated of one thing, by quantity: the strongest first."""
        claims: dict[str, tuple[Claim, ...]] = {}
        for word in said:
            if word in self._values:
                claims[self._values[word]] = self._of_value(said[word])
        for word in said:
            if word in self._lists and (found := self._of_list(said[word])):
                claims[self._lists[word]] = found
        return claims

    def _of_value(self, objects: list[tuple[Node, Sources]]) -> tuple[Claim, ...]:
        if len(objects) == 1:
            obj, by = objects[0]
            value = self._index.scalar(obj)
            known = self._claims.get((id(value), by))
            if known is None or known[0] is not value:
                known = value, (Claim(value, _in_order(by)),)
                self._claims[id(value), by] = known
            return known[1]
        stated: dict[Scalar, set[str]] = {}
        for obj, by in objects:
            stated.setdefault(self._index.scalar(obj), set()).update(by)
        found = [Claim(value, tuple(sorted(by))) for value, by in stated.items()]
        return tuple(sorted(found, key=self._strength))

    def _of_list(self, objects: list[tuple[Node, Sources]]) -> tuple[Claim, ...]:
        by_source: dict[Sources, list[dict[str, Scalar]]] = {}
        for obj, by in objects:
            if isinstance(obj, (BNode, URIRef)):
                by_source.setdefault(by, []).append(self._record(obj))
        # Two sources that list the same records agree; only different lists are a dispute.
        agreed: dict[str, tuple[Records, set[str]]] = {}
        for by, listed in by_source.items():
            records = tuple(sorted(listed, key=_record_order))
            agreed.setdefault(repr(records), (records, set()))[1].update(by)
        found = [Claim(records, tuple(sorted(by))) for records, by in agreed.values()]
        return tuple(sorted(found, key=self._strength))

    def _strength(self, claim: Claim) -> tuple[int, str]:
        ranks = [self._ranks[source] for source in claim.sources if source in self._ranks]
        return min(ranks, default=_WEAKEST), str(claim.value)

    def _record(self, node: Node) -> dict[str, Scalar]:
        said = self._index.about(node)
        return {
            name: self._index.scalar(said[word][0][0])
            for word, name in self._fields.items()
            if word in said
        }

    def _open_values(self, said: Said) -> tuple[OpenValue, ...]:
        found = (self._open_value(node) for node, _ in said[_MADE])
        return tuple(sorted(found, key=lambda value: value.quantity))

    def _open_value(self, node: Node) -> OpenValue:
        index = self._index
        return OpenValue(
            quantity=local_name(index.iri(node, _OF)),
            least=index.decimal(node, _LEAST),
            most=index.decimal(node, _MOST),
            one_of=tuple(sorted((index.scalar(o) for o in index.objects(node, _ONE)), key=str)),
        )

    def _short(self, iri: str, shorten: Callable[[str], str]) -> str:
        found = self._sides.get(iri)
        if found is None:
            found = self._sides[iri] = shorten(iri)
        return found


def _by_name(properties: Iterable[URIRef]) -> dict[str, str]:
    return {str(prop): local_name(prop) for prop in properties}


def _in_order(by: Sources) -> Sources:
    return by if len(by) < 2 else tuple(sorted(set(by)))


def _record_order(record: Mapping[str, Value]) -> list[tuple[str, bool, Decimal, str]]:
    return [
        (key, isinstance(value, str), _number_or_zero(value), str(value))
        for key, value in sorted(record.items())
    ]


def _number_or_zero(value: Value) -> Decimal:
    return Decimal(value) if isinstance(value, (int, Decimal)) else Decimal(0)
