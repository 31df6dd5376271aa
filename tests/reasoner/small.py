"""Small random catalogues, and verdicts on them by looking at every build there is.

The referee shares nothing with the solver: it walks the product of all parts at all stations.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product

from hypothesis import strategies as st
from knockon.reasoner.build import Build, stock_build
from knockon.reasoner.catalogue import (
    Car,
    Catalogue,
    Claim,
    End,
    Family,
    Fit,
    Joint,
    Member,
    Named,
    Part,
    Source,
    Standing,
    Station,
)
from knockon.reasoner.interfaces.kind import Outcome
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Problem, Wishes
from knockon.reasoner.verdicts import Verdict

SRC = "src"
BETWEEN = "between"
TOLERANCES = {"Spline": {"module": Decimal("0.001"), "pressureAngle": Decimal("0.01")}}


@dataclass(frozen=True)
class SmallCase:
    """A catalogue with one car and what is wished of it."""

    catalogue: Catalogue
    build: Build
    wishes: Wishes


def _end(iri: str, role: str, side: str, teeth: int | None) -> End:
    values = {"module": 1, "pressureAngle": 30}
    claims = {name: (Claim(value, (SRC,)),) for name, value in values.items()}
    if teeth is not None:
        claims["teeth"] = (Claim(teeth, (SRC,)),)
    return End(iri, iri, "Spline", role, side, dict(sorted(claims.items())))


@st.composite
def small_cases(draw: st.DrawFn, stations: int = 5, parts: int = 3) -> SmallCase:
    """Random joints, ends, gaps, requirements, sets, trial fits, an optional station and a go-between."""
    names = [f"s{i}" for i in range(draw(st.integers(2, stations)))]
    pairs = [(a, b) for i, a in enumerate(names) for b in names[i + 1 :]]
    joined = draw(st.lists(st.sampled_from(pairs), unique=True, max_size=len(names) + 1))
    counts = {s: draw(st.integers(2, parts)) for s in names}
    optional = draw(st.sets(st.sampled_from(names), max_size=1))
    with_between = draw(st.sampled_from([None, None, *joined]))
    ends: dict[str, End] = {}
    roles: dict[str, dict[str, str]] = {}
    joints = {}
    for a, b in joined:
        iri = f"j-{a}-{b}"
        sides = ((a, f"{iri}-a", "external"), (b, f"{iri}-b", "internal"))
        for station, role, side in sides:
            for n in range(counts[station]):
                # The present parts (0) always mate, so that the car is sound as it stands.
                choice = 1 if n == 0 else draw(st.sampled_from([1, 2, 2, 3, None]))
                end = _end(f"e-{role}-{n}", role, side, choice)
                ends[end.iri] = end
                roles.setdefault(f"p-{station}-{n}", {})[role] = end.iri
        alone = draw(st.sampled_from(["MustMeet", "MayStandAlone"]))
        joints[iri] = Joint(
            iri, iri, "Spline",
            tuple(Member(station, role, 1, alone) for station, role, _ in sides),
        )  # fmt: skip
        if (a, b) == with_between:
            near, far = f"{iri}-near", f"{iri}-far"
            for n, (role, side) in product(range(2), ((near, "internal"), (far, "external"))):
                end = _end(f"e-{role}-{n}", role, side, draw(st.sampled_from([1, 2, 2, 3, None])))
                ends[end.iri] = end
                roles.setdefault(f"p-{BETWEEN}-{n}", {})[role] = end.iri
            joints[iri] = replace(joints[iri], via=BETWEEN, via_roles=(near, far))
    everyone = [f"p-{s}-{n}" for s in names for n in range(counts[s])]
    wanting = draw(
        st.lists(st.tuples(st.sampled_from(everyone), st.sampled_from(everyone)), max_size=2)
    )
    set_members = draw(st.sets(st.sampled_from(everyone), max_size=3))
    if with_between:
        counts[BETWEEN] = 2
        optional.add(BETWEEN)
    catalogue = _catalogue(
        list(counts), counts, ends, roles, joints, optional, wanting, set_members
    )
    tried = (
        draw(st.lists(st.tuples(*[st.sampled_from(sorted(ends))] * 2), max_size=2)) if ends else []
    )
    pairs_tried = {(min(pair), max(pair)): (SRC,) for pair in tried}
    catalogue = replace(catalogue, tried=dict(sorted(pairs_tried.items())))
    fitted = draw(st.sampled_from(names))
    wished = f"p-{fitted}-{draw(st.integers(1, counts[fitted] - 1))}"
    others = [n for n in names if n != fitted]
    keeps = draw(st.sets(st.sampled_from(others), max_size=1))
    build = stock_build(catalogue, catalogue.cars["car"])
    return SmallCase(catalogue, build, Wishes({fitted: wished}, tuple(sorted(keeps))))


def pair_tried_against_the_numbers() -> SmallCase:
    """Two stations. What is fitted at s1 clashes by its teeth with what is at s0, but somebody put
    just these together; another part for s0 has its teeth."""
    joint, ends, roles = "j", dict[str, End](), dict[str, dict[str, str]]()
    sides = (("s0", "a", "external", (1, 1, 2)), ("s1", "b", "internal", (1, 2)))
    for station, role, side, teeth in sides:
        for n, count in enumerate(teeth):
            end = _end(f"e-{role}-{n}", role, side, count)
            ends[end.iri] = end
            roles[f"p-{station}-{n}"] = {role: end.iri}
    members = tuple(Member(station, role, 1, "MustMeet") for station, role, _, _ in sides)
    joints = {joint: Joint(joint, joint, "Spline", members)}
    catalogue = _catalogue(["s0", "s1"], {"s0": 3, "s1": 2}, ends, roles, joints, set(), [], set())
    catalogue = replace(catalogue, tried={("e-a-0", "e-b-1"): (SRC,)})
    build = stock_build(catalogue, catalogue.cars["car"])
    return SmallCase(catalogue, build, Wishes({"s1": "p-s1-1"}))


def _catalogue(
    names: list[str],
    counts: dict[str, int],
    ends: dict[str, End],
    roles: dict[str, dict[str, str]],
    joints: dict[str, Joint],
    optional: set[str],
    wanting: list[tuple[str, str]],
    set_members: set[str],
) -> Catalogue:
    parts = {}
    for s in names:
        for n in range(counts[s]):
            iri = f"p-{s}-{n}"
            asked = {f"f-{b[2:]}" for a, b in wanting if a == iri and n > 0}
            parts[iri] = Part(
                iri, iri, iri, (), "maker", f"f-{iri[2:]}", frozenset({f"f-{iri[2:]}"}), (s,),
                {role: (end,) for role, end in sorted(roles.get(iri, {}).items())}, {}, (SRC,),
                requires=tuple(sorted(asked)),
                asks=dict.fromkeys(sorted(asked), f"f-{iri[2:]}"),
                sets=("set",) if iri in set_members and n > 0 else (),
            )  # fmt: skip
    families = {
        p.family: Family(p.family, p.family, (), p.stations, (p.iri,)) for p in parts.values()
    }
    fits = {s: Fit(None if s in optional else f"p-{s}-0", (SRC,)) for s in names}
    return Catalogue(
        version="small",
        sources={SRC: Source(SRC, "drawn", Standing.DOCUMENTED)},
        stations={s: Station(s, s, (), 1, "", s in optional) for s in names},
        families=families, parts=parts, ends=ends, joints=dict(sorted(joints.items())),
        cars={"car": Car("car", "car", (), "line", "gen", "", fits)},
        generations={"gen": Named("gen", "gen")}, lines={}, roles={}, sets={"set": Named("set", "set")},
        makers={}, operations={}, quantities={}, kinds={}, tolerances=TOLERANCES, tried={},
    )  # fmt: skip


def workable_builds(
    case: SmallCase, *, strict: bool, refuted: frozenset[str] = frozenset()
) -> Iterator[dict[str, str | None]]:
    """Every workable plan, by trying all of them; unproven joints of `refuted` count as clashes."""
    catalogue, wishes = case.catalogue, case.wishes
    mating = Mating(catalogue)
    problem = Problem(mating, case.build, wishes, whole=True)
    domains = problem.domains
    stations = list(domains)
    for choice in product(*domains.values()):
        plan = dict(zip(stations, choice, strict=True))
        if any(plan[s] != p for s, p in wishes.fits.items()):
            continue
        if any(plan[s] != case.build.fits[s] for s in wishes.keeps):
            continue
        if wishes.budget is not None:
            cost = sum(problem.cents(s, p) for s, p in plan.items())
            if cost > wishes.budget * 100:
                continue
        banned = {p for ban in wishes.bans for p in ban.parts}
        if any(p in banned and p != case.build.fits[s] for s, p in plan.items()):
            continue
        if _holds(catalogue, mating, plan, strict=strict, refuted=refuted):
            yield plan


def _holds(
    catalogue: Catalogue,
    mating: Mating,
    plan: dict[str, str | None],
    *,
    strict: bool,
    refuted: frozenset[str],
) -> bool:
    there = [catalogue.parts[p] for p in plan.values() if p]
    for joint in catalogue.joints.values():
        parts = [catalogue.parts[p] if (p := plan[s]) else None for s in joint.stations]
        for mate in mating.meet(joint, parts):
            outcome = mate.under(Standing.REPORTED)
            counts = strict or joint.iri in refuted
            if outcome is Outcome.CLASHES or (counts and outcome is Outcome.UNPROVEN):
                return False
    for part in there:
        if any(not any(f in other.families for other in there) for f in part.requires):
            return False
    for matched in catalogue.sets:
        of_set = [p for p in catalogue.parts.values() if matched in p.sets]
        stations = {s for p in of_set for s in p.stations}
        if any(matched in p.sets for p in there):
            for station in stations:
                sitting = plan[station]
                if sitting is None or matched not in catalogue.parts[sitting].sets:
                    return False
    return True


def irredundant_ways(
    case: SmallCase, *, strict: bool, refuted: frozenset[str] = frozenset()
) -> set[frozenset[str]]:
    """The sets of changed stations with no workable proper subset, by comparing all with all."""
    fits = case.build.fits
    changes = {
        frozenset(s for s, p in plan.items() if p != fits[s])
        for plan in workable_builds(case, strict=strict, refuted=refuted)
    }
    return {c for c in changes if not any(other < c for other in changes)}


def verdicts_by_definition(
    case: SmallCase, *, strict: bool, refuted: frozenset[str] = frozenset()
) -> dict[str, Verdict] | None:
    """The definitions of must, choice and keeps, word for word. None: no workable plan."""
    ways = irredundant_ways(case, strict=strict, refuted=refuted)
    if not ways:
        return None
    return {
        s: Verdict.MUST
        if all(s in w for w in ways)
        else Verdict.CHOICE
        if any(s in w for w in ways)
        else Verdict.KEEPS
        for s in case.build.fits
        if s not in case.wishes.fits
    }


def priced(case: SmallCase) -> SmallCase:
    """The same case with prices, so that plans differ in cost."""
    parts = {
        iri: replace(part, price=Decimal(10 + 7 * at % 40))
        for at, (iri, part) in enumerate(case.catalogue.parts.items())
    }
    return replace(case, catalogue=replace(case.catalogue, parts=parts))
