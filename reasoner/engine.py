"""The SAT solver behind a search."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pysat.solvers import Solver

SOLVER = "minisat-gh"
"""Of the solvers that the library brings, the quickest with so small problems."""


class SatEngine:
    """An incremental SAT solver: do these literals hold together, by which model, else why not?

    `phases` are literals to be tried first, `top` is the highest variable of the clauses. With a
    clause added later it serves no other question (`spent`).
    """

    def __init__(self, clauses: Iterable[list[int]], phases: Iterable[int], top: int) -> None:
        self._solver = Solver(name=SOLVER, bootstrap_with=clauses)
        self._solver.set_phases(list(phases))
        self._top = top
        self.spent = False

    def solve(self, assumptions: Sequence[int]) -> bool:
        """Whether the clauses and the assumptions hold together."""
        return bool(self._solver.solve(assumptions=assumptions))

    def implied(self, assumptions: Sequence[int]) -> Sequence[int] | None:
        """Literals that plainly follow from the assumptions (more may follow).

        None where the assumptions plainly cannot hold together.
        """
        fine, literals = self._solver.propagate(assumptions=assumptions)
        return literals if fine else None

    def model(self) -> Sequence[int]:
        """The literals of the last model; that of variable v stands at v - 1."""
        return self._solver.get_model() or ()

    def core(self) -> Sequence[int]:
        """Assumptions of the last failed call that cannot hold together."""
        return self._solver.get_core() or ()

    def fresh(self) -> int:
        """A variable nothing else uses."""
        self._top += 1
        return self._top

    def add(self, clause: Sequence[int]) -> None:
        """One more clause for good."""
        self.spent = True
        self._solver.add_clause(clause)

    def close(self) -> None:
        """Free what the solver holds."""
        self._solver.delete()
