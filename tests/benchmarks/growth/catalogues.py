"""Write a synthetic catalogue of any size: the same numbers give the same files, byte for byte.

    python -m tests.benchmarks.catalogues --parts 10000 --generations 200 FOLDER

A catalogue is shaped like the demo: lines of about five generations that share many ends, each
generation with a light and mostly a heavy stock build; lines differ at body mounts, bell housing
and subframe, while standard sizes recur in all lines of one house. Every stock build is sound.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from .common import shared_files, workshop_files
from .extras import fill
from .line import Generation, Line
from .sizes import MOST_HOUSES, pick
from .trig import generation_text

GENERATIONS_IN_LINE = 5


@dataclass(frozen=True, slots=True)
class Size:
    """How much to write: parts in all, generations in all, and among how many houses.

    The first house is the same catalogue, byte for byte, whatever stands beside it.
    """

    parts: int
    generations: int
    houses: int = 1

    def lines(self) -> Iterator[tuple[int, int, int]]:
        """Each line: its number, how many generations it has, how many went before."""
        for before in range(0, self.generations, GENERATIONS_IN_LINE):
            count = min(GENERATIONS_IN_LINE, self.generations - before)
            yield before // GENERATIONS_IN_LINE + 1, count, before

    def house(self, line: int) -> int:
        """The house of a line."""
        lines = -(-self.generations // GENERATIONS_IN_LINE)
        return (line - 1) * self.houses // lines

    def until(self, generations: int) -> int:
        """How many parts there are after so many generations."""
        return self.parts * generations // self.generations


def line_of(size: Size, number: int) -> Iterator[tuple[Line, Generation]]:
    """The generations of one line in order, each with the line as it has then grown."""
    for found, count, before in size.lines():
        if found == number:
            line = Line(number, size.house(number))
            for place in range(1, count + 1):
                quota = size.until(before + place) - size.until(before)
                gen = line.grow(quota)
                fill(line, gen, quota)
                yield line, gen


def file_name(gen: Generation) -> str:
    """Where a generation is written, e.g. "l017-g3.trig"."""
    return f"l{gen.line:03d}-g{gen.place}.trig"


def files(size: Size) -> Iterator[tuple[str, Iterable[str]]]:
    """Every file of a catalogue: its name and its text in pieces."""
    yield from shared_files(size)
    for number, _, _ in size.lines():
        for _, gen in line_of(size, number):
            yield file_name(gen), generation_text(gen)


def write(size: Size, folder: Path) -> int:
    """Write a catalogue into an empty or new folder; returns how many bytes.

    Raises:
        FileExistsError: there is something in the folder already.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise FileExistsError(f"{folder} is not empty; name a new folder")
    written = 0
    for name, pieces in files(size):
        with (folder / name).open("w", encoding="utf-8", newline="\n") as out:
            for piece in pieces:
                written += out.write(piece)
    for name, text in workshop_files():
        (folder / name).write_bytes(text)
        written += len(text)
    return written


def one_more_generation(size: Size, number: int = 1) -> tuple[str, str]:
    """A file to add to a catalogue of this size: the next generation of a line, as name and text."""
    grown = list(line_of(size, number))
    if not grown:
        raise ValueError(f"a catalogue of {size.generations} generations has no line {number}")
    line = grown[-1][0]
    quota = line.made + size.parts // size.generations
    gen = line.grow(quota)
    fill(line, gen, quota)
    return file_name(gen), "".join(generation_text(gen))


@dataclass(frozen=True, slots=True)
class Question:
    """Fit this part at that station to that car: part number, and names as the catalogue has them."""

    part: str
    station: str
    car: str

    @property
    def iris(self) -> tuple[str, str, str]:
        """The IRIs of part, station and car."""
        base = "https://knockon.example"
        car = self.car.lower().replace(" ", "-")
        return f"{base}/part/{self.part}", f"{base}/station/{self.station}", f"{base}/car/{car}"

    @property
    def sentence(self) -> str:
        """The question as people ask it."""
        return f'what else must change if I fit "{self.part}" to "{self.car}"?'


_ASKED = (
    "rear-hub",
    "front-hub",
    "gearbox",
    "rear-final-drive",
    "rear-knuckle",
    "front-knuckle",
    "rear-half-shaft",
    "rear-calliper",
    "front-calliper",
    "transfer-box",
    "flywheel",
    "rear-companion-flange",
    "front-rotor",
    "rear-wheel",
    "dashboard",
    "clutch-disc",
    "rear-subframe",
)


def questions(size: Size, count: int) -> tuple[Question, ...]:
    """So many questions: a stock part of a sister generation that the car does not have itself.

    Spread over the lines; the same for the same numbers.
    """
    lines = [number for number, generations, _ in size.lines() if generations > 1]
    found: dict[Question, None] = {}
    stride = max(1, len(lines) // max(1, count // 4))
    for turn in range(8):
        for number in lines[turn % stride :: stride]:
            found.update(dict.fromkeys(_of_line(size, number, turn)))
            if len(found) >= count:
                return tuple(found)[:count]
    return tuple(found)


def _of_line(size: Size, number: int, turn: int) -> Iterator[Question]:
    cars = [car for _, gen in line_of(size, number) for car in gen.cars]
    for n in range(4):
        to = cars[pick(len(cars), "to", number, turn, n)]
        others = [c for c in cars if c.place != to.place]
        if not others:
            continue
        donor = dict(others[pick(len(others), "donor", number, turn, n)].everything)
        own = dict(to.everything)
        places = [s for s in _ASKED if s in own and donor.get(s, own[s]) != own[s]]
        if places:
            station = places[pick(len(places), "station", number, turn, n)]
            yield Question(donor[station], station, to.label)


def main(arguments: list[str] | None = None) -> int:
    """The command line."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.catalogues", description=__doc__
    )
    parser.add_argument("folder", type=Path, help="where to write; a new or empty folder")
    parser.add_argument("--parts", type=int, default=1000)
    parser.add_argument(
        "--generations", type=int, default=0, help="a fiftieth of the parts if left out"
    )
    parser.add_argument(
        "--houses", type=int, default=1, help="so many groups of lines that share no sizes"
    )
    asked = parser.parse_args(arguments)
    generations = asked.generations or max(2, asked.parts // 50)
    if asked.parts < 50 * generations:
        parser.error(f"{generations} generations take at least {50 * generations} parts")
    if not 1 <= asked.houses <= MOST_HOUSES:
        parser.error(f"a catalogue has between one and {MOST_HOUSES} houses")
    size = Size(asked.parts, generations, asked.houses)
    try:
        written = write(size, asked.folder)
    except OSError as error:
        parser.error(str(error))
    print(
        f"{size.parts} parts, {generations} generations, {written / 1e6:.1f} MB in {asked.folder}"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
