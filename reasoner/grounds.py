"""What facts that were worked out may rest on, looked up from what they say.

A deduction leads from facts to what follows; to take a fact back one has to ask the other way
round: is there anything else from which this link, or this kind of this thing, follows?
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping

from rdflib import OWL
from rdflib.term import Literal, Node

from .deduction import Deduction, Link
from .literal_types import types_of
from .reading import Triple
from .relation import Relation, has, linked, reach


class Grounds:
    """How often things are used, and the rules of a deduction read backwards.

    `used` counts the statements by which things are of a kind under properties whose links are not
    kept; `literals` those with a literal that counts, `literal_types` those literals by type.
    `loose` are restrictions that lack a property or a value.
    """

    def __init__(self, deduction: Deduction, said: Mapping[Node, list[Triple]]) -> None:
        self._deduction = deduction
        self.used: dict[int, Counter[int]] = defaultdict(Counter)
        self.literals: Counter[int] = Counter()
        self.literal_types: Counter[Node] = Counter()
        self.loose: dict[Node, tuple[frozenset[Node], frozenset[Node]]] = {}
        self.narrower: dict[Relation, list[Relation]] = defaultdict(list)
        self._inverse_of: dict[Relation, list[Relation]] = defaultdict(list)
        self._made_by: dict[Relation, list[tuple[Relation, ...]]] = defaultdict(list)
        self._by_domain: dict[int, list[Relation]] = defaultdict(list)
        self._by_range: dict[int, list[Relation]] = defaultdict(list)
        for relation in deduction.relations.values():
            self._note_rules(relation)
        for whole, links in deduction.axioms.chains:
            self._made_by[deduction.relation(whole)].append(tuple(map(deduction.relation, links)))
        for p, relation in deduction.relations.items():
            self.count(relation, said.get(p, ()), 1)
        self.count_values(said.get(OWL.hasValue, ()), 1)
        self._note_loose(said)

    def _note_rules(self, relation: Relation) -> None:
        for wider in relation.wider:
            self.narrower[wider].append(relation)
        for inverse in relation.inverses:
            self._inverse_of[inverse].append(relation)
        if not relation.use:
            for kind in relation.domain:
                self._by_domain[kind].append(relation)
            for kind in relation.range:
                self._by_range[kind].append(relation)

    def _note_loose(self, said: Mapping[Node, list[Triple]]) -> None:
        meaning, ids = self._deduction.tree.meaning, self._deduction.ids
        for at, word in enumerate((OWL.onProperty, OWL.hasValue)):
            for s, _, o in said.get(word, ()):
                if ids.get(s, -1) not in meaning:
                    held = list(self.loose.get(s, (frozenset[Node](), frozenset[Node]())))
                    held[at] |= {o}
                    self.loose[s] = (held[0], held[1])

    # ------------------------------------------------------------ counting

    def count(self, relation: Relation, triples: Iterable[Triple], more: int) -> list[Link]:
        """Count statements under one property once more or less.

        Returns those that no longer make a thing of the kind: subject (or object), and the kind.
        """
        deduction, used = self._deduction, self.used
        gone: list[Link] = []
        for s, _, o in triples:
            if isinstance(o, Literal):
                if not relation.telling:
                    continue
                self._count_literal(deduction.id(o), o, more)
            if relation.use:
                for term, kinds in ((s, relation.domain), (o, relation.range)):
                    for kind in kinds:
                        x, counts = deduction.id(term), used[kind]
                        counts[x] += more
                        if not counts[x]:
                            del counts[x]
                            gone.append((x, relation, kind))
        return gone

    def count_values(self, triples: Iterable[Triple], more: int) -> None:
        """Count the literals among values of restrictions once more or less."""
        for _, _, o in triples:
            if isinstance(o, Literal):
                self._count_literal(self._deduction.id(o), o, more)

    def _count_literal(self, x: int, literal: Literal, more: int) -> None:
        self.literals[x] += more
        held = self.literals[x]
        if held and held != more:
            return
        for kind in types_of(literal):
            self.literal_types[kind] += 1 if held else -1
        if held:
            self._deduction.literals.add(x)
        else:
            del self.literals[x]
            self._deduction.literals.discard(x)

    # ------------------------------------------------------------ asking

    def restriction(self, node: Node) -> tuple[frozenset[Node], frozenset[Node]]:
        """The properties and the values of a restriction as it was last."""
        deduction = self._deduction
        value_class = deduction.tree.meaning.get(deduction.ids.get(node, -1))
        if value_class is None:
            return self.loose.get(node, (frozenset(), frozenset()))
        relation, value = deduction.tree.gives[value_class]
        terms = deduction.terms
        return frozenset({terms[relation.name]}), frozenset({terms[value]})  # type: ignore[arg-type]

    def gives_kind(self, x: int, kind: int) -> bool:
        """Whether a thing is of a kind by how it is used or what it is linked to."""
        if self.used[kind].get(x):
            return True
        given = self._deduction.tree.gives.get(kind)
        if given is not None and has(given[0].out, x, given[1]):
            return True
        return any(x in r.out for r in self._by_domain.get(kind, ())) or any(
            x in r.into for r in self._by_range.get(kind, ())
        )

    def gives_link(self, link: Link) -> bool:
        """Whether a link follows from others, or from the kinds that its subject is of."""
        s, relation, o = link
        given = relation.given.get(o)
        if given is not None and given in self._deduction.sort[s].classes:
            return True
        if any(has(r.out, s, o) for r in self.narrower.get(relation, ())):
            return True
        if any(has(r.out, o, s) for r in self._inverse_of.get(relation, ())):
            return True
        if relation.transitive and any(has(relation.out, z, o) for z in linked(relation.out, s)):
            return True
        return any(
            o in set(reach((s,), steps, backwards=False))
            for steps in self._made_by.get(relation, ())
        )
