"""The figures as a table of text: a line for each thing measured, a column for each size."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from .measured import AT_MOST, Report, Row, of_several


def lines(report: Report) -> Iterator[str]:
    """The whole report, section by section."""
    told = report.machine
    yield (
        f"{told['processor']}, {told['cores']} cores, {told['memory_gib']} GiB, "
        f"Python {told['python']}, load {told['load_at_start']} at the start"
    )
    yield ", ".join(f"{name} {number}" for name, number in report.versions.items())
    for section in report.sections:
        rows = [row for row in report.rows if row.section == section]
        if rows:
            yield ""
            yield from section_lines(section, rows)
    if report.missing:
        yield ""
        yield "not measured"
        yield from (f"  {line}" for line in report.missing)


def section_lines(section: str, rows: Sequence[Row]) -> Iterator[str]:
    """One section: its name, the sizes, and the figures; limits and notes stand at the end."""
    sizes = sorted({(row.parts, row.generations) for row in rows})
    shared = of_several(rows)

    def named(row: Row) -> str:
        return f"  {row.what}, {row.series}" if row.what in shared else f"  {row.what}"

    names = list(dict.fromkeys(map(named, rows)))
    width = max(len(name) for name in names) + 2
    heads = [f"{parts:,}/{generations:,}" for parts, generations in sizes]
    yield f"{section:{width}}" + "".join(f"{head:>16}" for head in heads) + "   parts/generations"
    for name in names:
        own = {(row.parts, row.generations): row for row in rows if named(row) == name}
        cells = [figure(own[size]) if size in own else "" for size in sizes]
        yield f"{name:{width}}" + "".join(f"{cell:>16}" for cell in cells) + _limits(own.values())
    yield from dict.fromkeys(
        f"  {row.parts:,}{f', {row.series}' if row.what in shared else ''}: {row.note}"
        for row in rows
        if row.note
    )


def figure(row: Row) -> str:
    """A figure with three digits that mean something, and its unit; ≈ if it was not measured."""
    if row.unit and row.unit not in ("s", "ms", "MB", "1/s", "×"):
        text = f"{row.value:,.0f}"
    elif abs(row.value) >= 100:
        text = f"{row.value:,.0f} {row.unit}"
    else:
        text = f"{row.value:.3g} {row.unit}"
    return ("≈ " if row.estimated else "") + text.strip()


def _limits(rows: Iterable[Row]) -> str:
    told = []
    for row in rows:
        if row.limit is not None:
            word = "at most" if row.bound == AT_MOST else "at least"
            kept = "kept" if row.kept else "MISSED"
            told.append(f"   {word} {row.limit:g} {row.unit} at {row.parts:,}: {kept}")
    return "".join(told)
