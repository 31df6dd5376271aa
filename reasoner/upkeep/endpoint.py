"""Which endpoint a catalogue lives on: addresses from the command line or a file, secrets from the
environment alone.

A file whose name ends in `.endpoint` is TOML and may stand in a repository:

    query = "https://rdf.shop.example/parts/query"
    update = "https://rdf.shop.example/parts/update"   # if it is not the sibling of query
    user = "desk"                                       # if it asks who is there
    seconds = 60                                        # how long to wait for its next word

`KNOCKON_ENDPOINT_PASSWORD` goes with the user (`KNOCKON_ENDPOINT_USER`, if no file names one);
`KNOCKON_ENDPOINT_TOKEN` is sent as a bearer token instead.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

from ..addresses import address_of
from .opening import StoreError

USER: Final = "KNOCKON_ENDPOINT_USER"
PASSWORD: Final = "KNOCKON_ENDPOINT_PASSWORD"
TOKEN: Final = "KNOCKON_ENDPOINT_TOKEN"
SECONDS: Final = 60.0

_SECRETS = {"password", "passwort", "token", "secret", "key"}
_KEYS = {"query", "update", "user", "seconds", "unencrypted"}
_NEAR = {"127.0.0.1", "localhost", "::1"}


@dataclass(frozen=True, slots=True)
class Endpoint:
    """A SPARQL 1.1 service and who we are to it.

    `seconds` is how long it may say nothing. Secrets never show in what is printed of it.
    `in_the_open` allows a password or token over plain HTTP to another machine.
    """

    place: Path
    query: str
    update: str
    user: str = ""
    password: str = field(default="", repr=False)
    token: str = field(default="", repr=False)
    seconds: float = SECONDS
    in_the_open: bool = False

    def may_tell(self, address: str) -> bool:
        """Whether a secret may be sent to an address of this endpoint as it is."""
        parts = urlsplit(address)
        return parts.scheme == "https" or parts.hostname in _NEAR or self.in_the_open


def endpoint_of(place: Path, environment: Mapping[str, str] = os.environ) -> Endpoint:
    """The endpoint that a place names.

    Raises:
        StoreError: the file cannot be read, or says what it should not.
    """
    address = address_of(place)
    said: dict[str, object] = {"query": address} if address else _in_file(place)
    query = _address(place, said.get("query"), "query")
    return Endpoint(
        place=place,
        query=query,
        update=_address(place, said.get("update", _sibling(query)), "update"),
        user=_text(place, said.get("user", environment.get(USER, "")), "user"),
        password=environment.get(PASSWORD, ""),
        token=environment.get(TOKEN, ""),
        seconds=_seconds(place, said.get("seconds", SECONDS)),
        in_the_open=said.get("unencrypted", False) is True,
    )


def _sibling(query: str) -> str:
    """Where updates usually go: beside `…/query` to `…/update`, else to the same address."""
    return f"{query.removesuffix('/query')}/update" if query.endswith("/query") else query


def _in_file(place: Path) -> dict[str, object]:
    try:
        found = tomllib.loads(place.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise StoreError(place, error.strerror or "cannot be read") from None
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise StoreError(place, f"not the TOML of an endpoint: {error}") from None
    secret = sorted(_SECRETS & {name.lower() for name in found})
    if secret:
        raise StoreError(
            place, f"{secret[0]} has no place in a file; take it out and set {PASSWORD} or {TOKEN}"
        )
    strange = sorted(set(found) - _KEYS)
    if strange:
        raise StoreError(
            place, f"{', '.join(strange)}: an endpoint says {', '.join(sorted(_KEYS))}"
        )
    return found


def _address(place: Path, value: object, name: str) -> str:
    text = _text(place, value, name)
    try:
        parts = urlsplit(text)
        _ = parts.port
    except ValueError:
        raise StoreError(place, f"{name} is no address: {text}") from None
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise StoreError(place, f"{name} is to begin with http:// or https://")
    if "@" in parts.netloc:
        raise StoreError(
            place, f"{name} holds a user or password; say user = …, and set {PASSWORD}"
        )
    return text


def _text(place: Path, value: object, name: str) -> str:
    if not isinstance(value, str) or (value and not value.isprintable()):
        raise StoreError(place, f"{name} is to be a text in quotes")
    return value


def _seconds(place: Path, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0 < value <= 3600:
        raise StoreError(place, "seconds is to be a number up to 3600")
    return float(value)
