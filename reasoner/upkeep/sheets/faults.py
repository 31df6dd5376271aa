"""What can be wrong with a sheet, by sheet, row and column, as data for people to read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from ...errors import KnockonError

MOST_FAULTS = 10_000
"""How many faults are kept word for word; a file that is wrong throughout says so with these."""


@dataclass(frozen=True, slots=True, order=True)
class SheetFault:
    """One thing wrong: where, and what is wrong with what is allowed there.

    `row` counts as the spreadsheet does, the header being row 1; 0 means the sheet as a whole.
    `column` is the header of the column, "" where the whole row is meant.
    """

    sheet: str
    row: int
    column: str
    what: str

    def __str__(self) -> str:
        where = ", ".join(
            [
                *([f"sheet “{self.sheet}”"] if self.sheet else []),
                *([f"row {self.row}"] if self.row else []),
                *([f"column “{self.column}”"] if self.column else []),
            ]
        )
        return f"{where}: {self.what}" if where else self.what


class SheetRefused(KnockonError):
    """A file is not taken in, nothing of it; names every fault."""

    def __init__(self, faults: Iterable[SheetFault], untold: int = 0) -> None:
        self.faults, self.untold = tuple(faults), untold
        count = len(self.faults) + untold
        lines = [f"{count} fault{'' if count == 1 else 's'}; nothing was taken in."]
        lines += [f"  {fault}" for fault in self.faults]
        lines += [f"  … and {untold} more"] * bool(untold)
        super().__init__("\n".join(lines))


class FileRefused(SheetRefused):
    """A file that is not opened, or not read to its end: too large, dangerous or damaged."""

    def __init__(self, file: str, what: str, sheet: str = "", row: int = 0) -> None:
        self.file, self.what = file, what
        super().__init__((SheetFault(sheet, row, "", f"{file}: {what}"),))


@dataclass(slots=True)
class FaultList:
    """Gathers faults; keeps the first `MOST_FAULTS` and counts the others."""

    kept: list[SheetFault] = field(default_factory=list)
    untold: int = 0

    def add(self, sheet: str, row: int, column: str, what: str) -> None:
        """One more fault."""
        if len(self.kept) < MOST_FAULTS:
            self.kept.append(SheetFault(sheet, row, column, what))
        else:
            self.untold += 1

    def refuse_if_any(self) -> None:
        """Raises SheetRefused with everything gathered, in the order of the sheets as read."""
        if self.kept:
            raise SheetRefused(self.kept, self.untold)
