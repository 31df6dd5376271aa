"""Which class is a kind of which, and what being of a class gives (scm-sco, scm-eqc, scm-hv).

A restriction to a value says the same as every other restriction to it, so all of them stand for
one class of our own, the *value class* of a property and a value: what is in it is linked to the
value, and what is linked to the value is in it (cls-hv1, cls-hv2). A blank restriction of which
nothing more is said disappears in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Set

from .reached import reached
from .relation import Relation, Table, linked, put, take


class ClassTree:
    """Classes as whole numbers. `gives` are the value classes with their link."""

    def __init__(self, new_class: Callable[[], int]) -> None:
        self._new_class = new_class
        self.above: Table = {}
        self.below: Table = {}
        self.meaning: dict[int, int] = {}
        self.gives: dict[int, tuple[Relation, int]] = {}
        self.notable: dict[int, set[int]] = {}
        self._ups: dict[int, frozenset[int]] = {}

    def put_below(self, one: int, other: int) -> None:
        """State that every `one` is an `other`."""
        put(self.above, one, other)
        put(self.below, other, one)

    def take_from(self, one: int, other: int) -> None:
        """Withdraw that every `one` is an `other`."""
        take(self.above, one, other)
        take(self.below, other, one)

    def value_class(self, relation: Relation, value: int) -> int:
        """The class of all that is linked to `value`."""
        found = relation.given.get(value)
        if found is None:
            found = relation.given[value] = self._new_class()
            self.gives[found] = (relation, value)
        return found

    def note(self, restriction: int) -> None:
        """That more is said of a restriction than what it is: it stays a class of its own."""
        value_class = self.meaning.get(restriction)
        if value_class is not None:
            self.notable.setdefault(value_class, set()).add(restriction)

    def up(self, kind: int) -> frozenset[int]:
        """All that `kind` is a kind of; itself only where it stands below itself."""
        found = self._ups.get(kind)
        if found is None:
            found = self._ups[kind] = frozenset(reached(self._next(kind), self._next))
        return found

    def known_to_reach(self, changed: Set[int]) -> dict[int, frozenset[int]]:
        """Of the classes that were looked at, those that are among `changed` or kinds of them.

        With what each is a kind of.
        """
        return {
            kind: ups
            for kind, ups in self._ups.items()
            if kind in changed or not ups.isdisjoint(changed)
        }

    def forget(self, kinds: Iterable[int]) -> None:
        """Look anew, next time, at what these are kinds of."""
        for kind in kinds:
            self._ups.pop(kind, None)

    def _next(self, kind: int) -> Iterable[int]:
        for above in linked(self.above, kind):
            value_class = self.meaning.get(above)
            if value_class is None or above in self.notable.get(value_class, ()):
                yield above
            else:
                yield value_class
        value_class = self.meaning.get(kind)
        if value_class is not None:
            yield value_class
        yield from self.notable.get(kind, ())
        given = self.gives.get(kind)
        if given is not None:
            relation, value = given
            for wider in relation.wider:
                found = wider.given.get(value)
                if found is not None:
                    yield found
