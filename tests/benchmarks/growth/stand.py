"""Where a run is set up: which sizes, where the catalogues lie, and how much patience there is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from .catalogues import Question, Size, questions, write
from .measured import Row

SMALL = (1_000, 3_000)
FULL = (1_000, 3_000, 10_000, 30_000, 100_000)
_ALIKE = 10_000
"""Catalogues up to this size have fifty parts to a generation; larger ones a hundred."""


def size_of(parts: int) -> Size:
    """A catalogue of so many parts, with as many generations as befit it."""
    return Size(parts, max(2, parts // (50 if parts <= _ALIKE else 100)))


@dataclass(slots=True)
class Stand:
    """One run of the benchmarks."""

    sizes: tuple[Size, ...]
    folder: Path
    full: bool = False
    say: Callable[[str], None] = print
    missing: list[str] = field(default_factory=list)
    """What could not be measured, and why."""

    @property
    def patience(self) -> float:
        """Seconds for one process."""
        return 1800 if self.full else 300

    @property
    def cache(self) -> Path:
        """Where this run keeps closed catalogues; nothing of the user's own is touched."""
        return self.folder / "cache"

    def data(self, size: Size) -> Path:
        """The folder with the catalogue of a size, written if it is not there yet."""
        houses = f"-{size.houses}" if size.houses > 1 else ""
        folder = self.folder / f"{size.parts}-{size.generations}{houses}"
        if not (folder / "sources.trig").exists():
            self.say(f"writing {size.parts} parts of {size.generations} generations")
            unfinished = folder.with_suffix(".part")
            write(size, unfinished)
            unfinished.rename(folder)
        return folder

    def asked(self, size: Size, count: int) -> list[Question]:
        """Sample questions of a size."""
        return list(questions(size, count))

    def could_not(self, what: str, why: object) -> None:
        """Note that something could not be measured."""
        self.missing.append(f"{what}: {why}")
        self.say(f"  {what}: {why}")


Section = Callable[[Stand], Iterator[Row]]
"""What a section is: it measures, and yields its figures as they come."""
