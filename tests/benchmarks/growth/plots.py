"""Growth as pictures: one for each section, both axes logarithmic, as SVG and PNG."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from .measured import AT_MOST, Report, Row, of_several, power_law

NEEDED = 'plots need matplotlib: pip install "knockon[bench]"'
_COLOURS = (
    "#1b5e8c", "#c0561d", "#3d7a3a", "#7a4a8c", "#8a6d1a", "#4a4a4a", "#1f9e9e", "#d08aa8",
)  # fmt: skip
_TITLES = {
    "load": "from text to a catalogue that is served",
    "closure": "what follows from the facts: three engines",
    "ends": "every end against every other it may meet",
    "start": "a process over a catalogue loaded before",
    "questions": "what else must change if I fit X?",
    "generation": "one more generation in a running process",
    "api": "questions a second over HTTP",
    "matrix": "the fitment matrix",
}


def can_plot() -> bool:
    """Whether the library for it is installed."""
    return find_spec("matplotlib") is not None


def plot(report: Report, folder: Path) -> tuple[Path, ...]:
    """Draw every section that has at least two sizes; the files written, SVG first.

    Raises:
        ModuleNotFoundError: matplotlib is not installed.
    """
    import matplotlib as mpl

    mpl.use("Agg")
    # The same figures give the same file.
    mpl.rcParams.update({"svg.hashsalt": "knockon", "font.size": 9, "axes.grid": True})
    mpl.rcParams.update({"grid.color": "#dddddd", "axes.spines.top": False})
    mpl.rcParams.update({"axes.spines.right": False, "svg.fonttype": "none"})
    folder.mkdir(parents=True, exist_ok=True)
    written: list[Path] = []
    for section in report.sections:
        rows = [row for row in report.rows if row.section == section and row.series]
        if len({row.parts for row in rows}) > 1:
            written += _draw(section, rows, folder)
    return tuple(written)


def _draw(section: str, rows: Sequence[Row], folder: Path) -> Iterator[Path]:
    from matplotlib import pyplot

    panels = [u for u in ("s", "ms", "1/s", "MB") if any(row.unit == u for row in rows)]
    lines = max(len({(row.what, row.series) for row in rows if row.unit == u}) for u in panels)
    size = 5.4 * len(panels), 3.8 + 0.16 * lines
    figure, axes = pyplot.subplots(
        1, len(panels), figsize=size, squeeze=False, layout="constrained"
    )
    for axis, unit in zip(axes[0], panels, strict=True):
        _panel(axis, unit, [row for row in rows if row.unit == unit])
    figure.suptitle(f"{section}: {_TITLES.get(section, section)}", fontsize=10)
    for suffix in ("svg", "png"):
        path = folder / f"{section}.{suffix}"
        nobody = {"Date": None} if suffix == "svg" else {"Software": None}
        figure.savefig(path, dpi=130, metadata=nobody)
        yield path
    pyplot.close(figure)


def _panel(axis: Any, unit: str, rows: Sequence[Row]) -> None:
    lines: dict[str, list[Row]] = {}
    shared = of_several(rows)
    for row in sorted(rows, key=lambda row: row.parts):
        lines.setdefault(_line(row, shared), []).append(row)
    for colour, (name, own) in zip(_COLOURS * 3, lines.items(), strict=False):
        taken = [row for row in own if not row.estimated]
        points = [(float(row.parts), row.value) for row in taken]
        law = power_law(points)
        growth = f"  (∝ parts^{law[1]:.2f})" if law and len(points) > 2 else ""
        xs, ys = [x for x, _ in points], [y for _, y in points]
        axis.plot(xs, ys, "o-", color=colour, markersize=4, label=name + growth)
        guessed = [row for row in own if row.estimated]
        if guessed and taken:
            row_s = [taken[-1], *guessed]
            axis.plot(
                [row.parts for row in row_s], [row.value for row in row_s], "--", color=colour,
                marker="o", markersize=4, markerfacecolor="white", label=f"{name}, extrapolated",
            )  # fmt: skip
    limits = {(row.limit, row.bound, row.parts) for row in rows if row.limit is not None}
    for limit, bound, parts in sorted(limits):
        mark = "v" if bound == AT_MOST else "^"
        told = f"{bound} {limit:g} {unit} at {parts:,}"
        axis.plot([parts], [limit], mark, color="#b00020", markersize=7, label=told)
    axis.set_xscale("log")
    axis.set_yscale("log")
    axis.set_xlabel("parts in the catalogue")
    axis.set_ylabel({"s": "seconds", "ms": "milliseconds", "MB": "MB", "1/s": "per second"}[unit])
    # Below, where it hides no line.
    axis.legend(fontsize=7, frameon=False, loc="upper left", bbox_to_anchor=(0, -0.14))


def _line(row: Row, shared: Container[str]) -> str:
    """What a figure's line is called: by whom it was, where the picture has it of several."""
    if row.what in ("closure", "peak memory"):
        return row.series
    return f"{row.what}, {row.series}" if row.what in shared else row.what
