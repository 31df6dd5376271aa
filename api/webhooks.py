"""Tells other programs that the answer to a saved question has changed.

A delivery is a POST of JSON with three headers: Knockon-Delivery (the same for every try of one
delivery), Knockon-Time (seconds since 1970) and Knockon-Hmac, the HMAC-SHA256 in hexadecimal of
the delivery, a line end, the time, a line end and the body, under the secret that was given when
the question was saved. Deliveries go only to hosts that the service was set up for, follow no
redirects, and are tried again with growing pauses. Whoever receives them must expect one twice.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import logging
import queue
import secrets
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode, urlsplit

import httpx2

from ..query.answer import Answer
from ..query.batch import Asks
from ..query.errors import QueryError
from ..query.report import Report
from ..reasoner.errors import KnockonError
from .problems import ApiError
from .saved_questions import SavedQuestion, SavedQuestions

_log = logging.getLogger(__name__)
_PAUSES: Final = (1.0, 4.0, 15.0, 60.0)
_MOST_WAITING: Final = 500
_OLDEST: Final = 300.0


def signature(secret: str, delivery: str, at: str, body: bytes) -> str:
    """The HMAC-SHA256 of a delivery, in hexadecimal."""
    return hmac.new(
        secret.encode(), f"{delivery}\n{at}\n".encode() + body, hashlib.sha256
    ).hexdigest()


def is_genuine(headers: Mapping[str, str], body: bytes, secret: str, now: float) -> bool:
    """Whether a delivery was signed with this secret, at most five minutes ago. For receivers."""
    at, delivery = headers.get("knockon-time", ""), headers.get("knockon-delivery", "")
    fresh = at.isdecimal() and abs(now - int(at)) <= _OLDEST
    given = headers.get("knockon-hmac", "").encode()
    return hmac.compare_digest(signature(secret, delivery, at, body).encode(), given) and fresh


def checked_url(url: str, hosts: Sequence[str]) -> str:
    """A URL that may be delivered to.

    Raises:
        ApiError: 422, it may not; says why.
    """
    try:
        parts = urlsplit(url)
        host, _ = parts.hostname or "", parts.port
    except ValueError:
        host = ""
        parts = urlsplit("")
    if parts.scheme not in ("http", "https") or not host or parts.username or parts.fragment:
        detail = "Give a plain http or https address."
    elif host not in hosts:
        detail = f"Nothing is sent to {host}; the service may send to {', '.join(hosts)}."
    else:
        return url
    raise ApiError(422, "bad-address", "Cannot be delivered to", detail)


@dataclass(frozen=True, slots=True)
class Delivery:
    """One message on its way; `settled` is called once it has arrived or been given up."""

    id: str
    to: str
    secret: str
    body: bytes
    settled: Callable[[], None]


class Courier:
    """Delivers one message after another, beside everything else."""

    def __init__(
        self,
        hosts: Sequence[str],
        ended: Callable[[str], None] = lambda _: None,
        *,
        pauses: Sequence[float] = _PAUSES,
        transport: httpx2.BaseTransport | None = None,
    ) -> None:
        self._hosts, self._ended, self._pauses = tuple(hosts), ended, tuple(pauses)
        self._transport = transport
        self._waiting: queue.Queue[Delivery] = queue.Queue(_MOST_WAITING)
        self._closing = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin delivering."""
        if self._thread is None:
            self._thread = threading.Thread(target=self._work, name="courier", daemon=True)
            self._thread.start()

    def take(self, delivery: Delivery) -> bool:
        """Take a message in; False if too many are waiting (it may be brought again later)."""
        try:
            self._waiting.put_nowait(delivery)
        except queue.Full:
            self._ended("no room")
            return False
        return True

    def delivered(self) -> None:
        """Wait until nothing is on its way; for tests."""
        self._waiting.join()

    def close(self) -> None:
        """Stop; what has not arrived is found again at the next start."""
        self._closing.set()

    def _work(self) -> None:
        with httpx2.Client(
            timeout=5.0, follow_redirects=False, trust_env=False, transport=self._transport
        ) as client:
            while not self._closing.is_set():
                try:
                    delivery = self._waiting.get(timeout=0.2)
                except queue.Empty:
                    continue
                try:
                    self._deliver(client, delivery)
                except Exception:
                    _log.exception("delivery %s went wrong", delivery.id)
                finally:
                    self._waiting.task_done()

    def _deliver(self, client: httpx2.Client, delivery: Delivery) -> None:
        checked_url(delivery.to, self._hosts)  # the hosts may have been set anew since it was saved
        for pause in (*self._pauses, None):
            if self._tried(client, delivery):
                self._ended("arrived")
                break
            if pause is None:
                self._ended("given up")
            elif self._closing.wait(pause):
                return
        delivery.settled()

    def _tried(self, client: httpx2.Client, delivery: Delivery) -> bool:
        at = str(int(time.time()))
        headers = {
            "Content-Type": "application/json",
            "Knockon-Delivery": delivery.id,
            "Knockon-Time": at,
            "Knockon-Hmac": signature(delivery.secret, delivery.id, at, delivery.body),
        }
        try:
            return client.post(delivery.to, content=delivery.body, headers=headers).is_success
        except httpx2.HTTPError:
            return False


# ---------------------------------------------------------------------- what has changed


def digest_of(reply: Answer | Report) -> str:
    """Changes when an answer does; which catalogue gave it does not matter."""
    return hashlib.sha256(reply.model_dump_json(exclude={"catalogue"}).encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Watch:
    """Asks saved questions again and has told whose answers have changed."""

    saved: SavedQuestions
    courier: Courier
    desk_of: Callable[[str], Asks]

    def look(self, version: str) -> None:
        """Ask every question whose last answer came from another version of the catalogue."""
        try:
            due = [each for each in self.saved.all() if each.catalogue != version]
            for each in due:
                try:
                    self._look_at(each, version)
                except ApiError as error:
                    # It is looked at again when the service starts, or with the next version.
                    _log.warning("saved question %s: %s", each.id, error.detail)
        except Exception:
            _log.exception("saved questions could not be looked at")

    def _look_at(self, kept: SavedQuestion, version: str) -> None:
        seen, summary = self._answer(kept)
        if seen == kept.seen:
            self.saved.note(kept.id, version, seen, summary)
            return
        body = {
            "event": "answer-changed",
            "saved_question": kept.id,
            "question": kept.question,
            "ask": "/v1/ask?" + urlencode({"question": kept.question}),
            "before": {"catalogue": kept.catalogue, "summary": kept.summary},
            "now": {"catalogue": version, "summary": summary},
        }
        # Only what has been told is noted as seen, so a restart in between tells it again.
        self.courier.take(
            Delivery(
                secrets.token_hex(8),
                kept.deliver_to,
                kept.secret,
                json.dumps(body, ensure_ascii=False).encode(),
                lambda: self.saved.note(kept.id, version, seen, summary),
            )
        )

    def _answer(self, kept: SavedQuestion) -> tuple[str, str]:
        try:
            reply = self.desk_of(kept.owner).ask(kept.question)
        except (QueryError, KnockonError) as error:
            # That it can no longer be answered is news too.
            return hashlib.sha256(str(error).encode()).hexdigest(), f"Cannot be answered: {error}"
        return digest_of(reply), reply.summary
