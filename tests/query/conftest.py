"""The command over the tiny catalogue in a folder of its own; an answer with one of everything."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from knockon.query.answer import (
    Answer,
    CheckNote,
    Citation,
    Claimed,
    Comparison,
    ConsumableNote,
    Fitted,
    Line,
    MeetingNote,
    PartRef,
    PlanNote,
    PlanPartNote,
    ReasonStep,
    Thing,
    TurnNote,
    WorkNote,
)
from knockon.query.command import main

from tests.conftest import PREFIXES, TINY_DATA, TINY_STATIONS, tolerances

from .desks import demo_desk as demo_desk
from .desks import doubtful_desk as doubtful_desk
from .desks import sums_desk as sums_desk
from .desks import tiny_desk as tiny_desk

Run = Callable[..., Result]
KNOCK_ONS = "what else must change if I fit HD hub to Tiny T1 light?"


@pytest.fixture(scope="session")
def tiny_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The tiny catalogue as files; its stations stand in it as facts of its source."""
    folder = tmp_path_factory.mktemp("tiny")
    stations = TINY_STATIONS.removeprefix(PREFIXES)
    (folder / "stations.trig").write_text(f"{PREFIXES}src:drawings {{{stations}}}\n", "utf-8")
    (folder / "tiny.trig").write_text(TINY_DATA, "utf-8")
    (folder / "tolerances.trig").write_text(tolerances().text, "utf-8")
    return folder


