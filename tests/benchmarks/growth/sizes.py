"""Which sizes a synthetic car has: by its line, its place in the line, and light or heavy.

Three scopes. A *standard* size is one of a few that recur in every line; a *platform* size is one
line's own (body mounts, bell housing, subframe), so that unrelated lines clash there; a *derived*
one follows from others, so that every chain of a stock car closes. From one generation to the next
a size stays or steps on; the heavy car stands some steps further.

Standard sizes recur within one *house*; where there are several, what one makes does not go with
anything of another.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from hashlib import blake2b
from itertools import repeat

SEED = "knockon synthetic catalogue 1"


def chance(*what: object) -> float:
    """A number in [0, 1) that depends on nothing but the names given."""
    text = "/".join((SEED, *(str(w) for w in what)))
    return int.from_bytes(blake2b(text.encode(), digest_size=7).digest(), "big") / 2**56


def pick(most: int, *what: object) -> int:
    """A whole number from 0 to below `most`, by the same rule."""
    return int(chance(*what) * most)


@dataclass(frozen=True, slots=True)
class CarKey:
    """A synthetic car: `line` and `place` (its generation in the line) count from 1, houses from
    0. The house is not part of a car's name: the first house is what it is without the others."""

    line: int
    place: int
    heavy: bool = False
    house: int = field(default=0, repr=False)


Row = tuple[object, ...]

