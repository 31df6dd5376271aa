"""`knockon bench`: measure how time and memory grow with the catalogue."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import click

from .measured import Report, Row, machine, versions
from .plots import NEEDED, can_plot, plot
from .sections import SECTIONS
from .stand import FULL, SMALL, Stand, size_of
from .table import lines, section_lines

_LEAST = 100


@click.command(context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("sections", nargs=-1, type=click.Choice(tuple(SECTIONS)))
@click.option("--sizes", default="", metavar="N,N…", help="Parts in the catalogues measured.")
@click.option("--full", is_flag=True, help="All sizes up to 100,000 parts, and more of everything.")
@click.option(
    "--work", type=click.Path(file_okay=False, path_type=Path),
    help="Keep the catalogues in this folder, and use those that are there.",
)  # fmt: skip
@click.option(
    "--json", "to_json", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE",
    help="Write the figures as JSON.",
)  # fmt: skip
@click.option(
    "--plots", type=click.Path(file_okay=False, path_type=Path), metavar="FOLDER",
    help='Draw growth as SVG and PNG; needs pip install "knockon[bench]".',
)  # fmt: skip
def bench(
    sections: tuple[str, ...],
    sizes: str,
    full: bool,
    work: Path | None,
    to_json: Path | None,
    plots: Path | None,
) -> None:
    """Measure knockon over synthetic catalogues of growing size; all SECTIONS if none is named.

    Each figure comes from a process of its own. Left alone it takes about two minutes; --full takes
    the better part of an hour, wants 8 GB of memory, and a machine that does nothing else.
    """
    if plots and not can_plot():
        raise click.UsageError(NEEDED)
    chosen = tuple(name for name in SECTIONS if name in sections or not sections)
    wanted = _sizes(sizes) or (FULL if full else SMALL)
    with _folder(work) as folder:
        stand = Stand(tuple(map(size_of, wanted)), folder, full, _say)
        taken = datetime.now(UTC).isoformat(timespec="seconds")
        told, found = machine(), list[Row]()
        for name in chosen:
            rows = []
            for row in SECTIONS[name](stand):
                rows.append(row)
            found += rows
            if rows:
                click.echo("\n".join(section_lines(name, rows)), err=True)
        report = Report(taken, told, versions(), chosen, tuple(found), tuple(stand.missing))
    click.echo("\n".join(lines(report)))
    if to_json:
        to_json.write_text(report.as_json(), encoding="utf-8")
    if plots:
        for path in plot(report, plots):
            click.echo(f"wrote {path}")
    sys.exit(1 if any(row.kept is False for row in found) else 0)


def _say(text: str) -> None:
    click.echo(f"… {text}", err=True)


def _sizes(text: str) -> tuple[int, ...]:
    try:
        found = tuple(sorted({int(word) for word in text.replace("_", "").split(",") if word}))
    except ValueError:
        raise click.BadParameter("whole numbers with commas between, such as 1000,10000") from None
    if found and found[0] < _LEAST:
        raise click.BadParameter(f"a catalogue has at least {_LEAST} parts")
    return found


@contextmanager
def _folder(work: Path | None) -> Iterator[Path]:
    if work is None:
        with TemporaryDirectory(prefix="knockon-bench-") as name:
            yield Path(name)
    else:
        work.mkdir(parents=True, exist_ok=True)
        yield work