@pytest.fixture(scope="session")
def surroundings(tiny_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Settings that keep a command to the tiny catalogue and to folders of the test."""
    own = tmp_path_factory.mktemp("own")
    return {
        "KNOCKON_DATA": str(tiny_folder),
        "KNOCKON_CACHE": str(own / "cache"),
        "KNOCKON_SHOP": str(own / "shop"),
        "XDG_STATE_HOME": str(own / "state"),
    }


@pytest.fixture(scope="session")
def run(surroundings: dict[str, str]) -> Run:
    """Run `knockon` with arguments (and standard input)."""

    def run(*arguments: str, stdin: str | None = None) -> Result:
        runner = CliRunner(env=surroundings)
        return runner.invoke(main, list(arguments), input=stdin, catch_exceptions=False)

    return run


def _thing(kind: str, name: str, label: str) -> Thing:
    return Thing(iri=f"https://knockon.example/{kind}/{name}", label=label)


def _part(number: str, label: str, price: float | None = None) -> PartRef:
    return PartRef(
        iri=f"https://knockon.example/part/{number}",
        label=label,
        number=number,
        maker="Ostrel",
        price_eur=price,
    )


@pytest.fixture(scope="session")
def full_answer() -> Answer:
    """An answer in which everything occurs that an answer can have; invented as all data here."""
    hub = _thing("station", "rear-hub", "rear hub")
    shaft = _thing("station", "rear-half-shaft", "rear half-shaft")
    rotor = _thing("station", "rear-rotor", "rear rotor")
    calliper = _thing("station", "rear-calliper", "rear calliper")
    spline = _thing("joint", "shaft-to-hub", "half-shaft spline ↔ hub spline")
    clearance = _thing("joint", "calliper-over-rotor", "calliper ↔ rotor")
    new_hub = _part("OW-1", "HD rear hub", 210)
    old_shaft, new_shaft = _part("OW-2", "half-shaft"), _part("OW-3", "HD half-shaft", 95.5)
    old_rotor, new_rotor = _part("OW-4", "280 mm rotor"), _part("OW-5", "300 mm rotor, *vented*")
    drawings = Citation(source="maker's drawings", standing="documented", by="Ostrel", date="2004")
    teeth = Comparison(
        quantity="number of teeth", outcome="clashes", relation="same", first=27, second=30,
        text="number of teeth 27 against 30: must be the same",
    )  # fmt: skip
    gap = Comparison(
        quantity="clearance", outcome="unproven", relation="at least", first=2.5, second=None,
        unit="mm", tolerance=1.5, text="clearance 2.5 mm against not known: unproven",
    )  # fmt: skip
    clash = MeetingNote(
        joint=spline, kind="spline", rule="same teeth and module", parts=(old_shaft, new_hub),
        outcome="clashes", standing="documented", comparisons=(teeth,),
        claims=(Claimed(end="outer spline", part="half-shaft", quantity="number of teeth",
                        value=27, cited=(drawings,)),),
    )  # fmt: skip
    doubt = MeetingNote(
        joint=clearance, kind="envelope", rule="clears by the margin",
        parts=(_part("OW-6", "calliper"), new_rotor), outcome="unproven", standing="presumed",
        comparisons=(gap,),
        claims=(Claimed(end="hat", part="300 mm rotor, *vented*", quantity="outer radius",
                        value=150, unit="mm", cited=(drawings,)),),
    )  # fmt: skip
    forced = ReasonStep(
        kind="joint", text="half-shaft spline ↔ hub spline must mate", origin=(hub,),
        station=shaft, meetings=(clash,), leaves=(new_shaft,),
    )  # fmt: skip
    needed = ReasonStep(
        kind="requirement", text="HD rear hub need HD rotor", origin=(hub,), station=rotor,
        leaves=(new_rotor,),
    )  # fmt: skip
    open_ = ReasonStep(
        kind="joint", text="calliper ↔ rotor must mate", origin=(rotor,), station=calliper,
        meetings=(doubt,),
    )  # fmt: skip
    plan = PlanNote(
        parts=(
            PlanPartNote(station=hub, quantity=2, was=_part("OW-0", "rear hub"), part=new_hub,
                         origin="new", price_eur=420),
            PlanPartNote(station=shaft, quantity=2, was=old_shaft, part=new_shaft,
                         origin="from stock, used", price_eur=191,
                         made_to=("length 812.8 mm",)),
            PlanPartNote(station=rotor, quantity=2, was=old_rotor, part=new_rotor,
                         origin="off the donor HD", price_eur=None),
        ),
        cost_eur=611, unpriced=(new_rotor,), hours=3.5,
        work=(
            WorkNote(operation=_thing("operation", "wheels-off", "wheels off"), hours=0.5),
            WorkNote(operation=_thing("operation", "hub-out", "hub out"), hours=3,
                     cannot_be_undone=True),
        ),
        irreversible=("press the old bearing off the knuckle",),
        unproven=(clearance,),
        blanks=(_thing("joint", "tone-sensor", "wheel-speed sensor port"),),
        lost=(_thing("joint", "cable", "parking brake cable"),),
        consumables=(ConsumableNote(label="hub nut", count="2", because=hub, price_eur=7.2),),
        advice=("fit both sides alike",), effects=("track 12 mm wider",),
        standing="presumed", optimal=True,
    )  # fmt: skip
    return Answer(
        question="what else must change if I fit OW-1 to Wether W2 late?",
        catalogue="0123456789abcdef",
        car=_thing("car", "w2-late", "Wether W2 late"),
        fitted=(Fitted(station=hub, now=_part("OW-0", "rear hub"), part=new_hub),),
        kept=(_thing("station", "rear-wheel", "rear wheel"),),
        workable=True,
        strictly_workable=True,
        summary="2 must change, 1 is a choice, 1 keep.",
        lines=(
            Line(station=shaft, quantity=2, verdict="must", strictly="must", now=old_shaft,
                 options=(new_shaft,), forced_by=(hub,), because=(forced,), chains=((0,),)),
            Line(station=rotor, quantity=2, verdict="must", strictly="must", now=old_rotor,
                 options=(new_rotor,), forced_by=(hub,), because=(needed,), chains=((0,),)),
            Line(station=calliper, quantity=2, verdict="choice", strictly="must",
                 now=_part("OW-6", "calliper"),
                 options=(_part("OW-7", "big calliper"), _part("OW-8", "bigger calliper")),
                 forced_by=(rotor,), because=(needed, open_), chains=((0, 1),)),
            Line(station=_thing("station", "rear-damper", "rear damper"), quantity=2,
                 verdict="keeps", strictly="keeps", now=_part("OW-9", "rear damper")),
        ),
        plans=(plan, plan.model_copy(update={"unproven": (), "cost_eur": 900})),
        checks=(
            CheckNote(joint=clearance, meetings=(doubt,), ends_it=False,
                      measure=("clearance: lay a straight edge over the calliper",),
                      turns=(TurnNote(station=calliper, now="choice", then="must"),)),
        ),
        cautions=("Support the car on stands.",),
    )  # fmt: skip
