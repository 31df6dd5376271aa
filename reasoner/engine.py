"""The SAT solver behind a search."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pysat.solvers import Solver


class SatEngine:
    """An incremental SAT solver: do these literals hold together, by which model, else why not?"""

    def __init__(self, clauses: Iterable[list[int]], phases: Iterable[int]) -> None:
        self._solver = Solver(name="glucose4", bootstrap_with=clauses)
        # Trying the present part first keeps models close to the car as it stands.
        self._solver.set_phases(list(phases))

    def solve(self, assumptions: Sequence[int]) -> bool:
        """Whether the clauses and the assumptions hold together."""
        return bool(self._solver.solve(assumptions=list(assumptions)))

    def model(self) -> Iterable[int]:
        """The literals of the last model."""
        return self._solver.get_model() or ()

    def core(self) -> frozenset[int]:
        """Assumptions of the last failed call that cannot hold together."""
        return frozenset(self._solver.get_core() or ())

    def add(self, clause: Sequence[int]) -> None:
        """One more clause for good."""
        self._solver.add_clause(list(clause))

    def close(self) -> None:
        """Free what the solver holds."""
        self._solver.delete()
