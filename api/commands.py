"""`knockon serve` and `knockon key`."""

from __future__ import annotations

import os
import sys
from datetime import timedelta
from pathlib import Path
from typing import Final, NoReturn

import click

from ..query.commands.shared import BAD_QUESTION, data_option, open_desk, shop_option
from ..reasoner.errors import KnockonError
from ..reasoner.load import demo_folder
from .keys import KEYS_FILE, KeyRing, Scope
from .settings import Settings

_HELP: Final = {"help_option_names": ["-h", "--help"]}


@click.command(context_settings=_HELP)
@data_option
@shop_option
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8765, show_default=True, help="Port to listen on.")
@click.option(
    "--keyless", is_flag=True, help="Let this machine go on reading without a key, keys or not."
)
@click.option(
    "--origin",
    "origins",
    multiple=True,
    metavar="ORIGIN",
    help="A web origin whose scripts may call (CORS), such as https://shop.example.",
)
@click.option(
    "--webhook-host",
    "hosts",
    multiple=True,
    metavar="HOST",
    help="A host to which changed answers may be sent, beside this machine.",
)
@click.option(
    "--workers",
    type=click.IntRange(0, 256),
    default=None,
    metavar="N",
    help="Processes that answer questions: as many as there are cores if left out; with 0 or 1 "
    "the service answers itself.",
)
def serve(
    data: Path | None,
    shop: Path,
    host: str,
    port: int,
    keyless: bool,
    origins: tuple[str, ...],
    hosts: tuple[str, ...],
    workers: int | None,
) -> None:
    """Answer over HTTP at /v1 (see /v1/openapi.json).

    Until keys are made (`knockon key new`) only this machine may ask, and nothing can be changed.
    """
    # The server takes long to load; keys are made without it.
    from .server import run

    usual = Settings()
    settings = Settings(
        shop=shop,
        data=data or demo_folder(),
        keyless=keyless,
        origins=origins,
        workers=_cores() if workers is None else workers,
        webhook_hosts=(*usual.webhook_hosts, *hosts),
    )
    try:
        run(open_desk(data, shop), settings, host, port)
    except KnockonError as error:
        _refuse(error)


@click.group(context_settings=_HELP)
def key() -> None:
    """Keys for programs that use the service. A key is shown once, when it is made."""


@key.command("new")
@click.argument("owner")
@click.option(
    "--scope",
    type=click.Choice([scope.value for scope in Scope]),
    default=Scope.ASK.value,
    show_default=True,
    help="What it may do; each includes the one before it.",
)
@click.option("--rate", type=click.FloatRange(0.1, 10_000), help="Requests a second.")
@click.option("--seconds", type=click.FloatRange(0.1, 600), help="How long an answer may take.")
@click.option("--body-kb", type=click.IntRange(1, 4096), help="The longest body, in kB.")
@shop_option
def new(
    owner: str,
    scope: str,
    rate: float | None,
    seconds: float | None,
    body_kb: int | None,
    shop: Path,
) -> None:
    """Make a key for OWNER; keys of one owner see the same saved builds."""
    longest = None if body_kb is None else body_kb * 1024
    try:
        made, token = KeyRing(shop / KEYS_FILE).new(
            owner, Scope(scope), rate=rate, seconds=seconds, longest_body=longest
        )
    except KnockonError as error:
        _refuse(error)
    click.echo(f"key {made.id} for {made.owner}, {made.scope}; it is shown only now:", err=True)
    click.echo(token)


@key.command("list")
@shop_option
def list_keys(shop: Path) -> None:
    """Every key with its owner and scope, never the key itself."""
    try:
        keys = KeyRing(shop / KEYS_FILE).all()
    except KnockonError as error:
        _refuse(error)
    for each in keys:
        ends = f", ends {each.ends:%Y-%m-%d %H:%M} UTC" if each.ends else ""
        click.echo(f"{each.id}  {each.scope:<5}  {each.owner}  made {each.made:%Y-%m-%d}{ends}")


@key.command("revoke")
@click.argument("name", metavar="KEY")
@shop_option
def revoke(name: str, shop: Path) -> None:
    """End KEY (its id) at once, in services that run too."""
    try:
        gone = KeyRing(shop / KEYS_FILE).revoke(name)
    except KnockonError as error:
        _refuse(error)
    click.echo(f"revoked {gone.id} of {gone.owner}")


@key.command("rotate")
@click.argument("name", metavar="KEY")
@click.option(
    "--overlap",
    type=click.FloatRange(0, 24 * 90),
    default=0,
    show_default=True,
    help="Hours for which the old key still works.",
)
@shop_option
def rotate(name: str, overlap: float, shop: Path) -> None:
    """Make a new key in place of KEY (its id), with the same owner and scope."""
    try:
        made, token = KeyRing(shop / KEYS_FILE).rotate(name, timedelta(hours=overlap))
    except KnockonError as error:
        _refuse(error)
    click.echo(f"key {made.id} in place of {name}; it is shown only now:", err=True)
    click.echo(token)


def _cores() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _refuse(error: KnockonError) -> NoReturn:
    click.echo(str(error), err=True)
    sys.exit(BAD_QUESTION)
