"""Who is calling, whether they may, and how often.

With no keys made yet, programs on this machine may read and nobody else may do anything. Once there
is a key, every request needs one (unless the service is set to let this machine read without).
"""

from __future__ import annotations

import ipaddress
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Final

from anyio import to_thread
from fastapi import Depends, Request
from fastapi.security import HTTPBearer
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Send
from starlette.types import Scope as AsgiScope

from .buckets import Buckets
from .keys import KeyRefused, KeyRing, Scope
from .problems import ApiError
from .settings import Allowance, Settings

_PUBLIC: Final = ("/v1/health", "/v1/ready", "/v1/openapi.json")
_FORWARDED: Final = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip", "via")
_FAILURES_A_SECOND, _FAILURES_AT_ONCE = 0.5, 10
_OWN_NAMES: Final = {"localhost", "127.0.0.1", "[::1]"}


@dataclass(frozen=True, slots=True)
class Caller:
    """Who is calling: whose builds they see (`owner`, empty without a key), and what they may."""

    key: str
    owner: str
    scope: Scope
    allowance: Allowance

    @property
    def keyless(self) -> bool:
        """Whether it came without a key: it may read only."""
        return not self.key


class Admission:
    """Middleware: finds out who is calling, and refuses whoever may not or calls too often.

    What routes need is in `request.state.caller`. `public` paths are open: those that end in “/*”
    with all that is below them.
    """

    def __init__(
        self,
        app: ASGIApp,
        ring: KeyRing | None,
        settings: Settings,
        public: tuple[str, ...] = (),
        limited: Callable[[], None] = lambda: None,
    ) -> None:
        self.app, self._ring, self._settings, self._limited = app, ring, settings, limited
        self._open = {*_PUBLIC, *public}
        self._below = tuple(path.removesuffix("*") for path in public if path.endswith("/*"))
        self._buckets = Buckets()

    async def __call__(self, scope: AsgiScope, receive: Receive, send: Send) -> None:
        """Let the request in, or answer it here."""
        path = scope.get("path", "")
        if scope["type"] != "http" or path in self._open or path.startswith(self._below):
            await self.app(scope, receive, send)
            return
        try:
            caller = await self._caller(scope)
            self._bound(caller.key or "no key", caller.allowance.rate, caller.allowance.burst)
        except ApiError as error:
            await error.response()(scope, receive, send)
            return
        scope.setdefault("state", {})["caller"] = caller
        await self.app(scope, receive, send)

    async def _caller(self, scope: AsgiScope) -> Caller:
        headers = Headers(scope=scope)
        given = headers.get("authorization")
        address = scope["client"][0] if scope.get("client") else ""
        try:
            if given is not None:
                return await self._with_key(given, address)
            keys = () if self._ring is None else self._ring.all()
        except KeyRefused:
            detail = "The file of keys cannot be used; see `knockon key list`."
            raise ApiError(503, "keys-unusable", "Nobody can be let in", detail) from None
        if keys and not self._settings.keyless:
            raise _no_key("A key is needed: send “Authorization: Bearer knockon_…”.")
        if not _is_this_machine(address, headers):
            raise _no_key("Without a key only programs on this machine may read.")
        return Caller("", "", Scope.ASK, self._settings.allowance)

    async def _with_key(self, given: str, address: str) -> Caller:
        failing = f"failing {address}"
        wait = self._buckets.would(failing, _FAILURES_A_SECOND, _FAILURES_AT_ONCE)
        if wait:
            raise self._too_often(wait)
        kind, _, token = given.partition(" ")
        found = None
        if kind.lower() == "bearer" and self._ring is not None:
            # scrypt takes its time, and lets other threads run meanwhile.
            found = await to_thread.run_sync(self._ring.who, token.strip())
        if found is None:
            self._buckets.take(failing, _FAILURES_A_SECOND, _FAILURES_AT_ONCE)
            raise _no_key("The key is not valid.")
        allowance = found.allowance(self._settings.allowance)
        return Caller(found.id, found.owner, found.scope, allowance)

    def _bound(self, caller: str, rate: float, burst: int) -> None:
        wait = self._buckets.take(caller, rate, burst)
        if wait:
            raise self._too_often(wait)

    def _too_often(self, wait: float) -> ApiError:
        self._limited()
        after = max(1, math.ceil(wait))
        detail = f"Too many requests: come back in {after} s."
        return ApiError(429, "too-often", "Too often", detail, {"Retry-After": str(after)})


def _no_key(detail: str) -> ApiError:
    challenge = {"WWW-Authenticate": 'Bearer realm="knockon"'}
    return ApiError(401, "no-key", "A key is needed", detail, challenge)


def _is_this_machine(address: str, headers: Headers) -> bool:
    """Whether it comes from here, not through a proxy, and under this machine's own name.

    The name is looked at because a page elsewhere can make a browser here call an address here
    under a name of its own.
    """
    try:
        here = ipaddress.ip_address(address)
    except ValueError:
        return False
    mapped = getattr(here, "ipv4_mapped", None)
    if not (mapped or here).is_loopback or any(name in headers for name in _FORWARDED):
        return False
    host = headers.get("host", "")
    name = host if host.endswith("]") else host.rpartition(":")[0] or host
    return name.lower() in _OWN_NAMES


_bearer = HTTPBearer(
    auto_error=False,
    scheme_name="key",
    description="A key made with `knockon key new`. On this machine reading needs none at first.",
)


def caller_of(request: Request, _: Annotated[object, Depends(_bearer)]) -> Caller:
    """Who is calling."""
    caller = request.state.caller
    assert isinstance(caller, Caller)
    return caller


def _needing(scope: Scope) -> Callable[[Caller], Caller]:
    def check(caller: Annotated[Caller, Depends(caller_of)]) -> Caller:
        if caller.keyless:
            detail = f"Without a key only reading is allowed; this needs a key of scope {scope}."
            raise ApiError(403, "read-only", "Read only", detail)
        if not caller.scope.includes(scope):
            detail = f"This needs a key of scope {scope}; yours is of scope {caller.scope}."
            raise ApiError(403, "scope", "The key may not do that", detail)
        return caller

    return check


Asking = Annotated[Caller, Depends(caller_of)]
Editing = Annotated[Caller, Depends(_needing(Scope.EDIT))]
Administering = Annotated[Caller, Depends(_needing(Scope.ADMIN))]
