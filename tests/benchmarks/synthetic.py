"""Catalogues of any size, shaped like the demo: families of parts, joints that nearly form a tree.

Deterministic: the same numbers give the same catalogue.
"""

from __future__ import annotations

from decimal import Decimal
from random import Random

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

SRC = "src"
SIZES = 6
"""Different spline sizes at each joint; parts of one family share a size at every joint."""

_TOLERANCES = {"Spline": {"module": Decimal("0.005"), "pressureAngle": Decimal("0.1")}}


def synthetic(stations: int, parts: int, seed: int = 1) -> tuple[Catalogue, Build]:
    """`stations` stations with `parts` parts each, and the stock build of their one car."""
    random = Random(seed)
    names = [f"s{i:03}" for i in range(stations)]
    pairs = [(names[random.randrange(max(0, i - 5), i)], names[i]) for i in range(1, stations)]
    pairs += [tuple(sorted(random.sample(names, 2))) for _ in range(stations // 10)]
    ends: dict[str, End] = {}
    at: dict[str, dict[str, tuple[str, ...]]] = {
        f"{s}-p{n:03}": {} for s in names for n in range(parts)
    }
    joints: dict[str, Joint] = {}
    for a, b in sorted(set(pairs)):
        iri = f"joint-{a}-{b}"
        if a == b or iri in joints:
            continue
        for station, side in ((a, "external"), (b, "internal")):
            for size in range(SIZES):
                claims = {
                    "teeth": (Claim(20 + size, (SRC,)),),
                    "module": (Claim(Decimal(1), (SRC,)),),
                    "pressureAngle": (Claim(Decimal(30), (SRC,)),),
                }
                end = f"end-{iri}-{station}-{size}"
                ends[end] = End(end, end, "Spline", f"{iri}-{station}", side, claims)
            for n in range(parts):
                # Part 0 is the works' own; the others follow the family they are of, or stray.
                size = (
                    0
                    if n == 0
                    else (n % SIZES if random.random() < 0.7 else random.randrange(SIZES))
                )
                at[f"{station}-p{n:03}"][f"{iri}-{station}"] = (f"end-{iri}-{station}-{size}",)
        members = tuple(Member(s, f"{iri}-{s}", 1, "MustMeet") for s in (a, b))
        joints[iri] = Joint(iri, iri, "Spline", members)
    made = {
        iri: Part(
            iri, iri, iri, (), "maker", f"family-{iri[:4]}-{int(iri[6:]) % SIZES}",
            frozenset({f"family-{iri[:4]}-{int(iri[6:]) % SIZES}"}), (iri[:4],),
            dict(sorted(roles.items())), {}, (SRC,), price=Decimal(10 + random.randrange(90)),
        )
        for iri, roles in at.items()
    }  # fmt: skip
    families = {
        name: Family(name, name, (), (), tuple(p.iri for p in made.values() if p.family == name))
        for name in sorted({p.family for p in made.values()})
    }
    fits = {s: Fit(f"{s}-p000", (SRC,)) for s in names}
    catalogue = Catalogue(
        version=f"synthetic-{stations}-{parts}-{seed}",
        sources={SRC: Source(SRC, "drawn at random", Standing.DOCUMENTED)},
        stations={s: Station(s, s, (), 1, "", False) for s in names},
        families=families, parts=made, ends=ends, joints=joints,
        cars={"car": Car("car", "car", (), "line", "generation", "", fits)},
        generations={"generation": Named("generation", "generation")}, lines={}, roles={}, sets={},
        makers={}, operations={}, quantities={}, kinds={}, tolerances=_TOLERANCES, tried={},
    )  # fmt: skip
    return catalogue, stock_build(catalogue, catalogue.cars["car"])
