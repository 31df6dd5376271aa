"""Run the application on a socket, with bounds on what clients may hold open."""

from __future__ import annotations

import asyncio
import ipaddress
from typing import Any

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from ..query.desk import Desk
from ..reasoner.errors import KnockonError
from .app import create_app
from .keys import KEYS_FILE, KeyRing
from .settings import Settings

_MOST_CONNECTIONS = 500


class NotSafe(KnockonError):
    """The service must not be started like that; says why."""


class PatientProtocol(H11Protocol):
    """HTTP/1.1 that waits for the head of a first request only so long."""

    patience = 10.0
    """Seconds."""
    _timer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to wait."""
        super().connection_made(transport)
        self._timer = self.loop.call_later(self.patience, self._give_up)

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no more."""
        if self._timer is not None:
            self._timer.cancel()
        super().connection_lost(exc)

    @property
    def _begun(self) -> bool:
        """Whether the head of a request has been read."""
        return getattr(self, "cycle", None) is not None

    def _give_up(self) -> None:
        # A request that was read has a cycle; what follows on the connection is bounded by the
        # server's own limit on idle connections.
        if not self._begun and not self.transport.is_closing():
            self.transport.close()


def checked(settings: Settings, host: str) -> None:
    """Refuse to listen to other machines without keys.

    Raises:
        NotSafe: there are none. KeyRefused: their file cannot be used.
    """
    keys = () if settings.shop is None else KeyRing(settings.shop / KEYS_FILE).all()
    if not keys and not _is_loopback(host):
        raise NotSafe(
            f"{host} can be reached from other machines, and there are no keys: make one with "
            "`knockon key new`, or listen on 127.0.0.1."
        )


def configured(desk: Desk, settings: Settings, host: str, port: int) -> uvicorn.Config:
    """The server's configuration; what stands in front of it is not believed about clients."""
    return uvicorn.Config(
        create_app(desk, settings),
        host=host,
        port=port,
        http=PatientProtocol,
        ws="none",
        proxy_headers=False,
        server_header=False,
        limit_concurrency=_MOST_CONNECTIONS,
        timeout_keep_alive=10,
        timeout_graceful_shutdown=5,
        log_level="info",
    )


def run(desk: Desk, settings: Settings, host: str, port: int) -> None:
    """Serve until interrupted. The address is printed by the server once it listens.

    Raises:
        NotSafe: other machines could reach it and there are no keys.
    """
    checked(settings, host)
    uvicorn.Server(configured(desk, settings, host, port)).run()


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
