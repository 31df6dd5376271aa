"""What a car alone decides, as a model for the optimiser."""

from __future__ import annotations

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
