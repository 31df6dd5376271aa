"""Take facts back from a deduction: first all that might rest on them, then back what does not.

(Delete and rederive.) What is still stated is never taken.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from .deduction import Deduction, Link
from .grounds import Grounds
from .relation import has, linked, reach, take


class Withdrawal:
    """What is to be taken back from one deduction.

    `is_stated` says of a link whether somebody still states it, `firm` of a thing what kinds its
    stated kinds make it in future, and `ups` of a kind what it was a kind of until now.
    """

    def __init__(
        self,
        deduction: Deduction,
        grounds: Grounds,
        is_stated: Callable[[Link], bool],
        firm: Callable[[int], frozenset[int]],
        ups: Callable[[int], frozenset[int]],
    ) -> None:
        self._deduction, self._grounds = deduction, grounds
        self._is_stated, self._firm, self._ups = is_stated, firm, ups
        self._doomed: set[Link] = set()
        self._lost: dict[int, set[int]] = {}
        self._todo: list[Link] = []

    def lose(self, x: int, kinds: Iterable[int]) -> None:
        """A thing may not be of these kinds any more, nor of what follows from them."""
        gone = {k for kind in kinds for k in (kind, *self._ups(kind))}
        self.lose_just(x, gone)

    def lose_just(self, x: int, kinds: Iterable[int]) -> None:
        """A thing may not be of these kinds any more; what they are kinds of is among them."""
        deduction = self._deduction
        gives = deduction.tree.gives
        gone = deduction.sort[x].classes.intersection(kinds) - self._firm(x)
        held = self._lost.setdefault(x, set())
        for kind in gone - held:
            held.add(kind)
            if kind in gives:
                relation, value = gives[kind]
                self.doom((x, relation, value))

    def doom(self, link: Link) -> None:
        """A link may not be any more."""
        s, relation, o = link
        if link in self._doomed or not has(relation.out, s, o) or self._is_stated(link):
            return
        self._doomed.add(link)
        self._todo.append(link)

    def spread(self) -> None:
        """Doom and lose all that might follow from what is doomed; nothing is taken yet."""
        while self._todo:
            s, relation, o = self._todo.pop()
            if relation.domain:
                self.lose(s, relation.domain)
            if relation.range:
                self.lose(o, relation.range)
            given = relation.given.get(o)
            if given is not None:
                self.lose(s, (given,))
            for wider in relation.wider:
                self.doom((s, wider, o))
            for inverse in relation.inverses:
                self.doom((o, inverse, s))
            if relation.transitive:
                for z in linked(relation.out, o):
                    self.doom((s, relation, z))
                for w in linked(relation.into, s):
                    self.doom((w, relation, o))
            for before, after, whole in relation.chains:
                ends = reach((o,), after, backwards=False)
                if ends:
                    for w in reach((s,), before, backwards=True):
                        for z in ends:
                            self.doom((w, whole, z))

    def take(self) -> None:
        """Take away all that was doomed or lost."""
        deduction = self._deduction
        before = deduction.links_before
        for link in self._doomed:
            s, relation, o = link
            take(relation.out, s, o)
            take(relation.into, o, s)
            if before is not None:
                before[link] = True
        for x, kinds in self._lost.items():
            if kinds:
                deduction.note_move(x)
                deduction.sort[x] = deduction.sort_of(deduction.sort[x].classes - kinds)

    def give_back(self) -> None:
        """Put back what follows from something else as well."""
        deduction, grounds = self._deduction, self._grounds
        up = deduction.tree.up
        for x, kinds in self._lost.items():
            left = deduction.sort[x].classes - self._firm(x)
            deduction.gain_all(x, frozenset(k for kind in left for k in up(kind)))
            for kind in sorted(kinds):
                if kind not in deduction.sort[x].classes and grounds.gives_kind(x, kind):
                    deduction.gain(x, kind)
        deduction.stack += [link for link in self._doomed if grounds.gives_link(link)]
        deduction.settle()
