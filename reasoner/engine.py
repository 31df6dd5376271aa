"""What a search needs of a solver, and the SAT solver that serves when no sum is limited.

Every engine answers the same three questions: do these literals hold together, by which model,
and if not, which of them clash.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol

from pysat.solvers import Solver


class Engine(Protocol):
    """What a search needs of a solver."""

    def solve(self, assumptions: Sequence[int]) -> bool:
        """Whether the clauses and the assumptions hold together."""

    def model(self) -> Iterable[int]:
        """The literals of the last model."""

    def core(self) -> frozenset[int]:
        """Assumptions of the last failed call that cannot hold together."""

    def add(self, clause: Sequence[int]) -> None:
        """One more clause for good."""

    def close(self) -> None:
        """Free what the solver holds."""


class SatEngine:
    """An incremental SAT solver; fast, knows no sums."""

    def __init__(self, clauses: Iterable[list[int]], phases: Iterable[int]) -> None:
        self._solver = Solver(name="glucose4", bootstrap_with=clauses)
        # Trying the present part first keeps models close to the car as it stands.
        self._solver.set_phases(list(phases))

    def solve(self, assumptions: Sequence[int]) -> bool:
        """See `Engine.solve`."""
        return bool(self._solver.solve(assumptions=list(assumptions)))

    def model(self) -> Iterable[int]:
        """See `Engine.model`."""
        return self._solver.get_model() or ()

    def core(self) -> frozenset[int]:
        """See `Engine.core`."""
        return frozenset(self._solver.get_core() or ())

    def add(self, clause: Sequence[int]) -> None:
        """See `Engine.add`."""
        self._solver.add_clause(list(clause))

    def close(self) -> None:
        """See `Engine.close`."""
        self._solver.delete()
