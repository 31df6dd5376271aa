"""The `knockon` command.

Exit codes: 0 answered; 1 the answer is no (nothing is workable, it does not fit); 2 the question or
an option is wrong; 3 the catalogue cannot be read or was refused; 4 a fault of knockon itself.
"""

from __future__ import annotations

import json
import os
import sys
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

import click

from .commands.ask import ask
from .commands.batch import batch
from .commands.builds import build
from .commands.check import check
from .commands.edit import edit
from .commands.explain import explain
from .commands.prompt import prompt
from .commands.shared import data_option, open_desk, shop_option
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


for each in (ask, batch, build, check, edit, explain, prompt, sparql, store):
    main.add_command(each)


@main.command()
def schema() -> None:
    """Print the JSON Schema of an answer."""
    from .report import schema as reply_schema

    click.echo(json.dumps(reply_schema(), ensure_ascii=False, indent=2))


@main.command()
@data_option
@shop_option
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8765, show_default=True, help="Port to listen on.")
def serve(data: Path | None, shop: Path, host: str, port: int) -> None:
    """Answer over HTTP at /v1 (see /v1/openapi.json)."""
    from importlib import import_module

    # The command may not import the layer above it; it starts it by name, as a shell would.
    import_module("knockon.api.server").run(open_desk(data, shop), host, port)
