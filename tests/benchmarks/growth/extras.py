"""What stands beside the stock builds: revisions, other makers, exceptions, adapters, rework.

None of these parts is in a stock build, so they may be odd: of two generations at once, with a
value left out, only presumed, or disputed.
"""

from __future__ import annotations

from collections.abc import Callable

from .line import (
    BENCH,
    DRAWINGS,
    LIKENESS,
    REPORTS,
    SHEETS,
    TRIALS,
    End,
    Family,
    Generation,
    Line,
    Part,
)
from .plans import KINDS, PLANS, SIDES, EndPlan, PartPlan
from .sizes import chance, pick, sizes, styles

_MAKERS = 12
_NEEDED = {
    "Spline": "engagementNeeded",
    "BoltCircle": "pilot",
    "FlangeSpacing": "register",
    "MountSpacing": "boltDiameter",
    "BoreSeat": "fitCode",
}
"""A value that may be left out: without it the joint is unproven, or less is compared."""

_MAY_LACK = {"gearbox": "speed-port", "rear-hub": "ring-seat", "front-hub": "ring-seat"}
_REWORKED = {
    "front-rotor": ("rotor-face", "drill a second circle and open the bore"),
    "rear-rotor": ("rotor-face", "drill a second circle and open the bore"),
    "rear-companion-flange": ("flange-face", "drill for the larger flange"),
    "gearbox-crossmember": ("crossmember-seat", "slot the seat of the mount"),
    "front-wheel": ("wheel-face", "bush the bore and drill a second circle"),
}
_MADE = {
    "rear-propshaft": ("prop-length", (600, 1800)),
    "front-propshaft": ("prop-length", (450, 1300)),
    "rear-half-shaft": ("shaft-length", (380, 760)),
    "front-half-shaft": ("shaft-length", (380, 760)),
}


def maker_name(number: int) -> str:
    """The name of an aftermarket maker, from 1 to `makers()`."""
    return f"brannock-{number:02d}"


def makers() -> int:
    """How many aftermarket makers there are."""
    return _MAKERS


def fill(line: Line, gen: Generation, quota: int) -> None:
    """Add parts to the newest generation of a line until the line has `quota` of them."""
    tries = 0
    while line.made < quota:
        tries += 1
        _Extra(line, gen, tries).add()


