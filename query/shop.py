"""A shop's own folder: its stock, the builds it has saved by name, and the questions it keeps.

`stock.csv` has the columns part, count, condition and price (the last two may be left out or
empty). `builds.json` holds saved builds: the car they started from and the stations that differ.
`questions.txt` has one question a line, each to be asked again whenever the data is edited; lines
that begin with # say nothing.
"""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ..reasoner.build import Build, modified, stock_build
from ..reasoner.catalogue import Catalogue
from ..reasoner.errors import KnockonError
from ..reasoner.supply import StockItem, stock_from_rows

STOCK_FILE, BUILDS_FILE, QUESTIONS_FILE = "stock.csv", "builds.json", "questions.txt"
_COLUMNS = {"part", "count", "condition", "price"}


class ShopFileError(KnockonError):
    """A file of the shop cannot be used; names every fault in it."""

    def __init__(self, file: str, faults: tuple[str, ...]) -> None:
        self.file, self.faults = file, faults
        super().__init__("\n".join([f"{file}:", *(f"  {fault}" for fault in faults)]))


class SavedBuild(BaseModel):
    """One saved build: `fits` maps a station's IRI to a part's IRI, or to null where empty."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str = Field(min_length=1, max_length=80)
    car: str
    fits: dict[str, str | None] = Field(default_factory=dict)


class SavedBuilds(BaseModel):
    """The content of `builds.json`."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    builds: tuple[SavedBuild, ...] = ()


@dataclass(frozen=True, slots=True)
class Shop:
    """Stock, saved builds (known by their name without regard to case) and saved questions."""

    stock: tuple[StockItem, ...] = ()
    builds: Mapping[str, Build] = field(default_factory=dict)
    questions: tuple[str, ...] = ()


def open_shop(folder: Path, catalogue: Catalogue) -> Shop:
    """The shop in `folder`; files that are not there count as empty.

    Raises:
        ShopFileError: a file cannot be read, with every fault in it.
    """
    return Shop(
        read_stock(folder / STOCK_FILE, catalogue),
        read_builds(folder / BUILDS_FILE, catalogue),
        read_questions(folder / QUESTIONS_FILE),
    )


def read_stock(path: Path, catalogue: Catalogue) -> tuple[StockItem, ...]:
    """The stock list; nothing of it is used if a row is wrong."""
    text = _text(path)
    if text is None:
        return ()
    rows = csv.DictReader(io.StringIO(text))
    columns = set(rows.fieldnames or ())
    if not {"part", "count"} <= columns:
        raise ShopFileError(str(path), ("row 1: the columns part and count are needed",))
    strange = sorted(columns - _COLUMNS)
    if strange:
        known = ", ".join(sorted(_COLUMNS))
        faults = tuple(f"row 1: no column “{c}” is known; there are {known}" for c in strange)
        raise ShopFileError(str(path), faults)
    items, faults = stock_from_rows(catalogue, rows)
    if faults:
        raise ShopFileError(str(path), faults)
    return items


def read_builds(path: Path, catalogue: Catalogue) -> dict[str, Build]:
    """The saved builds, by their names in small letters."""
    text = _text(path)
    if text is None:
        return {}
    try:
        saved = SavedBuilds.model_validate_json(text)
    except ValidationError as error:
        faults = tuple(
            f"{'/'.join(map(str, e['loc'])) or 'the file'}: {e['msg']}" for e in error.errors()
        )
        raise ShopFileError(str(path), faults) from None
    found: dict[str, Build] = {}
    faults_found: list[str] = []
    for build in saved.builds:
        fault = _fault(build, catalogue)
        if fault or build.name.casefold() in found:
            faults_found.append(fault or f"{build.name}: saved twice")
        else:
            found[build.name.casefold()] = as_build(build, catalogue)
    if faults_found:
        raise ShopFileError(str(path), tuple(faults_found))
    return found


def read_questions(path: Path) -> tuple[str, ...]:
    """The saved questions in their order; whether they are understood is seen when asked."""
    lines = (line.strip() for line in (_text(path) or "").splitlines())
    return tuple(dict.fromkeys(line for line in lines if line and not line.startswith("#")))


def rebuilt(build: Build, catalogue: Catalogue) -> Build | str:
    """The saved build on another version of the catalogue, or why it cannot be there."""
    again = saved(build)
    return _fault(again, catalogue) or as_build(again, catalogue)


def as_build(saved: SavedBuild, catalogue: Catalogue) -> Build:
    """The build that was saved, on the catalogue of today."""
    stock = stock_build(catalogue, catalogue.cars[saved.car])
    return modified(stock, saved.fits, saved.name)


def saved(build: Build) -> SavedBuild:
    """What to write down of a build."""
    return SavedBuild(
        name=build.name, car=build.car, fits={s: build.fits[s] for s in build.changed}
    )


def write_builds(path: Path, builds: Mapping[str, Build]) -> None:
    """Write all saved builds, whole or not at all."""
    content = SavedBuilds(builds=tuple(saved(builds[name]) for name in sorted(builds)))
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(
        "w", dir=path.parent, encoding="utf-8", delete=False
    ) as handle:
        handle.write(content.model_dump_json(indent=2) + "\n")
    Path(handle.name).replace(path)


def _fault(build: SavedBuild, catalogue: Catalogue) -> str:
    if build.car not in catalogue.cars:
        return f"{build.name}: the catalogue has no car {build.car}"
    stations = stock_build(catalogue, catalogue.cars[build.car]).fits
    for station, part in build.fits.items():
        if station not in stations:
            return f"{build.name}: {catalogue.name(build.car)} has no station {station}"
        if part is not None and part not in catalogue.parts:
            return f"{build.name}: the catalogue has no part {part}"
        if part is not None and station not in catalogue.parts[part].stations:
            where = catalogue.name(station)
            return f"{build.name}: {catalogue.name(part)} does not sit at the {where}"
    return ""


def _text(path: Path) -> str | None:
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return None
    except UnicodeDecodeError:
        raise ShopFileError(str(path), ("not UTF-8 text",)) from None
    except OSError as error:
        raise ShopFileError(str(path), (error.strerror or "cannot be read",)) from None