_STANDARD: dict[str, tuple[int, float, tuple[str, ...], tuple[Row, ...]]] = {
    # name: (steps of the heavy car, chance of a step, names of the values, the sizes)
    "axle": (1, 0.35, ("axle",), ((25,), (27,), (30,), (33,), (36,), (22,), (28,), (31,))),
    "rear inner": (1, 0.2, ("rear_inner",), ((25,), (27,), (30,), (24,), (29,), (32,))),
    "front inner": (0, 0.2, ("front_inner",), ((25,), (27,), (28,), (24,), (30,))),
    "circle": (
        1,
        0.25,
        ("circle", "spigot_of_hub", "bore_of_wheel"),
        (
            ("5x100", 56.1, 56.2),
            ("5x114.3", 60.1, 60.2),
            ("5x106", 58.4, 58.5),
            ("5x118", 64.2, 64.3),
            ("5x124", 66.0, 66.1),
            ("6x130", 84.0, 84.1),
            ("6x139.7", 93.2, 93.3),
            ("4x102", 54.0, 54.1),
        ),
    ),
    "rear bearing": (
        0,
        0.25,
        ("rear_journal", "rear_bore"),
        ((35, 72), (40, 80), (45, 85), (50, 90)),
    ),
    "front bearing": (
        1,
        0.25,
        ("front_journal", "front_bore", "cartridge", "cartridge_register"),
        ((35, 68, 118, 78), (38, 74, 124, 84), (42, 80, 130, 90), (45, 84, 136, 96)),
    ),
    "rings": (
        0,
        0.15,
        ("front_ring", "rear_ring", "ring_teeth"),
        ((78, 82, 48), (80, 86, 44), (84, 90, 52)),
    ),
    "sensor": (0, 0.1, ("sensor",), ((18,), (20,), (16,))),
    "plate": (
        0,
        0.35,
        ("plate", "plate_register"),
        ((112, 78), (124, 92), (130, 98), (118, 84), (136, 104)),
    ),
    "boss": (1, 0.2, ("boss",), ((38,), (44,), (50,), (56,))),
    "rear brake": (
        1,
        0.3,
        ("rear_rotor", "lugs", "drum", "cable", "cylinder", "big_drum"),
        (
            (140, 108, 170, 40, 32, 210),
            (147, 114, 180, 42, 34, 228),
            (154, 120, 190, 44, 36, 240),
            (161, 126, 200, 46, 38, 254),
            (168, 132, 210, 48, 40, 266),
        ),
    ),
    "front brake": (
        1,
        0.3,
        ("front_rotor", "slides", "front_ears"),
        ((145, 142, 118), (152, 150, 126), (159, 156, 134), (166, 162, 142), (173, 168, 150)),
    ),
    "rolling": (0, 0.2, ("rolling", "rim"), ((1.958, 16), (2.037, 17), (2.104, 18), (1.902, 15))),
    "rear drive": (
        1,
        0.25,
        ("rear_width", "nose_length"),
        ((118, 160), (125, 170), (132, 180), (139, 190)),
    ),
    "front drive": (0, 0.2, ("front_width",), ((110,), (118,), (126,))),
    "pinion": (1, 0.2, ("pinion",), ((20,), (23,), (26,), (29,))),
    "front pinion": (0, 0.2, ("front_pinion",), ((20,), (22,), (25,))),
    "flange": (
        1,
        0.25,
        ("flange", "flange_bolt", "flange_register"),
        ((58, 8, 48), (64, 8, 54), (76, 10, 68), (84, 10, 74), (70, 10, 60)),
    ),
    "ratio": (1, 0.25, ("driven", "driving"), ((37, 9), (39, 10), (41, 11), (35, 8), (43, 10))),
    "rear seal": (1, 0.15, ("rear_land", "rear_shell"), ((32, 52), (35, 55), (38, 58), (40, 62))),
    "front seal": (0, 0.15, ("front_land", "front_shell"), ((32, 50), (35, 52), (38, 56))),
    "gearbox": (
        1,
        0.3,
        ("gearbox", "pad", "lever", "lever_seat"),
        ((610, 560, 480, 66), (655, 600, 520, 70), (632, 580, 500, 74), (678, 620, 535, 78)),
    ),
    "input": (
        0,
        0.2,
        ("input", "nose", "spigot"),
        ((24, 12, 32), (22, 15, 35), (26, 17, 38), (28, 20, 42)),
    ),
    "output": (1, 0.2, ("output",), ((27,), (30,), (32,), (26,))),
    "transfer": (
        1,
        0.2,
        ("transfer", "transfer_front"),
        ((240, 65), (250, 70), (262, 76), (274, 80)),
    ),
    "crank": (
        0,
        0.15,
        ("crank", "crank_bolts", "crank_register"),
        ((66, 6, 52), (72, 8, 58), (78, 8, 64), (84, 8, 70)),
    ),
    "clutch": (
        1,
        0.2,
        ("cover", "cover_register", "facing", "clamp"),
        (
            (240, 254, 215, 4300),
            (252, 266, 230, 4660),
            (272, 286, 250, 6070),
            (288, 302, 265, 6900),
        ),
    ),
    "starter": (0, 0.1, ("ring_gear", "starter"), ((145, 72), (150, 76), (156, 80))),
    "release": (0, 0.15, ("release", "ears", "fork"), ((48, 62, 96), (52, 66, 104), (56, 70, 112))),
    "slave": (0, 0.1, ("slave",), ((66,), (70,), (76,))),
    "union": (0, 0.05, ("union",), (("M10x1",), ("M12x1",))),
    "speed": (0, 0.2, ("port", "pulses"), ((18, 8), (20, 6), (22, 4))),
    "switch": (0, 0.2, ("switch_ways", "switch_key"), ((4, "A"), (6, "A"), (6, "C"), (8, "D"))),
    "harness": (
        0,
        0.15,
        ("harness_key", "controller_key"),
        (("E", "K"), ("F", "L"), ("G", "M"), ("H", "N")),
    ),
    "strut": (0, 0.2, ("strut",), ((50,), (56,), (63,), (68,))),
    "tower": (0, 0.1, ("tower", "tower_register"), ((90, 54), (96, 60), (102, 66), (108, 72))),
    "ball": (0, 0.15, ("ball", "rod"), ((16, 12), (18, 14), (20, 16))),
    "damper": (0, 0.2, ("damper", "damper_top"), ((56, 66), (60, 70), (64, 74), (70, 80))),
    "links": (
        0,
        0.15,
        ("link_inner", "link_outer"),
        ((98, 100), (104, 110), (110, 118), (116, 124)),
    ),
    "servo": (0, 0.05, ("servo", "servo_register"), ((82, 38), (88, 42))),
    "hand lever": (0, 0.1, ("hand_lever",), ((56,), (58,), (60,), (63,))),
    "mount": (0, 0.1, ("pad_width", "foot"), ((86, 120), (90, 130), (96, 140))),
}

