"""A second solver from the registry, on larger random catalogues than brute force can walk.

The referee is PySAT's MaxSAT solver RC2, on the same meetings of ends but an encoding of its own:
one soft clause for each station that keeps its part.
"""

from __future__ import annotations

from itertools import combinations, product

import pytest
from knockon.reasoner.build import Build
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.interfaces.kind import Outcome
from knockon.reasoner.mating import PROVEN, Mating
from knockon.reasoner.plans import Aim, find_plans
from knockon.reasoner.problem import Problem, Wishes
from knockon.reasoner.verdicts import Verdict, find_verdicts
from pysat.examples.rc2 import RC2
from pysat.formula import WCNF

from ..benchmarks.synthetic import synthetic

# Stations, parts at each, seed, the part that is fitted: several ways, one way, and none.
CASES = [
    (20, 20, 2, "s005-p001"),
    (20, 20, 4, "s005-p002"),
    (30, 20, 5, "s005-p002"),
    (30, 20, 3, "s005-p001"),
    (20, 8, 2, "s005-p001"),
]


def encoded(
    catalogue: Catalogue, build: Build, wished: str
) -> tuple[WCNF, dict[tuple[str, str], int]]:
    """Hard clauses for every pair of parts that clash, written without looking at ends twice."""
    mating = Mating(catalogue)
    sitting = {s: [p.iri for p in catalogue.parts.values() if s in p.stations] for s in build.fits}
    variables = {
        pair: at for at, pair in enumerate(((s, p) for s in sitting for p in sitting[s]), start=1)
    }
    formula = WCNF()
    for station, parts in sitting.items():
        formula.append([variables[station, p] for p in parts])
        for a, b in combinations(parts, 2):
            formula.append([-variables[station, a], -variables[station, b]])
    for joint in catalogue.joints.values():
        first, second = joint.stations
        for a, b in product(sitting[first], sitting[second]):
            found = mating.meet(joint, [catalogue.parts[a], catalogue.parts[b]])
            if any(mate.under(PROVEN) is Outcome.CLASHES for mate in found):
                formula.append([-variables[first, a], -variables[second, b]])
    formula.append([variables[wished[:4], wished]])
    return formula, variables


@pytest.mark.parametrize("case", CASES, ids=str)
def test_verdicts_and_fewest_parts_agree_with_a_maxsat_solver(
    case: tuple[int, int, int, str],
) -> None:
    stations, parts, seed, wished = case
    catalogue, build = synthetic(stations, parts, seed)
    problem = Problem(Mating(catalogue), build, Wishes({wished[:4]: wished}))
    found = find_verdicts(problem)
    formula, variables = encoded(catalogue, build, wished)
    for station, part in build.fits.items():
        assert part is not None
        formula.append([variables[station, part]], weight=1)
    with RC2(formula) as referee:
        workable = referee.compute() is not None
        fewest = referee.cost
    assert found.workable == workable
    if not workable:
        return
    assert min(len(way) for way in found.ways) == fewest
    (best,) = find_plans(problem, most=1)
    assert best.figure(Aim.PARTS) == fewest
    for station, verdict in found.verdicts.items():
        part = build.fits[station]
        assert part is not None
        hard = WCNF()
        hard.extend(formula.hard)
        hard.append([variables[station, part]])
        with RC2(hard) as referee:
            kept = referee.compute() is not None
        assert (verdict is Verdict.MUST) == (not kept)
