"""Whether a plan stays within a limit on money or hours, without the clauses that say so."""

from __future__ import annotations

from collections.abc import Sequence

from .problem import Problem, SumLimit


class Scales:
    """Weighs what a solver's model has against one limit.

    `idle` says that no plan can overstep the limit.
    """

    def __init__(self, problem: Problem, limit: SumLimit) -> None:
        operations = dict.fromkeys(problem.operations.values(), 0)
        self._parts: list[tuple[int, int]] = []
        self._at: dict[str, list[tuple[int, int]]] = {}
        for variable, weight in limit.terms:
            if variable in operations:
                operations[variable] = weight
                continue
            self._parts.append((variable - 1, weight))
            station, _ = problem.car.meanings[variable]
            self._at.setdefault(station, []).append((weight, variable))
        self._most = limit.most
        dearest = sum(max(weights)[0] for weights in self._at.values())
        self.idle = dearest + sum(operations.values()) <= limit.most
        self._weights = operations
        self._opening: list[tuple[int, list[int]]] = []
        self._before: dict[int, list[int]] = {}
        if any(operations.values()):
            for clause in problem.clauses[len(problem.car.clauses) :]:
                if -clause[0] in operations:
                    self._before.setdefault(-clause[0], []).append(clause[1])
                elif len(clause) > 1 and clause[1] in operations:
                    self._opening.append((clause[0] - 1, clause[1:]))

    def within(self, model: Sequence[int]) -> bool:
        """Whether the model is seen to stay within the limit. A false answer is not the last word:
        where stations can be opened in several ways, only one is looked at."""
        total = sum(weight for at, weight in self._parts if model[at] > 0)
        if total > self._most or not self._opening:
            return total <= self._most
        needed: set[int] = set()
        for kept, ways in self._opening:
            if model[kept] < 0 and needed.isdisjoint(ways):
                waiting = [min(ways, key=lambda v: (self._weights[v], v))]
                while waiting:
                    operation = waiting.pop()
                    if operation not in needed:
                        needed.add(operation)
                        waiting += self._before.get(operation, ())
        return total + sum(self._weights[v] for v in needed) <= self._most

    def cover(self, model: Sequence[int]) -> list[list[int]] | None:
        """Groups of parts, of which no plan within the limit has one of each; the model has.

        None where parts alone do not overstep the limit.
        """
        chosen = sorted(
            (
                (weight, station)
                for station, weights in self._at.items()
                for weight, variable in weights
                if model[variable - 1] > 0
            ),
            reverse=True,
        )
        total, taken = 0, 0
        while total <= self._most and taken < len(chosen):
            total += chosen[taken][0]
            taken += 1
        spare = total - self._most - 1
        if spare < 0:
            return None
        groups = []
        for weight, station in chosen[:taken]:
            # As much cheaper as may be, so that one cover speaks for many plans.
            least = min(w for w, _ in self._at[station] if weight - w <= spare)
            spare -= max(weight - least, 0)
            groups.append([v for w, v in self._at[station] if w >= least])
        return groups
