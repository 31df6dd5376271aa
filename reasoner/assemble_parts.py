"""Make parts and families from closed facts.

OWL RL gives a part everything its families carry. What OWL cannot say, because it never takes
anything back, is settled here: an end stated on the part itself replaces the family's ends of
that role, and what a nearer family states of tolerances and sizes wins over a wider one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from rdflib import OWL, URIRef
from rdflib.term import Node

from .assemble_ends import EndsIn
from .catalogue import End, Family, Part
from .index import SUBCLASS, TYPE, FactIndex, Said, iris
from .interfaces.kind import Value
from .terms import KO, SCHEMA, local_name

_HAS_END, _OWN_END, _LACKS = str(KO.hasEnd), str(KO.ownEnd), str(KO.lacksRole)
_SITS, _OF_FAMILY = str(KO.sitsAt), str(KO.ofFamily)
_REQUIRES, _EXCLUDES = str(KO.requires), str(KO.excludes)
_OWN_TOLERANCE, _ON_QUANTITY, _AMOUNT = str(KO.ownTolerance), str(KO.onQuantity), str(KO.amount)
_ON_PROPERTY, _HAS_VALUE = str(OWL.onProperty), str(OWL.hasValue)
_NUMBER, _MAKER, _PRICE, _WEIGHT = (
    str(SCHEMA.mpn), str(SCHEMA.manufacturer), str(KO.price), str(KO.weight)
)  # fmt: skip
_SUPERSEDED, _INTERCHANGES, _IN_SET = (
    str(KO.supersededBy), str(KO.interchangesWith), str(KO.inSet)
)  # fmt: skip
_ONE_USE, _IRREVERSIBLE, _REWORK_OF, _REWORK_ACT, _HOURS = (
    str(KO.oneUse), str(KO.irreversible), str(KO.reworkOf), str(KO.reworkAct), str(KO.hours)
)  # fmt: skip

_NONE: Final[dict[str, Any]] = {}
"""What most parts have of most things; one for all of them."""

_LATELY: Final = 4096


@dataclass(frozen=True, slots=True)
class _Own:
    """What one family or part states itself."""

    tolerances: dict[str, Decimal]
    attributes: dict[str, Value]
    excludes: tuple[str, ...]
    asked: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Inherited:
    """What parts of the same families have from them. `givers` says of an end which gives it."""

    families: tuple[str, ...]
    own: _Own
    asks: dict[str, str]
    givers: dict[str, str]


class PartsIn:
    """The parts and families in one index, made one by one as they are asked for."""

    def __init__(self, index: FactIndex, ends: Mapping[str, End], values: EndsIn) -> None:
        self._index, self._ends, self._values = index, ends, values
        self._families = index.things_of(KO.Family)
        self._given: dict[str, dict[str, tuple[str, ...]]] = {}
        self._inherited: dict[frozenset[str], _Inherited] = {}
        self._same: dict[Any, Any] = {}

    def part(self, node: URIRef) -> Part:
        """One part, with all that it has from its families."""
        index, iri = self._index, str(node)
        said = index.about(node)
        types = [(str(t), by) for t, by in said.get(TYPE, ()) if t in self._families]
        all_families = frozenset((*(t for t, _ in types), *iris(said.get(_OF_FAMILY, ()))))
        line = self._line(all_families)
        nearest = {t for t, by in types if by}
        stated = [f for f in line.families if f in nearest] or line.families
        own = self._stated(said)
        chosen, via = self._chosen_ends(iri, said, line)
        rework_of = next(iter(iris(said.get(_REWORK_OF, ()))), "")
        return Part(
            iri=iri,
            label=index.label(node, local_name(iri)),
            number=_text(said, _NUMBER) or local_name(iri),
            synonyms=index.synonyms(node),
            maker=next(iter(iris(said.get(_MAKER, ()))), ""),
            family=stated[-1] if stated else "",
            families=self._once(frozenset(line.families)),
            stations=self._iris(said, _SITS),
            ends=chosen,
            via=via,
            sources=self._once(tuple(sorted({source for _, by in types for source in by}))),
            price=_decimal(said, _PRICE),
            weight=_decimal(said, _WEIGHT),
            superseded_by=self._iris(said, _SUPERSEDED),
            interchanges=tuple(i for i in self._iris(said, _INTERCHANGES) if i != iri),
            sets=self._iris(said, _IN_SET),
            requires=self._iris(said, _REQUIRES),
            excludes=_either(line.own.excludes, own.excludes),
            tolerances=_over(line.own.tolerances, own.tolerances),
            one_use=_ONE_USE in said and index.true(node, _ONE_USE),
            rework_of=rework_of,
            rework_act=_text(said, _REWORK_ACT),
            rework_hours=(_decimal(said, _HOURS) if rework_of else None) or Decimal(0),
            irreversible=_IRREVERSIBLE in said and index.true(node, _IRREVERSIBLE),
            attributes=_over(line.own.attributes, own.attributes),
            asks=_asked((iri, own.asked), line.asks) if own.asked else line.asks,
        )

    def family(self, node: URIRef, parts: Sequence[str]) -> Family:
        """One family, of which `parts` are."""
        index, iri = self._index, str(node)
        parents = [wider for wider in index.iris(node, SUBCLASS) if wider != iri]
        line = (iri, *parents)
        requires = {f for each in line for f in index.iris(URIRef(each), _REQUIRES)}
        return Family(
            iri=iri,
            label=index.label(node, local_name(iri)),
            synonyms=index.synonyms(node),
            stations=self._once(tuple(sorted({s for f in line for s in self._gives(f)[_SITS]}))),
            parts=tuple(parts),
            requires=self._once(tuple(sorted(requires))),
        )

    def _line(self, families: frozenset[str]) -> _Inherited:
        found = self._inherited.get(families)
        if found is None:
            if len(self._inherited) >= _LATELY:
                self._inherited = {}
            found = self._inherited[families] = self._inherit(families)
        return found

    def _inherit(self, families: frozenset[str]) -> _Inherited:
        line = self._widest_first(families)
        merged = _Own(_NONE, _NONE, (), ())
        asked: list[tuple[str, tuple[str, ...]]] = []
        for family in line:
            own = self._stated(self._index.about(URIRef(family)))
            merged = _Own(
                _over(merged.tolerances, own.tolerances),
                _over(merged.attributes, own.attributes),
                _either(merged.excludes, own.excludes),
                (),
            )
            asked.append((family, own.asked))
        asks: dict[str, str] = {}
        for asker, wanted in asked:  # a nearer family comes later and has the word
            asks |= dict.fromkeys(wanted, asker)
        givers = {e: f for f in sorted(families, reverse=True) for e in self._gives(f)[_HAS_END]}
        return _Inherited(line, merged, dict(sorted(asks.items())) or _NONE, givers)

    def _widest_first(self, families: frozenset[str]) -> tuple[str, ...]:
        """Families so that one which is a kind of another comes after it; else by name."""
        if len(families) < 2:
            return tuple(families)
        wider = {
            f: sum(w in families for w in self._index.iris(URIRef(f), SUBCLASS)) for f in families
        }
        return tuple(sorted(families, key=lambda f: (wider[f], f)))

    def _stated(self, said: Said) -> _Own:
        claims = self._values.claims(said)
        return _Own(
            self._own_tolerances(said) if _OWN_TOLERANCE in said else _NONE,
            {name: claims[name][0].value for name in sorted(claims)} if claims else _NONE,
            self._iris(said, _EXCLUDES),
            iris((o, by) for o, by in said.get(_REQUIRES, ()) if by),
        )

    def _own_tolerances(self, said: Said) -> dict[str, Decimal]:
        found: dict[str, Decimal] = {}
        for node, _ in said[_OWN_TOLERANCE]:
            amount = self._index.decimal(node, _AMOUNT)
            if amount is not None:
                found[local_name(self._index.iri(node, _ON_QUANTITY))] = amount
        return found

    def _chosen_ends(
        self, iri: str, said: Said, line: _Inherited
    ) -> tuple[dict[str, tuple[str, ...]], dict[str, str]]:
        """Per role the ends the part has, and who says so: the part itself or a family of its."""
        own, lacking = iris(said.get(_OWN_END, ())), iris(said.get(_LACKS, ()))
        by_role: dict[str, list[str]] = {}
        for end in iris(said.get(_HAS_END, ())):
            described = self._ends.get(end)
            if described is not None:
                by_role.setdefault(described.role, []).append(end)
        chosen: dict[str, tuple[str, ...]] = {}
        via: dict[str, str] = {}
        for role in sorted(by_role):
            if role in lacking:
                continue
            mine = sorted(end for end in by_role[role] if end in own) if own else []
            ends = chosen[role] = self._once(tuple(mine or sorted(by_role[role])))
            via[role] = iri if mine else line.givers.get(ends[0], iri)
        return chosen, via

    def _gives(self, family: str) -> dict[str, tuple[str, ...]]:
        """The ends and the stations that a family gives its parts by owl:hasValue."""
        found = self._given.get(family)
        if found is None:
            gives: dict[str, list[str]] = {_HAS_END: [], _SITS: []}
            for restriction, _ in self._index.said(URIRef(family), SUBCLASS):
                said = self._index.about(restriction)
                for prop, _ in said.get(_ON_PROPERTY, ()):
                    if (word := str(prop)) in gives:
                        gives[word] += iris(said.get(_HAS_VALUE, ()))
            found = {word: self._once(tuple(values)) for word, values in gives.items()}
            self._given[family] = found
        return found

    def _iris(self, said: Said, word: str) -> tuple[str, ...]:
        return self._once(iris(said[word])) if word in said else ()

    def _once(self, value: Any) -> Any:
        """Of equal values the same one: a catalogue repeats itself."""
        return self._same.setdefault(value, value)


def members_of(parts: Iterable[Part]) -> dict[str, list[str]]:
    """The parts of each family, in the order of `parts`."""
    found: dict[str, list[str]] = {}
    for part in parts:
        for family in part.families:
            found.setdefault(family, []).append(part.iri)
    return found


def _over(wider: dict[str, Any], nearer: dict[str, Any]) -> dict[str, Any]:
    """What is nearer wins."""
    return dict(sorted({**wider, **nearer}.items())) if nearer else wider


def _either(some: tuple[str, ...], more: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted({*some, *more})) if more else some


def _asked(own: tuple[str, tuple[str, ...]], asks: dict[str, str]) -> dict[str, str]:
    """Requirements that somebody states; the part itself has the word."""
    return dict(sorted({**asks, **dict.fromkeys(own[1], own[0])}.items()))


def _first(said: Said, word: str) -> Node | None:
    found = said.get(word)
    return found[0][0] if found else None


def _text(said: Said, word: str) -> str:
    found = _first(said, word)
    return "" if found is None else str(found)


def _decimal(said: Said, word: str) -> Decimal | None:
    found = _first(said, word)
    return None if found is None else Decimal(str(found))