MOST_HOUSES = 10
"""More would make sizes that no part has: flanges of more than 400 mm."""
_OF_NO_HOUSE = frozenset(
    {"clamp", "crank_bolts", "driven", "driving", "facing", "flange_bolt", "rim", "rolling"}
    | {"switch_ways"}
    | {"front_width", "gearbox", "lever", "nose_length", "pad", "rear_width", "ring_gear"}
    | {"transfer", "transfer_front"}
)
"""Counts, ratios and what chains of lengths add up from."""
_HOUSE_STEP, _PULSES_STEP = 9.4, 5
"""Millimetres (or pulses) from the sizes of one house to the next; no two standard sizes of one
house are so far apart."""
_SPLINES = {
    **dict.fromkeys(("axle", "rear_inner", "front_inner", "input"), "1.0"),
    **dict.fromkeys(("pinion", "front_pinion", "output"), "1.25"),
}
"""The modules of splines."""
_MODULE_STEP = 0.03

_PLATFORM = {
    # name: (smallest, step, after how many lines it comes again, chance of a step)
    "arm": (300, 0.9, 97, 0.05),
    "rails": (500, 0.9, 89, 0.05),
    "subframe": (780, 0.9, 101, 0.05),
    "front_seat": (240, 0.9, 83, 0.1),
    "rear_seat": (260, 0.9, 79, 0.15),
    "bell": (230, 0.4, 103, 0.1),
    "rear_face": (140, 0.4, 73, 0.15),
    "to_rear": (2000, 2.5, 61, 0.1),
    "to_front": (100, 2.5, 31, 0.1),
    "rail": (690, 1.0, 59, 0.1),
    "tunnel": (540, 1.0, 37, 0.1),
    "rear_track": (630, 1.5, 41, 0.15),
    "front_track": (620, 1.5, 43, 0.15),
    "dash": (1, 1, 29, 0.2),
    "brake": (1, 1, 23, 0.2),
    "torque": (180, 2, 47, 0.1),
}
_STEPS = 4
"""How many sizes of its own a line has of one platform size."""


@lru_cache(maxsize=65536)
def _steps(line: int, place: int, name: str, likely: float) -> int:
    return sum(chance("step", line, earlier, name) < likely for earlier in range(2, place + 1))


def styles(car: CarKey) -> frozenset[str]:
    """Which manners of construction a car has; a line grows out of the older ones."""
    drum = car.line % 5 == 3 and car.place == 1
    pressed = car.line % 2 == 1 and car.place <= 2
    pulse = car.place <= 3 or car.line % 3 == 0
    return frozenset(
        {
            "drum" if drum else "disc",
            "pressed" if pressed else "cartridge",
            "pull" if car.line % 3 == 1 and car.place == 1 else "push",
            "pulse" if pulse or drum else "bus",
            "" if drum else "abs",
            "heavy" if car.heavy else "light",
        }
    )


@lru_cache(maxsize=64)
def sizes(car: CarKey) -> dict[str, str]:
    """Every size of a car as text, by its name in the blueprint. Not to be changed."""
    found: dict[str, object] = {}
    for name, (heavy, likely, names, rows) in _STANDARD.items():
        at = pick(len(rows), "start", car.line, name) + _steps(car.line, car.place, name, likely)
        row = rows[(at + (heavy if car.heavy else 0)) % len(rows)]
        own = map(_of_house, names, row, repeat(car.house))
        found.update(zip(names, own, strict=True))
    platform: dict[str, float] = {}
    for name, (least, step, again, likely) in _PLATFORM.items():
        at = _steps(car.line, car.place, name, likely) % _STEPS
        platform[name] = least + step * (car.line % again * _STEPS + at)
    found.update({name: round(value, 2) for name, value in platform.items()})
    _derive(found, car)
    return {name: plain(value) for name, value in found.items()}


