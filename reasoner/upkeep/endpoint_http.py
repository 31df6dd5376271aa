"""Talk to an endpoint over HTTP, and say in plain words whatever goes wrong.

Requests go to the addresses that were named and nowhere else: no redirect is followed, no proxy is
taken from the environment. Answers stream; nothing is held but the piece at hand.
"""

from __future__ import annotations

import io
from collections.abc import Generator, Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Final

import httpx2
import pyoxigraph as ox

from .endpoint import PASSWORD, TOKEN, Endpoint
from .opening import StoreError

Row = tuple[object, ...]

_JSON: Final = ox.QueryResultsFormat.JSON
_FORMATS = {
    "application/sparql-results+json": _JSON,
    "application/json": _JSON,
    "application/sparql-results+xml": ox.QueryResultsFormat.XML,
}
_ACCEPT = "application/sparql-results+json, application/sparql-results+xml;q=0.8"
_CONNECT = 10.0
_MOST_WORDS = 300
_UPDATE = "application/sparql-update"


class EndpointError(StoreError):
    """An endpoint that is not there, refuses, or does not answer as it should."""


class Unknown(EndpointError):
    """An update was sent, and nobody has said what became of it."""


class Line:
    """An open line to one endpoint."""

    def __init__(self, endpoint: Endpoint, transport: httpx2.BaseTransport | None = None) -> None:
        self.endpoint = endpoint
        self._http = httpx2.Client(
            timeout=httpx2.Timeout(endpoint.seconds, connect=_CONNECT),
            follow_redirects=False,
            trust_env=False,
            transport=transport,
            auth=_Credentials(endpoint) if endpoint.token or endpoint.user else None,
            headers={"User-Agent": "knockon", "Accept": _ACCEPT},
        )

    def close(self) -> None:
        """Hang up."""
        self._http.close()

    def fault(self, what: str) -> EndpointError:
        """Something wrong with this endpoint, to be raised."""
        return EndpointError(self.endpoint.place, what)

    def rows(self, query: str, names: tuple[str, ...]) -> Iterator[Row]:
        """The rows of a SELECT: the terms under these names, None where there is none.

        Raises:
            EndpointError: in words.
        """
        with self._answer(self.endpoint.query, query, "query") as answer:
            form = _FORMATS.get(_media_type(answer))
            if form is None:
                raise self.fault(
                    f"answers a query with {_media_type(answer) or 'nothing known'}, not with "
                    "SPARQL results; is this the address of its query service?"
                )
            body = _Body(answer)
            try:
                found = ox.parse_query_results(body, format=form)
                if not isinstance(found, ox.QuerySolutions):
                    raise self.fault("answers yes or no where rows were asked for")
                have = {variable.value for variable in found.variables}
                for row in found:
                    yield tuple(row[name] if name in have else None for name in names)
                body.read()  # whatever breaks after the last row breaks the answer too
            except (SyntaxError, ValueError, OSError) as error:
                if body.broken is not None:
                    raise body.broken from None
                raise self.fault(
                    f"its answer broke off or is not well formed; nothing was read ({error})"
                ) from None

    def yes(self, pattern: str) -> bool:
        """Whether anything matches a group graph pattern. Raises `EndpointError`."""
        return any(True for _ in self.rows(f"SELECT * WHERE {{ {pattern} }} LIMIT 1", ()))

    def update(self, text: str) -> None:
        """Have an update done, whole.

        Raises:
            EndpointError: it was refused.
            Unknown: the line broke before the endpoint said what became of it.
        """
        with self._answer(self.endpoint.update, text, "update") as answer:
            for _ in answer.iter_raw():
                pass

    @contextmanager
    def _answer(self, address: str, text: str, kind: str) -> Generator[httpx2.Response]:
        begun = False
        try:
            with self._sent(address, text, kind) as answer:
                begun = True
                self._look(answer, address, kind)
                yield answer
        except httpx2.ConnectTimeout:
            raise self.fault(f"nothing answers at {address} within {_CONNECT:g} s") from None
        except httpx2.ConnectError as error:
            raise self.fault(f"nothing answers at {address}: {_plain(error)}") from None
        except httpx2.TimeoutException:
            what = f"has said nothing for {self.endpoint.seconds:g} s"
            raise (self.fault(what) if kind == "query" else self._unknown(what)) from None
        except (httpx2.TransportError, httpx2.DecodingError) as error:
            what = "broke off in the middle of its answer" if begun else "hung up"
            what = f"{what}: {_plain(error)}"
            raise (self.fault(what) if kind == "query" else self._unknown(what)) from None

    def _unknown(self, what: str) -> Unknown:
        return Unknown(self.endpoint.place, what)

    def _sent(self, address: str, text: str, kind: str) -> AbstractContextManager[httpx2.Response]:
        # One widespread server hangs on a query that comes as application/sparql-query, so queries
        # go as a form; updates may be long, and go as they are.
        if kind == "query":
            return self._http.stream("POST", address, data={"query": text})
        headers = {"Content-Type": _UPDATE}
        return self._http.stream("POST", address, content=text.encode(), headers=headers)

    def _look(self, answer: httpx2.Response, address: str, kind: str) -> None:
        status = answer.status_code
        if status in (200, 201, 202, 204):
            return
        if status == 206:
            raise self.fault("answers with a part only (206)")
        if 300 <= status < 400:
            to = answer.headers.get("location", "elsewhere")
            raise self.fault(
                f"{address} sends us on to {to}; nothing is followed, name that address"
            )
        said = self._words_of(answer)
        who = f"as {self.endpoint.user}" if self.endpoint.user else "without a user"
        if status == 401:
            raise self.fault(
                f"does not let us in {who} (401); see that user, {PASSWORD} or {TOKEN} are right"
            )
        if status == 403:
            raise self.fault(f"forbids the {kind} {who} (403){said}")
        if status in (404, 405, 415):
            raise self.fault(
                f"{address} takes no {kind} ({status}){said}; name the right addresses in a file "
                "that ends in .endpoint"
            )
        if status in (408, 504):
            raise self.fault(f"the {kind} took it too long ({status}){said}")
        raise self.fault(f"refuses the {kind} ({status}){said}")

    def _words_of(self, answer: httpx2.Response) -> str:
        """The first line or so of what an endpoint says of its refusal."""
        if not _media_type(answer).startswith(("text/plain", "application/json")):
            return ""
        text = b""
        for piece in answer.iter_bytes():
            text += piece
            if len(text) > _MOST_WORDS:
                break
        words = " ".join(text.decode(errors="replace").split())
        clean = "".join(c for c in words if c.isprintable())[:_MOST_WORDS]
        for secret in filter(None, (self.endpoint.password, self.endpoint.token)):
            clean = clean.replace(secret, "…")
        return f": {clean}" if clean else ""


