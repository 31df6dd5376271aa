"""The options that say how an answer is to look, the same for every command that shows one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal, TypeAlias, TypeVar

import click

from ..style import Language, Style

_F = TypeVar("_F", bound=Callable[..., Any])
UnitChoice: TypeAlias = Literal["mm", "in", "both"]


def style_options(command: _F) -> _F:
    """`--units` and `--language`."""
    units = click.option(
        "--units",
        type=click.Choice(["mm", "in", "both"]),
        default="mm",
        show_default=True,
        help="Show lengths, torques and speeds in metric or customary units, or in both.",
    )
    language = click.option(
        "--language",
        type=click.Choice(["en-GB", "en-US"]),
        default="en-GB",
        show_default=True,
        help="British or American words.",
    )
    return units(language(command))


def style_of(units: UnitChoice, language: Language, data: Path | None) -> Style:
    """The style that the options ask for; American labels come from the catalogue in `data`."""
    terms = american(data) if language == "en-US" else {}
    return Style("in" if units == "in" else "mm", language, units == "both", terms)


def american(data: Path | None) -> dict[str, str]:
    """The American labels of the catalogue in `data`."""
    # Loading the graphs takes longer than most questions; only American readers need them.
    from ...reasoner.american import american_labels
    from ...reasoner.graphs import load_graphs

    return american_labels(load_graphs(data))
