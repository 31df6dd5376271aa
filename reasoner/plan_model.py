"""For the optimiser: what a car alone decides as a model, and aims as one sum."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from weakref import WeakKeyDictionary

from ortools.sat.python import cp_model

from .car_problem import CarProblem

_MODELS: WeakKeyDictionary[CarProblem, cp_model.CpModel] = WeakKeyDictionary()


def model_of(car: CarProblem) -> cp_model.CpModel:
    """The clauses of a car, made once and to be copied; variable v of the problem stands at v."""
    found = _MODELS.get(car)
    if found is None:
        found = cp_model.CpModel()
        variables = [found.new_bool_var("") for _ in range(car.top + 1)]
        negated = [variable.negated() for variable in variables]
        for clause in car.clauses:
            found.add_bool_or([variables[v] if v > 0 else negated[-v] for v in clause])
        _MODELS[car] = found
    return found


def weighed(
    car: CarProblem, aims: Sequence[Sequence[tuple[int, int]]]
) -> list[tuple[int, int]] | None:
    """The terms of all aims (variable and weight), the least important aim first, with weights by
    which no amount of one aim outweighs a step of the next; None if they are too large together."""
    weight = 1
    found: list[tuple[int, int]] = []
    for terms in aims:
        found += [(v, w * weight) for v, w in terms]
        weight *= 1 + _most(car, terms)
    return found if weight < 2**62 else None


def _most(car: CarProblem, terms: Iterable[tuple[int, int]]) -> int:
    """The most that terms can come to: of all parts of a station one sits there."""
    dearest: dict[object, int] = {}
    for variable, weight in terms:
        at = car.meanings[variable][0] if variable in car.meanings else variable
        dearest[at] = max(dearest.get(at, 0), weight)
    return sum(dearest.values())
