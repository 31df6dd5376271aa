"""Edits of a catalogue at random: facts, whole parts and families, restrictions, chains of links."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from random import Random

from knockon.reasoner.reading import Facts, Triple
from knockon.reasoner.terms import KO
from rdflib import OWL, RDF, RDFS
from rdflib.term import BNode, Node

Edit = tuple[list[Triple], list[Triple]]
"""What is added and what is removed."""

_CHAINS = (KO.supersededBy, KO.interchangesWith, KO.requires, KO.excludes)


class Edits:
    """Edits of what the data files of a catalogue state."""

    def __init__(self, facts: Facts) -> None:
        self.data = [t for t in facts.sources if "ontology" not in facts.files[facts.owner(t[0])]]
        self._about: dict[Node, list[Triple]] = defaultdict(list)
        for triple in self.data:
            self._about[triple[0]].append(triple)
        self.families = self._of(KO.Family)
        self.cars = self._of(KO.Car)
        self.parts = sorted(s for s in self._about if "/part/" in str(s))
        self._values = [t for t in self.data if t[1] == OWL.hasValue]
        self._ways: tuple[Callable[[Random], Edit], ...] = (
            self._some, self._whole_part, self._whole_family, self._one_gift, self._untyped,
            self._linked, self._below, self._more_gifts, self._retyped, self._unchained,
        )  # fmt: skip

    def edit(self, random: Random, stated: Iterable[Triple]) -> Edit:
        """An edit of what is stated now."""
        held = set(stated)
        added, removed = random.choice(self._ways)(random)
        return (
            [t for t in dict.fromkeys(added) if t not in held],
            [t for t in dict.fromkeys(removed) if t in held],
        )

    def whole(self, thing: Node) -> list[Triple]:
        """All that is stated of a thing and of its records."""
        own = self._about.get(thing, [])
        return own + [t for _, _, o in own if isinstance(o, BNode) for t in self.whole(o)]

    def _of(self, kind: Node) -> list[Node]:
        return [s for s, p, o in self.data if p == RDF.type and o == kind]

    def _some(self, random: Random) -> Edit:
        return [], random.sample(self.data, random.randint(1, 5))

    def _whole_part(self, random: Random) -> Edit:
        return [], self.whole(random.choice(self.parts))

    def _whole_family(self, random: Random) -> Edit:
        return [], self.whole(random.choice(self.families))

    def _one_gift(self, random: Random) -> Edit:
        family = random.choice(self.families)
        gift = random.choice([t for t in self._about[family] if t[1] == RDFS.subClassOf])
        return [], [gift, *(self.whole(gift[2]) if isinstance(gift[2], BNode) else ())]

    def _untyped(self, random: Random) -> Edit:
        return [], [t for t in self.data if t[1] == RDF.type and random.random() < 0.004]

    def _linked(self, random: Random) -> Edit:
        times = range(random.randint(1, 4))
        to = (*self.parts, *self.families)
        pick = random.choice
        return [(pick(self.parts), pick(_CHAINS), pick(to)) for _ in times], []

    def _below(self, random: Random) -> Edit:
        return [(random.choice(self.families), RDFS.subClassOf, random.choice(self.families))], []

    def _more_gifts(self, random: Random) -> Edit:
        like, _, value = random.choice(self._values)
        (on,) = [o for _, p, o in self._about[like] if p == OWL.onProperty]
        gift = BNode(f"gift{random.randrange(10**9)}")
        said = [(RDF.type, OWL.Restriction), (OWL.onProperty, on), (OWL.hasValue, value)]
        family = random.choice(self.families)
        return [(family, RDFS.subClassOf, gift), *((gift, p, o) for p, o in said)], []

    def _retyped(self, random: Random) -> Edit:
        kinds = [random.choice(self.families) for _ in range(2)]
        added = [(random.choice(self.parts), RDF.type, kind) for kind in kinds]
        return added, random.sample(self.data, 2)

    def _unchained(self, random: Random) -> Edit:
        based = (random.choice(self.cars), KO.basedOn, random.choice(self.cars))
        chains = (KO.basedOn, KO.triedWith, *_CHAINS)
        return [based], [t for t in self.data if t[1] in chains and random.random() < 0.1]
