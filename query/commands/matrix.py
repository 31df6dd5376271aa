"""`knockon matrix`: every part of the catalogue against every car, as Parquet."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final, NoReturn

import click

from ...reasoner.errors import CatalogueFileError, CatalogueRefused
from ...reasoner.load import load_catalogue
from ..desk import Desk
from ..errors import QueryError, render_error
from ..matrix_words import Pace, summary
from ..names import resolve
from ..phrases import CarName, Name, StationName
from .shared import BAD_CATALOGUE, BAD_QUESTION, data_option

if TYPE_CHECKING:
    from ...reasoner.catalogue import Catalogue
    from ...reasoner.matrix.chunks import Chunk, Cut
    from ...reasoner.matrix.running import Engine

_EVERY: Final = 30.0
"""Seconds between two lines about progress where they are not written over one another."""

STOPPED: Final = 130
"""The exit code of a run that was stopped, or could not go on: what is done is kept."""


@click.command()
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), default=Path("matrix"),
    show_default=True, metavar="FOLDER",
    help="The folder to fill; a run that was broken off goes on in the same folder.",
)  # fmt: skip
@click.option(
    "--car", "cars", multiple=True, metavar="NAME",
    help="Only this car, or the cars of this generation; may be said several times.",
)  # fmt: skip
@click.option(
    "--station", "stations", multiple=True, metavar="NAME",
    help="Only parts for this station; may be said several times.",
)  # fmt: skip
@click.option(
    "--workers", type=click.IntRange(1, 1024), default=None, metavar="N",
    help="Processes on this machine; as many as it has cores if left out.",
)  # fmt: skip
@click.option(
    "--on", "address", default="", metavar="ADDRESS",
    help="Have a running dask.distributed cluster do it, such as tcp://host:8786; its workers need "
    "knockon and the catalogue at the same place.",
)  # fmt: skip
@data_option
def matrix(
    out: Path,
    cars: tuple[str, ...],
    stations: tuple[str, ...],
    workers: int | None,
    address: str,
    data: Path | None,
) -> None:
    """Does every part fit every car as it is, with changes, or not at all?

    For each station that a part can sit at on a car: whether it fits, how many other stations must
    change at least, and which; beside it the same where only proven joints count. The answer is
    matrix.parquet in the folder, the same bytes however it was worked out.

    It may take hours. Stopped by Ctrl-C or otherwise, the same command goes on where it was.
    """
    from ...reasoner.matrix.errors import MatrixRefused, MatrixStopped
    from ...reasoner.matrix.parquet import NEEDED, can_write

    if not can_write():
        _end(NEEDED, BAD_QUESTION)
    if address and workers:
        raise click.UsageError("--workers is for this machine, --on for a cluster: say one of them")
    if data is not None and "://" not in str(data):
        data = data.absolute()
    try:
        catalogue = load_catalogue(data)
        cut = _cut(catalogue, cars, stations)
        del catalogue  # the processes have their own
        _fill(out, cut, data, _engine(workers, address))
    except (CatalogueFileError, CatalogueRefused) as error:
        _end(str(error), BAD_CATALOGUE)
    except MatrixRefused as error:
        _end(str(error), BAD_QUESTION)
    except (MatrixStopped, KeyboardInterrupt) as error:
        kept = f"What is done is kept in {out}: the same command goes on from there."
        _end(f"{error or 'Stopped.'} {kept}", STOPPED)
    except OSError as error:
        _end(f"{error.filename or out}: {error.strerror or 'cannot be written'}.", BAD_QUESTION)


def _fill(out: Path, cut: Cut, data: Path | None, engine: Engine) -> None:
    from ...reasoner.matrix.filling import Folder
    from ...reasoner.matrix.parquet import counted
    from ...reasoner.matrix.working import Place

    folder = Folder(out, cut)
    with folder.alone():
        missing = folder.missing()
        with _told(cut, missing) as done:
            folder.fill(Place(data, cut.catalogue, cut.code), engine, missing, done)
        counts = counted(folder.result)
    for line in summary(str(folder.result), cut.catalogue, len(cut.cars), counts):
        click.echo(line)


def _engine(workers: int | None, address: str) -> Engine:
    from ...reasoner.matrix.running import Cluster, Here

    if address:
        return Cluster(address)
    usable = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return Here(workers or usable or 1)


def _cut(catalogue: Catalogue, cars: Sequence[str], stations: Sequence[str]) -> Cut:
    from ...reasoner.matrix.chunks import cut

    desk = Desk(catalogue) if cars or stations else None
    chosen = [
        car.iri for name in cars for iri in _meant(desk, CarName(name))
        for car in catalogue.cars_of(iri)
    ]  # fmt: skip
    return cut(catalogue, chosen, [s for name in stations for s in _meant(desk, StationName(name))])


def _meant(desk: Desk | None, name: Name) -> list[str]:
    assert desk is not None
    try:
        return [entry.iri for entry in resolve(name, desk.index)]
    except QueryError as error:
        _end(render_error(name.text, error), BAD_QUESTION)


@contextmanager
def _told(cut: Cut, missing: Sequence[Chunk]) -> Iterator[Callable[[Chunk], None]]:
    """Tells on standard error how far it is: one line written over and over on a terminal, else
    one now and then."""
    began = told = time.monotonic()
    before = cells = cut.cells - sum(chunk.cells for chunk in missing)
    redraws = sys.stderr.isatty()

    def say() -> None:
        line = Pace(cells, cut.cells, before, time.monotonic() - began).line()
        click.echo(f"\r\x1b[K{line}" if redraws else line, nl=not redraws, err=True)

    def done(chunk: Chunk) -> None:
        nonlocal cells, told
        cells += chunk.cells
        if redraws or time.monotonic() - told >= _EVERY:
            told = time.monotonic()
            say()

    if missing:
        say()
    try:
        yield done
    finally:
        if missing and redraws:
            click.echo(err=True)
        elif cells > before:
            say()


def _end(text: str, code: int) -> NoReturn:
    click.echo(text, err=True)
    sys.exit(code)