def _derive(found: dict[str, object], car: CarKey) -> None:
    """What follows from other sizes, so that the chains of the car close."""

    def of(name: str) -> float:
        return float(str(found[name]))

    torque = of("torque") + (110 if car.heavy else 0)
    front, rear, drum = of("front_rotor"), of("rear_rotor"), of("drum")
    house = "abcdefghi"[car.house - 1] if car.house else ""
    derived: dict[str, object] = {
        "torque": torque,
        "clutch_torque": torque + 60,
        "gearbox_torque": torque + 80,
        "dash_key": f"D{of('dash'):.0f}{house}",
        "brake_key": f"B{of('brake'):.0f}{house}",
        "starter_centre": of("ring_gear") + 11.25,
        "offset": of("rail") - of("pad"),
        "crank_of_lever": of("tunnel") - of("lever"),
        "front_prop": of("to_front") + of("gearbox") + of("transfer_front"),
        "rear_prop": of("to_rear") - of("gearbox") - of("transfer") - of("nose_length"),
        "front_shaft": of("front_track") - of("front_width"),
        "rear_shaft": of("rear_track") - of("rear_width"),
        "front_bridge": front + 4,
        "front_profile": front + 26,
        "front_pads": front - 4,
        "front_effective": front - 28,
        "rear_bridge": rear + 4,
        "rear_profile": rear + 26,
        "rear_pads": rear - 4,
        "rear_effective": rear - 26,
        "barrel": max(front, rear) + 38,
        "opening": of("boss") + 4,
        "hat": drum / 2,
        "brake_outside": drum / 2 - 1,
        "anchor": drum - 52,
        "pins": drum - 18,
        "drum_pins": of("big_drum") - 20,
        "drum_radius": of("big_drum") / 2,
        "rear_hose_seat": "bubble_flare" if "drum" in styles(car) else "banjo",
    }
    for name, module in _SPLINES.items():
        derived[name] = f"involute-{found[name]}x{_module(module, car.house)}"
    found.update(derived)


def plain(value: object) -> str:
    """A number without needless zeros; a word as it is."""
    if not isinstance(value, float):
        return str(value)
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return text or "0"


def _of_house(name: str, value: object, house: int) -> object:
    """A standard size as a house has it; the first has those of the table."""
    if not house or name in _OF_NO_HOUSE or name in _SPLINES:
        return value
    if name in ("pulses", "ring_teeth"):
        return int(str(value)) + _PULSES_STEP * house
    if not isinstance(value, str):
        return round(float(str(value)) + _HOUSE_STEP * house, 2)
    if name == "circle":
        bolts, _, across = value.partition("x")
        return f"{bolts}x{plain(float(across) + _HOUSE_STEP * house)}"
    if name == "union":
        return f"M{int(value[1:-2]) + 3 * house}x1"
    return f"{value}{house}"


def _module(of_first: str, house: int) -> str:
    return of_first if not house else plain(float(of_first) + _MODULE_STEP * house)


def forms(houses: int = 1) -> Iterator[tuple[str, str]]:
    """Every named size that the cars use, with its values as text: splines, then bolt circles."""
    sorts = {names[0]: rows for _, _, names, rows in _STANDARD.values()}
    for house in range(houses):
        for first in dict.fromkeys(_SPLINES.values()):
            rows = (row for name in _SPLINES if _SPLINES[name] == first for row in sorts[name])
            module = _module(first, house)
            for teeth in sorted({int(str(row[0])) for row in rows}):
                values = f"ko:teeth {teeth} ; ko:module {module} ; ko:pressureAngle 30"
                yield f"involute-{teeth}x{module}", values
    for house in range(houses):
        for name in sorted(str(_of_house("circle", row[0], house)) for row in sorts["circle"]):
            bolts, _, across = name.partition("x")
            yield name, f"ko:bolts {bolts} ; ko:circleDiameter {float(across)}"
