"""The shop's folder as the service uses it: stock for all, saved builds for each owner.

`builds.json` and `stock.csv` are the command's own files; the builds of a key's owner are in
`builds/<owner>.json`. Files are read again when they change, so the command and the service can
both be used.
"""

from __future__ import annotations

import csv
import io
import threading
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from ..query.shop import BUILDS_FILE, STOCK_FILE, read_builds, read_stock, saved, write_builds
from ..reasoner.build import Build
from ..reasoner.catalogue import Catalogue
from ..reasoner.supply import StockItem
from .etags import tag_of
from .files import one_writer, write_whole
from .problems import ApiError

MOST_BUILDS = 500


@dataclass(frozen=True, slots=True)
class Kept:
    """Somebody's saved builds by their name in small letters, and a tag for all of them."""

    builds: Mapping[str, Build]
    tag: str


@dataclass(frozen=True, slots=True)
class Stock:
    """What is on the shelf, and a tag for it."""

    items: tuple[StockItem, ...]
    tag: str


def build_tag(build: Build) -> str:
    """The tag of one saved build."""
    return tag_of(saved(build).model_dump_json())


class Shelf:
    """Reads and writes the shop's folder. Without a folder it is empty and nothing can be saved."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder
        self._lock = threading.Lock()
        self._builds: dict[tuple[str, str], tuple[object, Kept]] = {}
        self._stock: tuple[object, Stock] | None = None

    @property
    def folder(self) -> Path:
        """The shop's folder.

        Raises:
            ApiError: 503, there is none.
        """
        if self._folder is None:
            detail = "The service was started without a shop's folder: nothing can be saved."
            raise ApiError(503, "no-shop", "Nothing can be saved", detail)
        return self._folder

    # ------------------------------------------------------------------ builds

    def builds(self, owner: str, catalogue: Catalogue) -> Kept:
        """What an owner has saved.

        Raises:
            ShopFileError: the file cannot be used on this catalogue.
        """
        if self._folder is None:
            return Kept({}, tag_of())
        path, name = self._path(owner), (owner, catalogue.version)
        stamp = _stamp(path)
        with self._lock:
            known = self._builds.get(name)
        if known is not None and known[0] == stamp:
            return known[1]
        found = read_builds(path, catalogue)
        kept = Kept(found, tag_of(*(build_tag(found[key]) for key in sorted(found))))
        with self._lock:
            if len(self._builds) > 100:
                self._builds.clear()
            self._builds[name] = stamp, kept
        return kept

    def change_builds(
        self,
        owner: str,
        catalogue: Catalogue,
        change: Callable[[Mapping[str, Build]], Mapping[str, Build]],
    ) -> None:
        """Replace an owner's builds by what `change` makes of them, with nobody in between.

        Raises:
            ApiError: 409, there would be too many. Whatever `change` raises: nothing is written.
        """
        with one_writer(self.folder):
            path = self._path(owner)
            after = change(read_builds(path, catalogue))
            if len(after) > MOST_BUILDS:
                detail = f"At most {MOST_BUILDS} builds can be saved: delete one first."
                raise ApiError(409, "too-many", "Too many builds", detail)
            write_builds(path, after)

    def _path(self, owner: str) -> Path:
        # An owner's name is held to letters, digits and hyphens where keys are made and read.
        return self.folder / "builds" / f"{owner}.json" if owner else self.folder / BUILDS_FILE

    # ------------------------------------------------------------------ stock

    def stock(self, catalogue: Catalogue) -> Stock:
        """What is on the shelf.

        Raises:
            ShopFileError: the file cannot be used on this catalogue.
        """
        if self._folder is None:
            return Stock((), tag_of())
        path = self._folder / STOCK_FILE
        stamp = (_stamp(path), catalogue.version)
        with self._lock:
            known = self._stock
        if known is not None and known[0] == stamp:
            return known[1]
        items = read_stock(path, catalogue)
        found = Stock(items, tag_of(stock_csv(items, catalogue)))
        with self._lock:
            self._stock = stamp, found
        return found

    def replace_stock(
        self, items: Iterable[StockItem], catalogue: Catalogue, check: Callable[[str], None]
    ) -> Stock:
        """Put a new stock list in place of the old one, whose tag `check` is given first."""
        with one_writer(self.folder):
            path = self.folder / STOCK_FILE
            check(self.stock(catalogue).tag)
            write_whole(path, stock_csv(items, catalogue).encode())
            return self.stock(catalogue)


def stock_csv(items: Iterable[StockItem], catalogue: Catalogue) -> str:
    """A stock list as `stock.csv` has it."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(("part", "count", "condition", "price"))
    for item in items:
        price = "" if item.price is None else format(item.price, "f")
        table.writerow((catalogue.parts[item.part].number, item.count, item.condition, price))
    return out.getvalue()


def _stamp(path: Path) -> tuple[int, int, int] | None:
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size