class _Credentials(httpx2.Auth):
    """Shows a password or token when asked for it, in the way in which it is asked."""

    def __init__(self, endpoint: Endpoint) -> None:
        self._endpoint = endpoint
        self._way: httpx2.Auth | None = None

    def auth_flow(
        self, request: httpx2.Request
    ) -> Generator[httpx2.Request, httpx2.Response, None]:
        """One request; another with credentials if the first is asked for them."""
        if self._endpoint.token:
            self._guard(request)
            request.headers["Authorization"] = f"Bearer {self._endpoint.token}"
            yield request
            return
        if self._way is not None:
            yield from self._way.auth_flow(request)
            return
        answer = yield request
        asked = answer.headers.get("www-authenticate", "").lower()
        if answer.status_code != 401 or not asked.startswith(("digest", "basic")):
            return
        user, password = self._endpoint.user, self._endpoint.password
        if asked.startswith("digest"):
            self._way = httpx2.DigestAuth(user, password)
        else:
            self._guard(request)
            self._way = httpx2.BasicAuth(user, password)
        yield from self._way.auth_flow(request)

    def _guard(self, request: httpx2.Request) -> None:
        if not self._endpoint.may_tell(str(request.url)):
            raise EndpointError(
                self._endpoint.place,
                "wants a password over plain HTTP, where others could read it; use https, or say "
                "unencrypted = true in its .endpoint file",
            )


class _Body(io.BytesIO):
    """The body of an answer as a file that is read once."""

    def __init__(self, answer: httpx2.Response) -> None:
        super().__init__()
        self._pieces = answer.iter_bytes()
        self._rest = b""
        self.broken: Exception | None = None

    def read(self, size: int | None = -1) -> bytes:
        """The next bytes, at most `size`; all that is left if it is None or negative."""
        all_of_it = size is None or size < 0
        try:
            if all_of_it:
                self._rest += b"".join(self._pieces)
            elif not self._rest:
                self._rest = next(self._pieces, b"")
        except Exception as error:
            self.broken = error
            raise OSError("broken off") from error
        end = len(self._rest) if all_of_it else size
        found, self._rest = self._rest[:end], self._rest[end:]
        return found


def _media_type(answer: httpx2.Response) -> str:
    return str(answer.headers.get("content-type", "")).partition(";")[0].strip().lower()


def _plain(error: Exception) -> str:
    return str(error) or type(error).__name__
