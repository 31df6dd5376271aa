"""One line of synthetic cars, generation by generation: families, ends, parts and stock builds.

Everything follows from the numbers of the line; nothing is remembered between lines, so that a
catalogue of any size is written a generation at a time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from .plans import PLANS, EndPlan, PartPlan
from .sizes import CarKey, chance, pick, sizes, styles

DRAWINGS, SHEETS, LIKENESS, REPORTS, BENCH, TRIALS = (
    "maker-drawings",
    "aftermarket-sheets",
    "family-likeness",
    "customer-reports",
    "bench",
    "trial-fits",
)
"""The sources of the facts: each is a named graph."""

_LONGEST_CHAIN = 4
Values = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class End:
    """An end as it is written: `extra` is text that follows the values."""

    name: str
    kind: str
    role: str
    side: str
    values: Values
    source: str = DRAWINGS
    extra: str = ""


@dataclass(frozen=True, slots=True)
class Family:
    """Parts of one design. `parents` and `asks` are names of families."""

    name: str
    label: str
    station: str
    parents: tuple[str, ...]
    ends: tuple[str, ...] = ()
    attributes: Values = ()
    asks: str = ""
    tolerance: tuple[str, str] | None = None
    source: str = DRAWINGS


@dataclass(frozen=True, slots=True)
class Part:
    """A part number. `links` are further statements about it: property and object as text."""

    number: str
    family: str
    label: str
    maker: str
    price: float
    weight: float
    links: tuple[tuple[str, str], ...] = ()
    source: str = DRAWINGS


@dataclass(frozen=True, slots=True)
class Car:
    """A stock build: what it has of its own, and what it is based on."""

    name: str
    label: str
    place: int
    heavy: bool
    based_on: str
    fits: tuple[tuple[str, str], ...]
    empty: tuple[str, ...]
    everything: tuple[tuple[str, str], ...]


@dataclass(slots=True)
class Generation:
    """What one generation adds to the catalogue."""

    line: int
    place: int
    families: list[Family] = field(default_factory=list)
    ends: list[End] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    cars: list[Car] = field(default_factory=list)
    sets: list[tuple[str, str]] = field(default_factory=list)
    loose: list[tuple[str, str]] = field(default_factory=list)
    """Statements of other sources: (source, text)."""


def code(line: int) -> str:
    """What a line is called in names, e.g. "l017"."""
    return f"l{line:03d}"


def said(car: CarKey) -> str:
    """What people call a car, e.g. "L017 G3 heavy"."""
    return f"{code(car.line).upper()} G{car.place} {'heavy' if car.heavy else 'light'}"


class Line:
    """The line as it has grown so far; `grow` adds its next generation."""

    def __init__(self, number: int, house: int = 0) -> None:
        self.number, self.house = number, house
        self.code = code(number)
        self.maker = f"ostrel-{(number - 1) // 10 + 1:02d}"
        self.place = 0
        self.made = 0
        self.ends: dict[tuple[str, str, Values, str], End] = {}
        self.families: dict[tuple[str, tuple[str, ...], Values], Family] = {}
        self.parents: set[str] = set()
        self.sets: set[str] = set()
        self.stock: dict[str, Part] = {}
        """The maker's newest part of each family."""
        self.chains: dict[str, int] = {}
        """How many numbers stand before a part in its chain of supersession."""
        self.born: dict[str, int] = {}
        """The generation that brought a part of the maker's."""
        self._counts: dict[str, int] = {}
        self._last: dict[bool, Car] = {}

    # ------------------------------------------------------------ generations

    def grow(self, quota: int) -> Generation:
        """The next generation with its stock builds; the heavy one only if `quota` allows.

        `quota` is how many parts the line may have by then.
        """
        self.place += 1
        gen = Generation(self.number, self.place)
        light, heavy = self.car(self.place), self.car(self.place, heavy=True)
        self._car(gen, light, thrifty=quota - self.made < len(PLANS))
        if self._wanted(heavy) <= quota - self.made:
            self._car(gen, heavy, thrifty=False)
        return gen

    def car(self, place: int, *, heavy: bool = False) -> CarKey:
        """A car of the line."""
        return CarKey(self.number, place, heavy, self.house)

    def plans(self, car: CarKey) -> Iterator[PartPlan]:
        """The parts of the blueprint that a car has."""
        manner = styles(car)
        return (plan for plan in PLANS if not plan.style or plan.style in manner)

    def _wanted(self, heavy: CarKey) -> int:
        """How many parts the heavy car may add at most: those that the light one has not."""
        ours, light = sizes(heavy), sizes(self.car(heavy.place))
        shared = styles(heavy) - {"heavy"}

        def differs(plan: PartPlan) -> bool:
            if plan.style == "heavy" or any(end.style == "heavy" for end in plan.ends):
                return True
            texts = [v for e in plan.ends if not e.style or e.style in shared for _, v in e.values]
            texts += [v for _, v in plan.attributes]
            return any(text.format_map(ours) != text.format_map(light) for text in texts)

        return sum(differs(plan) for plan in self.plans(heavy))

    def _car(self, gen: Generation, car: CarKey, *, thrifty: bool) -> None:
        of_car, manner = sizes(car), styles(car)
        fits: dict[str, str] = {}
        for plan in self.plans(car):
            family = self.family(gen, plan, of_car, manner, car)
            fits[plan.station] = self._stock_part(gen, plan, family, car, of_car, thrifty=thrifty)
        light = gen.cars[-1] if car.heavy else None
        base = light or self._last.get(False)
        if base and "rear-drum" in dict(base.everything) and "disc" in manner:
            # What a drum car has may not stand empty, so a disc car cannot be based on it.
            base = None
        known = dict(base.everything) if base else {}
        made = Car(
            f"{self.code}-g{car.place}-{'heavy' if car.heavy else 'light'}",
            said(car),
            car.place,
            car.heavy,
            base.name if base else "",
            tuple((s, p) for s, p in fits.items() if known.get(s) != p),
            tuple(s for s in known if s not in fits),
            tuple(fits.items()),
        )
        gen.cars.append(made)
        self._last[car.heavy] = made

    def _stock_part(
        self,
        gen: Generation,
        plan: PartPlan,
        family: Family,
        car: CarKey,
        of_car: dict[str, str],
        *,
        thrifty: bool,
    ) -> str:
        """The maker's part of this family for this car: the one there is, or a newer number."""
        before = self.stock.get(family.name)
        if before and (
            thrifty
            or self.born[before.number] == self.place
            or chance("carry", car, plan.station) < 0.6
            or self.chains.get(before.number, 0) + 1 >= _LONGEST_CHAIN
        ):
            return before.number
        links: list[tuple[str, str]] = []
        if plan.in_set:
            links.append(("ko:inSet", f"set:{self._set(gen, of_car)}"))
        part = self.part(gen, plan, family, said(car), tuple(links))
        self.stock[family.name] = part
        self.born[part.number] = self.place
        if before:
            self.supersede(gen, before, part)
        return part.number

    def supersede(self, gen: Generation, old: Part, new: Part) -> None:
        """Say that `new` takes the place of `old`."""
        self.chains[new.number] = self.chains.get(old.number, 0) + 1
        gen.loose.append((DRAWINGS, f"part:{old.number} ko:supersededBy part:{new.number} ."))

    def _set(self, gen: Generation, of_car: dict[str, str]) -> str:
        name = f"{self.code}-clutch-{of_car['facing']}"
        if name not in self.sets:
            self.sets.add(name)
            gen.sets.append((name, f"{self.code.upper()} clutch, {of_car['facing']} mm"))
        return name

    # ------------------------------------------------------------ what generations are made of

    def part(
        self,
        gen: Generation,
        plan: PartPlan,
        family: Family,
        who: str,
        links: tuple[tuple[str, str], ...] = (),
        maker: str = "",
        source: str = DRAWINGS,
    ) -> Part:
        """A new part number of a family; `who` follows the station in its label."""
        self.made += 1
        number = f"{'A' if maker else 'K'}{self.number:03d}-{1000 + self.made}"
        step = pick(21, "price", number) - 10
        part = Part(
            number,
            family.name,
            f"{plan.station.replace('-', ' ')} {who}",
            maker or self.maker,
            round(plan.price * (1 + step / 50), 2),
            round(max(plan.weight * (1 + step / 100), 0.01), 2),
            links,
            source,
        )
        gen.parts.append(part)
        return part

    def family(
        self,
        gen: Generation,
        plan: PartPlan,
        of_car: dict[str, str],
        manner: frozenset[str],
        car: CarKey,
    ) -> Family:
        """The family of this design, made if the line has none of it yet."""
        ends = tuple(
            self.end(gen, end, of_car).name
            for end in plan.ends
            if not end.style or end.style in manner
        )
        attributes = tuple((name, text.format_map(of_car)) for name, text in plan.attributes)
        key = (plan.station, ends, attributes)
        known = self.families.get(key)
        if known:
            return known
        asks = ""
        if plan.asks and (car.heavy or plan.station != "rear-hub") and "disc" in manner:
            other = next(p for p in PLANS if p.station == plan.asks)
            asks = self._parent(gen, other, of_car)
        name = self.name("family", plan.station)
        family = Family(
            name,
            f"{plan.station.replace('-', ' ')}s {said(car)}",
            plan.station,
            (f"any-{plan.station}", *([self._parent(gen, plan, of_car)] if plan.parent else [])),
            ends,
            attributes,
            asks,
            plan.tolerance,
        )
        self.families[key] = family
        gen.families.append(family)
        return family

    def _parent(self, gen: Generation, plan: PartPlan, of_car: dict[str, str]) -> str:
        size = of_car[plan.parent]
        name = f"{self.code}-{plan.station}s-{size}"
        if name not in self.parents:
            self.parents.add(name)
            label = f"{self.code.upper()} {plan.station.replace('-', ' ')}s {size}"
            gen.families.append(Family(name, label, plan.station, (f"any-{plan.station}",)))
        return name

    def end(
        self,
        gen: Generation,
        plan: EndPlan,
        of_car: dict[str, str],
        *,
        source: str = DRAWINGS,
        extra: str = "",
        without: str = "",
    ) -> End:
        """The end of this size, made if the line has none of it yet."""
        values = tuple((q, text.format_map(of_car)) for q, text in plan.values if q != without)
        key = (plan.role, plan.side, values, source + extra)
        known = self.ends.get(key)
        if known is None:
            name = self.name("end", plan.role)
            known = End(name, plan.kind, plan.role, plan.side, values, source, extra)
            self.ends[key] = known
            gen.ends.append(known)
        return known

    def name(self, table: str, what: str) -> str:
        """The next free name, e.g. "l017-rear-hub-3"."""
        count = self._counts.get(f"{table} {what}", 0) + 1
        self._counts[f"{table} {what}"] = count
        return f"{self.code}-{what}-{count}"
