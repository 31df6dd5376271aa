"""Where parts come from: bought new, on the shelf, off a donor car, or made by reworking another.

A part may have several origins; a plan takes the cheapest that the question allows, the shelf
before the donor before the order book when prices are equal.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum
from functools import cached_property

from .build import Build
from .catalogue import Catalogue


class OriginKind(StrEnum):
    """Kinds of places a part can come from, in the order they are preferred at equal price."""

    STOCK = "stock"
    DONOR = "donor"
    REWORK = "rework"
    NEW = "new"


_ORDER = {kind: number for number, kind in enumerate(OriginKind)}


@dataclass(frozen=True, slots=True)
class Origin:
    """One place to get one part, in the quantity its station needs.

    `name` is the donor, or the IRI of the part to be reworked, else "". `price` is for all of
    them; `priced` is False where nobody stated one, and the price then counts as nothing.
    """

    kind: OriginKind
    price: Decimal
    name: str = ""
    condition: str = ""
    priced: bool = True


@dataclass(frozen=True, slots=True)
class StockItem:
    """Parts on hand. `price` is None where the catalogue's price holds."""

    part: str
    count: int
    condition: str = "used"
    price: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Supply:
    """What the shop can draw on.

    `kinds` are the origins the question allows. A donor gives each of its parts once, at no price
    of its own. `prices` overrides the catalogue's price of a new part.
    """

    stock: tuple[StockItem, ...] = ()
    donors: tuple[Build, ...] = ()
    kinds: frozenset[OriginKind] = frozenset(OriginKind)
    prices: Mapping[str, Decimal] = field(default_factory=dict)
    _on_hand: dict[str, list[StockItem]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def origins(
        self, catalogue: Catalogue, station: str, part: str, present: str | None = None
    ) -> tuple[Origin, ...]:
        """Every allowed way to get `part` for `station`, cheapest first. `present` is there now."""
        found = self._all(catalogue, station, part, present)
        return tuple(sorted(found, key=lambda o: (o.price, _ORDER[o.kind], o.name)))

    def brings(
        self, catalogue: Catalogue, station: str, part: str, present: str | None = None
    ) -> bool:
        """Whether there is any allowed way to get `part`."""
        described = catalogue.parts[part]
        is_made = not described.rework_of and not described.superseded_by
        if is_made and OriginKind.NEW in self.kinds:
            return True
        return bool(self.origins(catalogue, station, part, present))

    def _all(
        self, catalogue: Catalogue, station: str, part: str, present: str | None
    ) -> Iterable[Origin]:
        described = catalogue.parts[part]
        if described.rework_of:
            if OriginKind.REWORK in self.kinds:
                yield from self._reworked(catalogue, station, part, present)
            return
        needed = catalogue.stations[station].quantity
        listed = self.prices.get(part, described.price)
        if OriginKind.STOCK in self.kinds:
            for item in self._shelf(part):
                if item.count >= needed:
                    price = listed if item.price is None else item.price
                    yield _priced(OriginKind.STOCK, price, needed, condition=item.condition)
        if OriginKind.DONOR in self.kinds:
            for donor in self.donors:
                if donor.fits.get(station) == part:
                    yield Origin(OriginKind.DONOR, Decimal(0), donor.name, "used")
        if OriginKind.NEW in self.kinds and not described.superseded_by:
            yield _priced(OriginKind.NEW, listed, needed)

    @property
    def on_the_shelf(self) -> Collection[str]:
        """The parts in stock, each once."""
        self._shelf("")
        return self._on_hand.keys()

    def _shelf(self, part: str) -> Iterable[StockItem]:
        if self.stock and not self._on_hand:
            for item in self.stock:
                self._on_hand.setdefault(item.part, []).append(item)
        return self._on_hand.get(part, ())

    def _reworked(
        self, catalogue: Catalogue, station: str, part: str, present: str | None
    ) -> Iterable[Origin]:
        """What is there is reworked for the price of the work; any other must be got first."""
        described = catalogue.parts[part]
        base = described.rework_of
        listed = self.prices.get(part, described.price) or Decimal(0)
        work = listed * catalogue.stations[station].quantity
        if present == base:
            yield Origin(OriginKind.REWORK, work, base)
            return
        for origin in self.origins(catalogue, station, base, present)[:1]:
            yield replace(origin, kind=OriginKind.REWORK, name=base, price=origin.price + work)


class Offers:
    """What may come to the stations of one build, and from where; each part is looked at once.

    A part may come if it is to be had, is among the `wanted`, or is on the car already.
    """

    def __init__(
        self, supply: Supply, catalogue: Catalogue, build: Build, wanted: Iterable[str] = ()
    ) -> None:
        self.supply, self._catalogue, self._build = supply, catalogue, build
        self._sought = frozenset({*wanted, *(part for part in build.fits.values() if part)})
        self._known: dict[tuple[str, str], tuple[Origin, ...]] = {}

    def origins(self, station: str, part: str) -> tuple[Origin, ...]:
        """Every allowed way to get a part for a station, cheapest first."""
        at = station, part
        if at not in self._known:
            present = self._build.fits[station]
            self._known[at] = self.supply.origins(self._catalogue, station, part, present)
        return self._known[at]

    def may_come(self, station: str, part: str) -> bool:
        """Whether a part may come to a station."""
        if part in self._sought:
            return True
        present = self._build.fits[station]
        return self.supply.brings(self._catalogue, station, part, present)

    @cached_property
    def _sought_at(self) -> dict[str, list[str]]:
        """By station what is wanted or on the car, there or elsewhere, and can sit there."""
        found: dict[str, list[str]] = {}
        for part in self._sought:
            for station in self._catalogue.parts[part].stations:
                found.setdefault(station, []).append(part)
        return found

    @property
    def brings_new(self) -> bool:
        """Whether any part may come that is made new as it is."""
        return OriginKind.NEW in self.supply.kinds

    @property
    def brings_reworked(self) -> bool:
        """Whether any part may come that is made of another."""
        return OriginKind.REWORK in self.supply.kinds

    def at_hand(self, station: str, among: Collection[str]) -> Iterator[str]:
        """Those of some parts that may come to a station without being made new."""
        donors = (donor.fits.get(station) for donor in self.supply.donors)
        few = {*self._sought_at.get(station, ()), *(part for part in donors if part)}
        yield from (part for part in few if part in among)
        shelf = self.supply.on_the_shelf
        if shelf:
            yield from (part for part in among if part in shelf)


def _priced(kind: OriginKind, each: Decimal | None, count: int, condition: str = "") -> Origin:
    return Origin(kind, (each or Decimal(0)) * count, "", condition, each is not None)


def stock_from_rows(
    catalogue: Catalogue, rows: Iterable[Mapping[str, str]]
) -> tuple[tuple[StockItem, ...], tuple[str, ...]]:
    """Stock from rows with `part`, `count` and optionally `condition` and `price`.

    Returns the items and a sentence for every row that could not be read; nothing is guessed.
    """
    by_number = catalogue.lookups.numbered
    items: list[StockItem] = []
    errors: list[str] = []
    for at, row in enumerate(rows, 2):
        number = (row.get("part") or "").strip()
        part = by_number.get(number.casefold())
        count = (row.get("count") or "").strip()
        price = (row.get("price") or "").strip()
        if part is None:
            errors.append(f"row {at}, part: no part has the number “{number}”")
        elif not count.isdigit():
            errors.append(f"row {at}, count: “{count}” is not a whole number of 0 or more")
        elif price and not _is_price(price):
            errors.append(f"row {at}, price: “{price}” is not a price such as 120 or 89.50")
        else:
            condition = (row.get("condition") or "").strip() or "used"
            amount = Decimal(price) if price else None
            items.append(StockItem(part, int(count), condition, amount))
    return tuple(items), tuple(errors)


def _is_price(text: str) -> bool:
    whole, _, cents = text.partition(".")
    return whole.isdigit() and (not cents or cents.isdigit())
