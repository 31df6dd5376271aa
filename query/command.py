"""The `knockon` command.

Exit codes: 0 answered; 1 the answer is no (nothing is workable, it does not fit); 2 the question or
an option is wrong; 3 the catalogue cannot be read or was refused; 4 a fault of knockon itself.
"""

from __future__ import annotations

import json
import os
import sys
from importlib import import_module
from importlib.metadata import version
from typing import Any, Final

import click

from .commands.ask import ask
from .commands.batch import batch
from .commands.builds import build
from .commands.check import check
from .commands.edit import edit
from .commands.explain import explain
from .commands.matrix import matrix
from .commands.prompt import prompt
from .commands.sheet import sheet
from .commands.sparql import sparql
from .commands.store import store

OWN_FAULT: Final = 4


class _PromptFirst(click.Group):
    """Without the name of a command it is the prompt that is meant."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        own = {option for param in self.get_params(ctx) for option in param.opts}
        if not args or (args[0].startswith("-") and args[0] not in own):
            args = ["prompt", *args]
        return super().parse_args(ctx, args)

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """Run; a fault of knockon itself is owned up to in words, not by a traceback."""
        try:
            return super().main(*args, **kwargs)
        except Exception as error:
            if os.environ.get("KNOCKON_TRACE"):
                raise
            click.echo(
                f"This is a fault of knockon, not of the question: {type(error).__name__}: {error}."
                "\nNothing was changed. With KNOCKON_TRACE=1 the same command shows where it is.",
                err=True,
            )
            sys.exit(OWN_FAULT)


@click.group(cls=_PromptFirst, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(version("knockon"), message="knockon %(version)s")
def main() -> None:
    """What else must change if I fit X? Without a command it opens the prompt."""


for each in (ask, batch, build, check, edit, explain, matrix, prompt, sheet, sparql, store):
    main.add_command(each)


@main.command()
def schema() -> None:
    """Print the JSON Schema of an answer."""
    from .report import schema as reply_schema

    click.echo(json.dumps(reply_schema(), ensure_ascii=False, indent=2))


def _from_above(package: str, name: str, says: str) -> click.Command:
    """A command of a layer above, which may not be imported here: it is started by name."""

    @click.command(
        name,
        help=says,
        add_help_option=False,
        context_settings={"ignore_unknown_options": True, "allow_interspersed_args": False},
    )
    @click.argument("words", nargs=-1, type=click.UNPROCESSED)
    def passed_on(words: tuple[str, ...]) -> None:
        command = getattr(import_module(f"knockon.{package}.commands"), name)
        command.main(args=list(words), prog_name=f"knockon {name}")

    return passed_on


main.add_command(_from_above("api", "serve", "Answer over HTTP at /v1 (see /v1/openapi.json)."))
main.add_command(
    _from_above("api", "key", "Make, list, revoke and rotate keys for the HTTP service.")
)
main.add_command(
    _from_above("benchmarks", "bench", "Measure how time and memory grow with the catalogue.")
)
