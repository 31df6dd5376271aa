"""What can be wrong with a catalogue or a question put to it, as data for people to read."""

from __future__ import annotations

from dataclasses import dataclass


class KnockonError(Exception):
    """Anything knockon says no to. The text is written for the person who asked."""


class CatalogueFileError(KnockonError):
    """A catalogue file cannot be read."""

    def __init__(self, file: str, line: int | None, what: str) -> None:
        self.file, self.line, self.what = file, line, what
        where = file if line is None else f"{file}, line {line}"
        super().__init__(f"{where}: {what}")


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with the data.

    `node` is the name of the thing, `place` the file (and line where known), `rule` the shape or
    OWL rule that refuses it, `what` the sentence for people, `facts` the statements that make it.
    """

    node: str
    place: str
    rule: str
    what: str
    facts: tuple[str, ...] = ()

    def __str__(self) -> str:
        lines = [f"{self.node} ({self.place}): {self.what} [{self.rule}]"]
        lines += [f"    because {fact}" for fact in self.facts]
        return "\n".join(lines)


class CatalogueRefused(KnockonError):
    """The data breaks a shape or contradicts itself; nothing is served from it."""

    def __init__(self, headline: str, faults: tuple[Fault, ...]) -> None:
        self.headline, self.faults = headline, faults
        super().__init__("\n".join([headline, *(str(fault) for fault in faults)]))