class _Extra:
    """One more part beside the stock builds; `number` is its place among those of its generation."""

    def __init__(self, line: Line, gen: Generation, number: int) -> None:
        self.line, self.gen = line, gen
        self.key = (line.number, line.place, number)
        heavy = len(gen.cars) > 1 and chance("heavy", *self.key) < 0.4
        self.car = line.car(line.place, heavy=heavy)
        self.sizes, self.manner = sizes(self.car), styles(self.car)
        self.who = f"L{line.number:03d} G{line.place} {'heavy' if heavy else 'light'}"
        self.maker = maker_name(1 + pick(_MAKERS, "maker", *self.key))
        plans = [p for p in line.plans(self.car) if p.station not in ("body", "engine")]
        self.plan: PartPlan = plans[pick(len(plans), "station", *self.key)]

    def add(self) -> None:
        at = chance("what", *self.key)
        for share, make in self._menu():
            if at < share:
                make()
                return
            at -= share

    def _menu(self) -> tuple[tuple[float, Callable[[], None]], ...]:
        return (
            (0.14, self._revision),
            (0.36, self._other_maker),
            (0.09, self._exception),
            (0.23, self._between),
            (0.08, self._adapter),
            (0.03, self._made_to_suit),
            (0.04, self._rework),
            (1.0, self._dual),
        )

    def _label(self, word: str) -> str:
        return f"{self.who} {word} {self.key[2]}"

    def _family(self) -> Family:
        return self.line.family(self.gen, self.plan, self.sizes, self.manner, self.car)

    def _links(self) -> tuple[tuple[str, str], ...]:
        if not self.plan.in_set:
            return ()
        return (("ko:inSet", f"set:{self.line.code}-clutch-{self.sizes['facing']}"),)

    def _revision(self) -> None:
        """The maker's own newer number; stock builds keep the one they have."""
        family = self._family()
        part = self.line.part(self.gen, self.plan, family, self._label("revision"), self._links())
        before = self.line.stock[family.name]
        if self.line.chains.get(before.number, 0) < 3:
            self.line.supersede(self.gen, before, part)
            self.line.stock[family.name] = part
            self.line.born[part.number] = self.line.place

    def _other_maker(self) -> None:
        family = self._family()
        links = list(self._links())
        if chance("rings", *self.key) < 0.7:
            links.append(("ko:interchangesWith", f"part:{self.line.stock[family.name].number}"))
        self._part(family, "pattern", tuple(links))

    def _part(self, family: Family, word: str, links: tuple[tuple[str, str], ...] = ()) -> Part:
        return self.line.part(
            self.gen, self.plan, family, self._label(word), links, self.maker, SHEETS
        )

    def _exception(self) -> None:
        """One part unlike its family: it lacks an end, or has another size of one."""
        lacking = _MAY_LACK.get(self.plan.station)
        family = self._family()
        roles = {e.role for e in self.line.ends.values() if e.name in family.ends}
        if lacking in roles and chance("lack", *self.key) < 0.5:
            links: tuple[tuple[str, str], ...] = (("ko:lacksRole", f"role:{lacking}"),)
        else:
            sister = self._related()
            ends = [
                e for e in self.plan.ends if e.role in roles and _differs(e, self.sizes, sister)
            ]
            if not ends:
                return self._other_maker()
            chosen = ends[pick(len(ends), "own", *self.key)]
            end = self.line.end(self.gen, chosen, sister)
            links = (("ko:ownEnd", f"end:{end.name}"),)
        if chance("tolerance", *self.key) < 0.15:
            own = "[ ko:onQuantity ko:centreDistance ; ko:amount 0.8 ]"
            links = (*links, ("ko:ownTolerance", own))
        self._part(family, "special", (*self._links(), *links))
        return None

    def _related(self) -> dict[str, str]:
        """The sizes of a sister: the other weight of this generation, or the one before it."""
        if len(self.gen.cars) > 1 and chance("weight", *self.key) < 0.5:
            return sizes(self.line.car(self.car.place, heavy=not self.car.heavy))
        return sizes(self.line.car(self.car.place - 1 if self.car.place > 1 else 2))

    def _between(self) -> None:
        """Ends of this car on one side and of a related one on the other: it bridges the two."""
        sister = self._related()
        ends = [e for e in self.plan.ends if not e.style or e.style in self.manner]
        made = [
            self._odd_end(end, sister if chance("end", *self.key, end.role) < 0.4 else self.sizes)
            for end in ends
        ]
        self._part(self._new_family(made), "bridge", self._links())

    def _odd_end(self, plan: EndPlan, of_car: dict[str, str]) -> End:
        """An end that may be known badly."""
        at, without, source, loose = chance("odd", *self.key, plan.role), "", SHEETS, ""
        named = {q for q, _ in plan.values}
        if at < 0.05 and _NEEDED.get(plan.kind) in named:
            without = _NEEDED[plan.kind]
        elif at < 0.09 and not self.line.house:
            source = LIKENESS  # what is only presumed may go with anything, of any house
        elif at < 0.13 and "centreDistance" in named:
            value = dict(plan.values)["centreDistance"].format_map(of_car)
            loose = f"ko:centreDistance {float(value) + 2:g}"
        before = len(self.gen.ends)
        end = self.line.end(self.gen, plan, of_car, source=source, without=without)
        if loose and len(self.gen.ends) > before:
            self.gen.loose.append((REPORTS, f"end:{end.name} {loose} ."))
        elif at > 0.95 and len(self.gen.ends) > before and "centreDistance" in named:
            value = dict(end.values)["centreDistance"]
            self.gen.loose.append((BENCH, f"end:{end.name} ko:centreDistance {value} ."))
        return end

    def _new_family(
        self, ends: list[End], plan: PartPlan | None = None, source: str = SHEETS
    ) -> Family:
        plan = plan or self.plan
        name = self.line.name("other", f"{plan.station}-x")
        label = f"{plan.station.replace('-', ' ')}s {self._label('design')}"
        parents = (f"any-{plan.station}",)
        attributes = tuple((n, text.format_map(self.sizes)) for n, text in plan.attributes)
        names = tuple(dict.fromkeys(end.name for end in ends))
        family = Family(name, label, plan.station, parents, names, attributes, source=source)
        self.gen.families.append(family)
        return family

    def _adapter(self) -> None:
        """Something for a station that may stand empty."""
        place = (
            "front-wheel-adapter",
            "rear-wheel-adapter",
            "speed-converter",
            "switch-go-between",
        )
        station = place[pick(len(place), "adapter", *self.key)]
        sister = self._related()
        texts = {
            "speed-converter": (
                "converter-in SG sink signalQuantity=vehicle_speed signalForm=pulse pulsesPerTurn={pulses}",
                "converter-out SG source signalQuantity=vehicle_speed signalForm=pulse pulsesPerTurn={pulses}",
            ),
            "switch-go-between": (
                "go-between-socket CN socket connectorFamily=OC_sealed ways={switch_ways} key={switch_key} contact=switch.socket",
                "go-between-plug CN plug connectorFamily=OC_sealed ways={switch_ways} key={switch_key} contact=switch.plug",
            ),
        }.get(
            station,
            (
                "wheel-face BC int form={circle} pilot={bore_of_wheel} seatForm=cone60",
                "hub-face BC ext form={circle} pilot={spigot_of_hub} thread=M12x1.25 seatForm=cone60",
            ),
        )
        ends = [
            self.line.end(self.gen, _end_plan(text), of_car, source=SHEETS)
            for text, of_car in zip(texts, (self.sizes, sister), strict=True)
        ]
        self.plan = PartPlan(station, 96, 1.2, (), (), "", "", False, "", None)
        self._part(self._new_family(ends), "adapter")

    def _made_to_suit(self) -> None:
        """A shaft whose length is chosen to suit the car."""
        stations = tuple(_MADE)
        station = stations[pick(len(stations), "made", *self.key)]
        self.plan = next(p for p in PLANS if p.station == station)
        role, (least, most) = _MADE[station]
        open_length = (
            f"ko:madeToSuit [ ko:ofQuantity ko:length ; ko:least {least} ; ko:most {most} ]"
        )
        ends = [
            self.line.end(
                self.gen,
                end,
                self.sizes,
                source=SHEETS,
                extra=open_length if end.role == role else "",
                without="length" if end.role == role else "",
            )
            for end in self.plan.ends
        ]
        self._part(self._new_family(ends), "made to measure")

    def _rework(self) -> None:
        """One of the maker's parts after an act that the trade accepts."""
        fitting = [p for p in self.line.plans(self.car) if p.station in _REWORKED]
        self.plan = fitting[pick(len(fitting), "rework", *self.key)]
        role, act = _REWORKED[self.plan.station]
        before = self.line.stock[self._family().name]
        sister = self._related()
        ends = [
            self.line.end(self.gen, end, sister if end.role == role else self.sizes)
            for end in self.plan.ends
        ]
        links = (
            ("ko:reworkOf", f"part:{before.number}"),
            ("ko:reworkAct", f'"{act}"'),
            ("ko:hours", "1.2"),
            ("ko:irreversible", "true"),
        )
        family = self._new_family(ends, source=DRAWINGS)
        self.line.part(self.gen, self.plan, family, self._label("reworked"), links)

    def _dual(self) -> None:
        """A rotor or wheel drilled for two circles; somebody has tried it on a hub."""
        drilled = [
            p for p in self.line.plans(self.car) if p.parent == "circle" and "hub" not in p.station
        ]
        self.plan = drilled[pick(len(drilled), "dual", *self.key)]
        sister = self._related()
        faces = [e for e in self.plan.ends if e.kind == "BoltCircle"]
        ends = [self.line.end(self.gen, end, self.sizes, source=SHEETS) for end in self.plan.ends]
        ends += [self.line.end(self.gen, end, sister, source=SHEETS) for end in faces]
        self._part(self._new_family(ends), "dual")
        hubs = [e for e in self.line.ends.values() if e.role == "hub-face"]
        hub = hubs[pick(len(hubs), "tried", *self.key)]
        self.gen.loose.append((TRIALS, f"end:{ends[-1].name} ko:triedWith end:{hub.name} ."))


def _differs(plan: EndPlan, first: dict[str, str], second: dict[str, str]) -> bool:
    return any(text.format_map(first) != text.format_map(second) for _, text in plan.values)


def _end_plan(text: str) -> EndPlan:
    role, kind, side, *words = text.split()
    values = tuple((w.partition("=")[0], w.partition("=")[2]) for w in words)
    return EndPlan(role, KINDS[kind], SIDES[side], values, "")
