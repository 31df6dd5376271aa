"""What came of writes, so that one sent twice with the same Idempotency-Key is done once.

Kept for a day in the shop's folder, so that it holds through a restart. A write that was cut off
before its outcome was noted is done again: every write here puts a whole new state in place, and
says so if it is there already.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import threading
import time
from contextlib import closing
from pathlib import Path
from typing import Final

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from .admission import Caller
from .problems import ApiError

RECEIPTS_FILE: Final = "receipts.sqlite"
_WRITES: Final = {"POST", "PUT", "DELETE"}
_KEPT_SECONDS: Final = 86_400
_LONGEST_KEY, _LONGEST_BODY = 200, 256 * 1024
_KEPT_HEADERS: Final = (b"content-type", b"etag", b"location")


class Receipts:
    """Middleware: answers a repeated write with what came of it the first time.

    It holds for paths that begin with one of `paths`, for callers with a key.
    """

    def __init__(self, app: ASGIApp, folder: Path | None, paths: tuple[str, ...]) -> None:
        self.app, self._folder, self._paths = app, folder, paths
        self._busy: set[tuple[str, str]] = set()
        self._lock = threading.Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer from the receipts, or pass the request on and note what comes of it."""
        key = self._key(scope)
        if key is None:
            await self.app(scope, receive, send)
            return
        try:
            name = (scope["state"]["caller"].owner, key)
            with _Turn(self, name):
                await self._once(name, scope, receive, send)
        except ApiError as error:
            await error.response()(scope, receive, send)

    def _key(self, scope: Scope) -> str | None:
        if scope["type"] != "http" or scope["method"] not in _WRITES or self._folder is None:
            return None
        caller = scope.get("state", {}).get("caller")
        if not isinstance(caller, Caller) or caller.keyless:
            return None
        if not scope["path"].startswith(self._paths):
            return None
        return Headers(scope=scope).get("idempotency-key")

    async def _once(
        self, name: tuple[str, str], scope: Scope, receive: Receive, send: Send
    ) -> None:
        if not 1 <= len(name[1]) <= _LONGEST_KEY:
            detail = f"An Idempotency-Key has 1 to {_LONGEST_KEY} characters."
            raise ApiError(422, "bad-request", "The request is not of its form", detail)
        body = await _body(receive)
        asked = _fingerprint(scope, body)
        known = self._find(name)
        if known is not None and known.asked != asked:
            detail = "This Idempotency-Key was sent before with another request: use a new one."
            raise ApiError(422, "key-reused", "The key was used before", detail)
        if known is not None:
            await known.send(send)
            return
        found = _Receipt(asked)
        given = False

        async def again() -> Message:
            nonlocal given
            if given:
                return await receive()
            given = True
            return {"type": "http.request", "body": body, "more_body": False}

        async def noted(message: Message) -> None:
            found.hear(message)
            if found.complete:
                # Noted before it is told, so that whoever was told can rely on it.
                self._keep(name, found)
            await send(message)

        await self.app(scope, again, noted)

    # ------------------------------------------------------------------ what is kept

    def _find(self, name: tuple[str, str]) -> _Receipt | None:
        with closing(self._open()) as store:
            row = store.execute(
                "SELECT asked, status, headers, body FROM receipts WHERE owner = ? AND key = ?"
                " AND at > ?",
                (*name, time.time() - _KEPT_SECONDS),
            ).fetchone()
        return None if row is None else _Receipt(row[0], row[1], json.loads(row[2]), row[3])

    def _keep(self, name: tuple[str, str], found: _Receipt) -> None:
        if found.status >= 500 or found.status == 429 or len(found.body) > _LONGEST_BODY:
            return
        values = (*name, found.asked, found.status, json.dumps(found.headers), found.body)
        with closing(self._open()) as store, store:
            store.execute("DELETE FROM receipts WHERE at < ?", (time.time() - _KEPT_SECONDS,))
            store.execute(
                "INSERT OR REPLACE INTO receipts VALUES (?, ?, ?, ?, ?, ?, ?)",
                (*values, time.time()),
            )

    def _open(self) -> sqlite3.Connection:
        assert self._folder is not None
        path = self._folder / RECEIPTS_FILE
        if not path.exists():
            self._folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            path.touch(mode=0o600)
        store = sqlite3.connect(path, timeout=5)
        store.execute(
            "CREATE TABLE IF NOT EXISTS receipts (owner TEXT, key TEXT, asked TEXT,"
            " status INTEGER, headers TEXT, body BLOB, at REAL, PRIMARY KEY (owner, key))"
        )
        return store

    def begin(self, name: tuple[str, str]) -> None:
        """Note that a request with this key is being served.

        Raises:
            ApiError: 409, one is already.
        """
        with self._lock:
            if name in self._busy:
                detail = "A request with this Idempotency-Key is being served: wait for it."
                raise ApiError(409, "being-served", "Being served", detail, {"Retry-After": "1"})
            self._busy.add(name)

    def end(self, name: tuple[str, str]) -> None:
        """Note that it has been served."""
        with self._lock:
            self._busy.discard(name)


class _Turn:
    def __init__(self, receipts: Receipts, name: tuple[str, str]) -> None:
        self._receipts, self._name = receipts, name

    def __enter__(self) -> None:
        self._receipts.begin(self._name)

    def __exit__(self, *_: object) -> None:
        self._receipts.end(self._name)


class _Receipt:
    """What came of one write."""

    def __init__(
        self,
        asked: str,
        status: int = 0,
        headers: list[tuple[str, str]] | None = None,
        body: bytes = b"",
    ) -> None:
        self.asked, self.status, self.headers, self.body = asked, status, headers or [], body
        self.complete = False

    def hear(self, message: Message) -> None:
        """Take in a piece of the response."""
        if message["type"] == "http.response.start":
            self.status = message["status"]
            self.headers = [
                (name.decode("latin-1"), value.decode("latin-1"))
                for name, value in message["headers"]
                if name.lower() in _KEPT_HEADERS
            ]
        elif message["type"] == "http.response.body":
            self.body += message.get("body", b"")
            self.complete = not message.get("more_body", False)

    async def send(self, send: Send) -> None:
        """Say it again."""
        headers = [(n.encode("latin-1"), v.encode("latin-1")) for n, v in self.headers]
        if self.status != 204:
            headers.append((b"content-length", str(len(self.body)).encode()))
        await send({"type": "http.response.start", "status": self.status, "headers": headers})
        await send({"type": "http.response.body", "body": self.body})


async def _body(receive: Receive) -> bytes:
    pieces: list[bytes] = []
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return b"".join(pieces)
        pieces.append(message.get("body", b""))
        if not message.get("more_body", False):
            return b"".join(pieces)


def _fingerprint(scope: Scope, body: bytes) -> str:
    headers = Headers(scope=scope)
    digest = hashlib.sha256()
    for piece in (
        scope["method"].encode(),
        scope["path"].encode(),
        scope.get("query_string", b""),
        headers.get("if-match", "").encode(),
        headers.get("content-type", "").encode(),
        body,
    ):
        digest.update(f"{len(piece)}:".encode() + piece)
    return digest.hexdigest()
