"""Which of several lookalikes it is, from what is known; and what to look at next.

Readings are taken in the order of what they are worth: what the part itself shows, then the car's
number, then dates. A weaker reading that speaks against everything the stronger ones point to is
set aside with a warning: an early car of a model year can carry last year's gearbox, and only the
gearbox's own number tells.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from .catalogue import Catalogue, Standing
from .looks import Look, find_looks
from .mating import PROVEN
from .observations import ObservationKind
from .readings import Reading, agree, read
from .witness import MODEL_YEAR, Statement, Witness


class Bearing(StrEnum):
    """What a reading says about one candidate.

    DISPUTED: by one source it can be, by another it cannot. DOUBTED: it speaks against, but the
    statement it rests on stands too weakly to rule anything out.
    """

    CONFIRMS = "confirms"
    SILENT = "silent"
    DISPUTED = "disputed"
    DOUBTED = "doubted"
    AGAINST = "against"


class Remains(StrEnum):
    """What is left of a candidate after all readings."""

    POSSIBLE = "possible"
    DOUBTED = "doubted"
    RULED_OUT = "ruled out"


@dataclass(frozen=True, slots=True)
class Evidence:
    """One reading held against what is stated of one candidate."""

    reading: Reading
    bearing: Bearing
    statements: tuple[Statement, ...]


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part or car, what remains of it, and the evidence of each reading that counts."""

    subject: str
    remains: Remains
    evidence: tuple[Evidence, ...]

    @property
    def against(self) -> tuple[Evidence, ...]:
        """Why it is ruled out or doubted."""
        return tuple(e for e in self.evidence if e.bearing in (Bearing.AGAINST, Bearing.DOUBTED))

    @property
    def disputed(self) -> tuple[Evidence, ...]:
        """Readings on which sources differ."""
        return tuple(e for e in self.evidence if e.bearing is Bearing.DISPUTED)

    @property
    def confirmed(self) -> bool:
        """Whether some reading speaks for it, and not only nothing against it."""
        return any(e.bearing is Bearing.CONFIRMS for e in self.evidence)


class WarningKind(StrEnum):
    """What to tell the person who asked before anything else."""

    YEAR_AND_SERIAL_DISAGREE = "year and serial disagree"
    DATE_SET_ASIDE = "a date disagrees with what the part shows"
    CAR_NUMBER_SET_ASIDE = "the car's number disagrees with what the part shows"
    NOTHING_REMAINS = "nothing remains"


@dataclass(frozen=True, slots=True)
class IdentificationWarning:
    """`readings` disagree with what `decided_by` says: `subjects`.

    For NOTHING_REMAINS, `readings` are a smallest set that leaves nothing, and `subjects` the
    candidates that fewest of all readings speak against.
    """

    kind: WarningKind
    readings: tuple[Reading, ...]
    decided_by: tuple[Reading, ...] = ()
    subjects: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Identification:
    """`candidates` in the order asked; `looks` are what to look at next, most telling first."""

    candidates: tuple[Candidate, ...]
    readings: tuple[Reading, ...]
    set_aside: tuple[Reading, ...] = ()
    warnings: tuple[IdentificationWarning, ...] = ()
    looks: tuple[Look, ...] = ()

    def of(self, remains: Remains) -> tuple[Candidate, ...]:
        """The candidates of which so much remains."""
        return tuple(c for c in self.candidates if c.remains is remains)

    @property
    def settled(self) -> str | None:
        """The one it is: alone possible, confirmed, and neither disputed nor another doubted."""
        left = [c for c in self.candidates if c.remains is not Remains.RULED_OUT]
        if len(left) != 1 or left[0].remains is not Remains.POSSIBLE:
            return None
        return left[0].subject if left[0].confirmed and not left[0].disputed else None


def lookalikes(
    catalogue: Catalogue, *, station: str = "", family: str = "", on: str = ""
) -> tuple[str, ...]:
    """Parts that sit at `station` or are of `family`; of those, what cars of `on` came with.

    `on` is a car, generation or line. Superseded parts count: used ones turn up.
    """
    stock = {fit.part for car in catalogue.cars_of(on) for fit in car.fits.values()}
    among = catalogue.parts_at(station) if station else catalogue.parts
    return tuple(
        iri
        for iri in among
        if (not family or family in catalogue.parts[iri].families) and (not on or iri in stock)
    )


def cars_of(catalogue: Catalogue, generation: str, body: str = "") -> tuple[str, ...]:
    """The stock builds of a generation (or line): what a chassis number chooses between."""
    return tuple(
        car.iri
        for car in catalogue.cars_of(generation)
        if not body or car.body.casefold() == body.casefold()
    )


def identify(
    witness: Witness,
    candidates: Iterable[str],
    readings: Sequence[Reading],
    *,
    floor: Standing = PROVEN,
) -> Identification:
    """Which of `candidates` (parts or cars) remain, given `readings`.

    `floor` is the weakest standing of a statement that may rule something out.

    Raises:
        KeyError: a reading is of an observation that the catalogue does not know.
    """
    subjects = tuple(dict.fromkeys(candidates))
    held = _Held(witness, subjects, readings, floor)
    accepted, warnings = held.weigh()
    found = tuple(held.candidate(subject, accepted) for subject in subjects)
    left = [c.subject for c in found if c.remains is not Remains.RULED_OUT]
    if subjects and not left:
        warnings.append(held.nothing_remains(accepted))
    return Identification(
        candidates=found,
        readings=tuple(readings),
        set_aside=tuple(r for r in held.readings if r not in accepted),
        warnings=tuple(warnings),
        looks=find_looks(witness, left, {r.observation for r in readings}, floor=floor),
    )


