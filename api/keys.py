"""API keys: made once, shown once, kept only as a hash.

A key is `knockon_<id>_<secret>`. The id says which record to look at and is no secret. The secret
has 256 bits; what is kept of it is its scrypt hash with a salt. `keys.json` in the shop's folder
may be read by its owner alone.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
import stat
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from pathlib import Path
from typing import Final

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ..reasoner.errors import KnockonError
from .files import one_writer, write_whole
from .settings import Allowance

KEYS_FILE: Final = "keys.json"
OWNER_PATTERN: Final = r"^[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?$"
_TOKEN = re.compile(r"knockon_([0-9a-f]{12})_([A-Za-z0-9_-]{43})")
_MOST_REMEMBERED = 1024


class KeyRefused(KnockonError):
    """A key cannot be made, found or read; says why."""


class Scope(StrEnum):
    """What a key may do; each includes what stands before it."""

    ASK = "ask"
    EDIT = "edit"
    ADMIN = "admin"

    def includes(self, other: Scope) -> bool:
        """Whether this scope may do what the other may.

        >>> Scope.EDIT.includes(Scope.ASK), Scope.ASK.includes(Scope.EDIT)
        (True, False)
        """
        order = list(Scope)
        return order.index(self) >= order.index(other)


class StoredKey(BaseModel):
    """What is kept of a key. `owner` is whose builds it sees; times are UTC."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str = Field(pattern=r"^[0-9a-f]{12}$")
    owner: str = Field(pattern=OWNER_PATTERN)
    scope: Scope
    salt: str
    hash: str
    made: datetime
    ends: datetime | None = None
    rate: float | None = Field(default=None, gt=0)
    burst: int | None = Field(default=None, gt=0)
    longest_body: int | None = Field(default=None, gt=0)
    seconds: float | None = Field(default=None, gt=0)

    def allowance(self, usual: Allowance) -> Allowance:
        """Its own bounds where it has some, else the usual ones."""
        return Allowance(
            self.rate or usual.rate,
            self.burst or usual.burst,
            self.longest_body or usual.longest_body,
            self.seconds or usual.seconds,
        )


class _Kept(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    keys: tuple[StoredKey, ...] = ()


def _now() -> datetime:
    return datetime.now(UTC)


class KeyRing:
    """The keys in one file. Reads it again when it changes, so that revoking acts at once."""

    def __init__(self, path: Path, now: Callable[[], datetime] = _now) -> None:
        self._path, self._now = path, now
        self._seen: tuple[int, int, int] | None = None
        self._keys: dict[str, StoredKey] = {}
        # scrypt is slow on purpose. A token that was right once is known again by a keyed digest,
        # whose key lives and dies with this process.
        self._pepper = secrets.token_bytes(32)
        self._right: dict[bytes, str] = {}

    def all(self) -> tuple[StoredKey, ...]:
        """Every key, in the order they were made.

        Raises:
            KeyRefused: the file cannot be used.
        """
        return tuple(self._read().values())

    def who(self, token: str) -> StoredKey | None:
        """The record of a token, or None if it is not valid (any more)."""
        match = _TOKEN.fullmatch(token)
        known = self._read().get(match[1]) if match else None
        # An unknown id costs as much as a wrong secret, so that time tells nothing.
        salt, expected = (known.salt, known.hash) if known else ("00" * 16, "")
        mark = hmac.digest(self._pepper, token.encode(errors="replace"), "sha256")
        remembered = self._right.get(mark, "")
        if not (known and hmac.compare_digest(remembered, known.hash)):
            found = _hash(match[2] if match else "", salt)
            if not hmac.compare_digest(found, expected) or known is None:
                return None
            if len(self._right) >= _MOST_REMEMBERED:
                self._right.clear()
            self._right[mark] = known.hash
        return known if known.ends is None or self._now() < known.ends else None

    def new(
        self,
        owner: str,
        scope: Scope,
        *,
        rate: float | None = None,
        seconds: float | None = None,
        longest_body: int | None = None,
    ) -> tuple[StoredKey, str]:
        """Make a key; the token is returned and never kept.

        Raises:
            KeyRefused: the owner's name is not of its form, or the file cannot be used.
        """
        if not re.fullmatch(OWNER_PATTERN, owner):
            raise KeyRefused(
                f"“{owner}” is no name for an owner: use small letters, digits and hyphens, "
                "at most 40"
            )
        with one_writer(self._path.parent):
            made, token = self._made(owner, scope, rate, seconds, longest_body)
            self._write({**self._read(), made.id: made})
        return made, token

    def revoke(self, key: str) -> StoredKey:
        """End a key at once and forget it.

        Raises:
            KeyRefused: there is no such key.
        """
        with one_writer(self._path.parent):
            keys = self._read()
            gone = self._known(keys, key)
            self._write({i: k for i, k in keys.items() if i != key})
        return gone

    def rotate(self, key: str, overlap: timedelta = timedelta(0)) -> tuple[StoredKey, str]:
        """Make a new key of the same owner, scope and bounds; the old one ends after `overlap`.

        Raises:
            KeyRefused: there is no such key.
        """
        with one_writer(self._path.parent):
            keys = dict(self._read())
            old = self._known(keys, key)
            made, token = self._made(old.owner, old.scope, old.rate, old.seconds, old.longest_body)
            if overlap:
                keys[key] = old.model_copy(update={"ends": self._now() + overlap})
            else:
                del keys[key]
            self._write({**keys, made.id: made})
        return made, token

    # ------------------------------------------------------------------ inside

    def _made(
        self,
        owner: str,
        scope: Scope,
        rate: float | None,
        seconds: float | None,
        longest_body: int | None,
    ) -> tuple[StoredKey, str]:
        name, secret, salt = secrets.token_hex(6), secrets.token_urlsafe(32), secrets.token_hex(16)
        made = StoredKey(
            id=name,
            owner=owner,
            scope=scope,
            salt=salt,
            hash=_hash(secret, salt),
            made=self._now(),
            rate=rate,
            seconds=seconds,
            longest_body=longest_body,
        )
        return made, f"knockon_{name}_{secret}"

    def _known(self, keys: dict[str, StoredKey], key: str) -> StoredKey:
        if key not in keys:
            there = ", ".join(keys) or "none"
            raise KeyRefused(f"there is no key “{key}”; there are: {there}")
        return keys[key]

    def _read(self) -> dict[str, StoredKey]:
        try:
            found = self._path.stat()
        except FileNotFoundError:
            self._seen, self._keys = None, {}
            return self._keys
        seen = (found.st_ino, found.st_mtime_ns, found.st_size)
        if seen != self._seen:
            if found.st_mode & (stat.S_IRWXG | stat.S_IRWXO):
                raise KeyRefused(f"{self._path}: others may read it; run chmod 600 on it")
            try:
                kept = _Kept.model_validate_json(self._path.read_bytes())
            except (ValidationError, OSError):
                # Nothing of the content may end up in a message.
                raise KeyRefused(f"{self._path}: cannot be read as a file of keys") from None
            self._seen, self._keys = seen, {key.id: key for key in kept.keys}
        return self._keys

    def _write(self, keys: dict[str, StoredKey]) -> None:
        text = _Kept(keys=tuple(keys.values())).model_dump_json(indent=2, exclude_none=True)
        write_whole(self._path, f"{text}\n".encode())


def _hash(secret: str, salt: str) -> str:
    made = hashlib.scrypt(secret.encode(), salt=bytes.fromhex(salt), n=2**14, r=8, p=1, dklen=32)
    return made.hex()
