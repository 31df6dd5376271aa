"""Refuse bodies that are too large, or take too long to arrive, before anything reads them."""

from __future__ import annotations

import asyncio
from contextlib import suppress

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from .problems import problem


class _Refused(Exception):
    pass


class BodyLimit:
    """Middleware: 413 for a body that is too long, declared or streamed; 408 for one too slow.

    `longest` holds for most paths, `uploads` gives the paths that take files and their bound. A
    caller's own bound holds if it is smaller or the path takes no files.
    """

    def __init__(
        self,
        app: ASGIApp,
        longest: int,
        uploads: dict[str, int] | None = None,
        seconds: float = 20.0,
    ) -> None:
        self.app, self.longest = app, longest
        self._uploads, self._seconds = uploads or {}, seconds

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on with its body counted and timed."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        longest = self._longest(scope)
        declared = dict(scope["headers"]).get(b"content-length", b"0")
        if declared.isdigit() and int(declared) > longest:
            await _too_large(longest)(scope, receive, send)
            return
        seen, slow, complete = 0, False, False
        ends = asyncio.get_running_loop().time() + self._seconds

        async def counted() -> Message:
            nonlocal seen, slow, complete
            if complete:
                return await receive()  # only to learn that the client has gone
            try:
                async with asyncio.timeout_at(ends):
                    message = await receive()
            except TimeoutError:
                slow = True
                raise _Refused from None
            seen += len(message.get("body", b""))
            complete = not message.get("more_body", False)
            if seen > longest:
                raise _Refused
            return message

        async def watched(message: Message) -> None:
            # The framework turns the exception above into an answer of its own; ours is better.
            if seen <= longest and not slow:
                await send(message)

        with suppress(_Refused):
            await self.app(scope, counted, watched)
        if seen > longest:
            await _too_large(longest)(scope, receive, send)
        elif slow:
            await self._too_slow()(scope, receive, send)

    def _longest(self, scope: Scope) -> int:
        if scope["path"] in self._uploads:
            return self._uploads[scope["path"]]
        caller = scope.get("state", {}).get("caller")
        return self.longest if caller is None else int(caller.allowance.longest_body)

    def _too_slow(self) -> ASGIApp:
        detail = f"a body must arrive within {self._seconds:g} s"
        response = problem(408, "too-slow", "The body takes too long", detail)
        response.headers["Connection"] = "close"
        return response


def _too_large(longest: int) -> ASGIApp:
    detail = f"a body may be at most {longest} bytes long"
    response = problem(413, "too-large", "The body is too large", detail)
    response.headers["Connection"] = "close"
    return response
