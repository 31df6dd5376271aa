"""CP-SAT as the engine of a search, where the customer limits money or hours."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ortools.sat.python import cp_model

from .problem import SumLimit


class SumEngine:
    """CP-SAT on the same clauses, with sums of money and hours bounded.

    One thread and a fixed seed: the same question gives the same model.
    """

    def __init__(self, clauses: Iterable[list[int]], top: int, sums: Sequence[SumLimit]) -> None:
        self._model = cp_model.CpModel()
        self._variables = [self._model.new_bool_var("") for _ in range(top + 1)]
        for clause in clauses:
            self.add(clause)
        for limit in sums:
            terms = sum(
                self._variables[literal] * weight for literal, weight in limit.terms if weight
            )
            self._model.add(terms <= limit.most).only_enforce_if(self._variables[limit.switch])
        self._solver = cp_model.CpSolver()
        self._solver.parameters.num_workers = 1
        self._solver.parameters.random_seed = 0
        self._assumed: list[int] = []

    def _literal(self, literal: int) -> cp_model.LiteralT:
        while abs(literal) >= len(self._variables):
            variable = self._model.new_bool_var("")
            self._variables.append(variable)
        variable = self._variables[abs(literal)]
        return variable if literal > 0 else variable.negated()

    def solve(self, assumptions: Sequence[int]) -> bool:
        """See `Engine.solve`."""
        self._model.clear_assumptions()
        self._model.add_assumptions([self._literal(a) for a in assumptions])
        self._assumed = list(assumptions)
        status = self._solver.solve(self._model)
        return status in (cp_model.OPTIMAL, cp_model.FEASIBLE)

    def model(self) -> Iterable[int]:
        """See `Engine.model`."""
        return [n for n, v in enumerate(self._variables) if n and self._solver.value(v)]

    def core(self) -> frozenset[int]:
        """See `Engine.core`."""
        # CP-SAT names the assumptions by its own literal numbers; a negated one is -1 - index.
        found = set(self._solver.sufficient_assumptions_for_infeasibility())
        return frozenset(
            a
            for a in self._assumed
            if (v := self._variables[abs(a)].index) in found or (a < 0 and -1 - v in found)
        )

    def add(self, clause: Sequence[int]) -> None:
        """See `Engine.add`."""
        self._model.add_bool_or([self._literal(literal) for literal in clause])

    def close(self) -> None:
        """Nothing outlives the object."""
