"""How the service is set up: where the shop's files are, and the bounds that hold for everybody."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Allowance:
    """What one caller may use: requests per second and at once, bytes a body, seconds an answer."""

    rate: float = 20.0
    burst: int = 40
    longest_body: int = 256 * 1024
    seconds: float = 30.0


@dataclass(frozen=True, slots=True)
class Settings:
    """How the service is set up. Without a `shop` folder nothing can be saved.

    `keyless` lets programs on this machine go on reading without a key after keys were made.
    `origins` are the web origins whose scripts may call (CORS); none unless set.
    `webhook_hosts` are the only hosts that anything is ever sent to.
    """

    shop: Path | None = None
    data: Path | None = None
    keyless: bool = False
    origins: tuple[str, ...] = ()
    allowance: Allowance = field(default_factory=Allowance)
    longest_upload: int = 4 * 1024 * 1024
    """Bytes of a stock list or another file."""
    body_seconds: float = 20.0
    """How long a body may take to arrive."""
    answering: int = 2
    """Questions worked on at once; more threads would only take turns."""
    waiting: int = 64
    """Questions that may wait for their turn; one more is told to come back."""
    workers: int = 0
    """Processes that answer questions; with fewer than two the service's own threads do."""
    webhook_hosts: tuple[str, ...] = ("127.0.0.1", "localhost", "::1")