def identify_car(
    witness: Witness,
    generation: str,
    *,
    serial: str = "",
    year: str = "",
    body: str = "",
    floor: Standing = PROVEN,
) -> Identification:
    """Which stock build of a generation a car is: before or after a change in mid-run.

    Raises:
        UnreadableError: the serial is no number, or the year no date.
        KeyError: the catalogue's vocabulary knows no chassis serial or model year.
    """
    cars = cars_of(witness.catalogue, generation, body)
    readings = []
    if serial:
        series = sorted({witness.series(car) for car in cars})
        readings += [read(witness.observation(name), serial) for name in series]
    if year:
        readings.append(read(witness.observation(MODEL_YEAR), year))
    return identify(witness, cars, readings, floor=floor)


def bearing_of(statements: Sequence[Statement], reading: Reading, floor: Standing) -> Bearing:
    """What a reading says about a thing of which `statements` are made."""
    if not statements:
        return Bearing.SILENT
    fits = [any(agree(a, reading.shows) for a in s.allowed) for s in statements]
    if all(fits):
        return Bearing.CONFIRMS
    if any(fits):
        return Bearing.DISPUTED
    strongest = min(statement.standing for statement in statements)
    return Bearing.AGAINST if strongest <= floor else Bearing.DOUBTED


class _Held:
    """Readings held against candidates, the strongest readings first."""

    def __init__(
        self,
        witness: Witness,
        subjects: Sequence[str],
        readings: Sequence[Reading],
        floor: Standing,
    ) -> None:
        self.subjects = subjects
        self._kinds = {r.observation: witness.observation(r.observation).kind for r in readings}
        self.readings = sorted(
            dict.fromkeys(readings), key=lambda r: (self._weight(r), r.observation, r.said)
        )
        self._evidence = {
            (subject, reading): Evidence(
                reading,
                bearing_of(statements := witness.statements(subject, reading.observation),
                           reading, floor),
                statements,
            )
            for subject in subjects
            for reading in self.readings
        }  # fmt: skip

    def _weight(self, reading: Reading) -> int:
        return self._kinds[reading.observation].weight

    def _bearing(self, subject: str, reading: Reading) -> Bearing:
        return self._evidence[subject, reading].bearing

    def _speaks_against(self, subject: str, reading: Reading) -> bool:
        return self._bearing(subject, reading) in (Bearing.AGAINST, Bearing.DOUBTED)

    def weigh(self) -> tuple[list[Reading], list[IdentificationWarning]]:
        """The readings to go by, and warnings about those set aside."""
        accepted: list[Reading] = []
        warnings = []
        for reading in self.readings:
            stronger = [r for r in accepted if self._weight(r) < self._weight(reading)]
            pointed = self._pointed_to(stronger)
            if pointed and all(self._speaks_against(s, reading) for s in pointed):
                deciding = tuple(
                    r
                    for r in stronger
                    if any(self._bearing(s, r) is Bearing.CONFIRMS for s in pointed)
                )
                kind = self._disagreement(reading, deciding)
                warnings.append(IdentificationWarning(kind, (reading,), deciding, pointed))
            else:
                accepted.append(reading)
        return accepted, warnings

    def _pointed_to(self, readings: Collection[Reading]) -> tuple[str, ...]:
        """Candidates that some reading speaks for and none against."""
        return tuple(
            s
            for s in self.subjects
            if any(self._bearing(s, r) is Bearing.CONFIRMS for r in readings)
            and not any(self._speaks_against(s, r) for r in readings)
        )

    def _disagreement(self, reading: Reading, deciding: Iterable[Reading]) -> WarningKind:
        if self._kinds[reading.observation] is ObservationKind.CAR_NUMBER:
            return WarningKind.CAR_NUMBER_SET_ASIDE
        numbers = (ObservationKind.OWN_NUMBER, ObservationKind.CAR_NUMBER)
        if any(self._kinds[r.observation] in numbers for r in deciding):
            return WarningKind.YEAR_AND_SERIAL_DISAGREE
        return WarningKind.DATE_SET_ASIDE

    def candidate(self, subject: str, accepted: Collection[Reading]) -> Candidate:
        evidence = tuple(self._evidence[subject, r] for r in self.readings if r in accepted)
        bearings = {e.bearing for e in evidence}
        remains = (
            Remains.RULED_OUT
            if Bearing.AGAINST in bearings
            else Remains.DOUBTED
            if Bearing.DOUBTED in bearings
            else Remains.POSSIBLE
        )
        return Candidate(subject, remains, evidence)

    def nothing_remains(self, accepted: Sequence[Reading]) -> IdentificationWarning:
        """A smallest set of readings that rules everything out, and what comes nearest."""
        against = {
            s: {r for r in accepted if self._bearing(s, r) is Bearing.AGAINST}
            for s in self.subjects
        }
        smallest = next(
            some
            for size in range(1, len(accepted) + 1)
            for some in combinations(accepted, size)
            if all(against[s].intersection(some) for s in self.subjects)
        )
        fewest = min(len(readings) for readings in against.values())
        nearest = tuple(s for s in self.subjects if len(against[s]) == fewest)
        return IdentificationWarning(WarningKind.NOTHING_REMAINS, smallest, (), nearest)
