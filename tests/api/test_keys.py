"""Keys are shown once, kept as hashes, and end when they are revoked."""

from __future__ import annotations

import hmac
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from knockon.api import keys as under_test
from knockon.api.commands import key as command
from knockon.api.keys import KEYS_FILE, KeyRefused, KeyRing, Scope


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / KEYS_FILE


def test_a_key_is_known_by_its_owner_and_scope(path: Path) -> None:
    made, token = KeyRing(path).new("desk-1", Scope.EDIT)
    found = KeyRing(path).who(token)
    assert found == made
    assert (found.owner, found.scope) == ("desk-1", Scope.EDIT)


def test_the_file_holds_no_key_and_only_its_owner_may_read_it(path: Path) -> None:
    _, token = KeyRing(path).new("desk-1", Scope.ASK)
    secret = token.split("_", 2)[2]
    assert len(secret) > 40
    assert secret not in path.read_text("utf-8")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_file_that_others_may_read_is_not_used(path: Path) -> None:
    _, token = KeyRing(path).new("desk-1", Scope.ASK)
    path.chmod(0o640)
    with pytest.raises(KeyRefused, match="chmod 600"):
        KeyRing(path).who(token)


@pytest.mark.parametrize(
    "change",
    [
        lambda token: token[:-1] + ("A" if token[-1] != "A" else "B"),
        lambda token: token[:-1],
        lambda token: token + "A",
        lambda token: "knockon_" + "0" * 12 + token[20:],
        lambda token: "",
        lambda token: "é" * 50,
        lambda token: token.upper(),
    ],
)
def test_a_key_that_is_not_quite_right_is_none(path: Path, change: object) -> None:
    _, token = KeyRing(path).new("desk-1", Scope.ASK)
    assert KeyRing(path).who(change(token)) is None  # type: ignore[operator]


def test_a_wrong_key_is_still_wrong_after_the_right_one(path: Path) -> None:
    ring = KeyRing(path)
    _, token = ring.new("desk-1", Scope.ASK)
    assert ring.who(token)
    assert ring.who(token[:-2] + "zz") is None


def test_secrets_are_compared_in_constant_time(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    compared, real = [], hmac.compare_digest

    def watched(a: str, b: str) -> bool:
        compared.append((a, b))
        return real(a, b)

    ring = KeyRing(path)
    _, token = ring.new("desk-1", Scope.ASK)
    monkeypatch.setattr(under_test.hmac, "compare_digest", watched)
    ring.who(token)
    ring.who("knockon_" + "0" * 12 + "_" + "A" * 43)
    assert len(compared) >= 2


def test_an_unknown_key_costs_a_hash_too(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    hashed = []
    real = under_test._hash
    monkeypatch.setattr(
        under_test, "_hash", lambda secret, salt: hashed.append(salt) or real(secret, salt)
    )
    KeyRing(path).who("knockon_" + "0" * 12 + "_" + "A" * 43)
    assert len(hashed) == 1


def test_a_revoked_key_ends_at_once_for_a_service_that_runs(path: Path) -> None:
    running = KeyRing(path)
    made, token = KeyRing(path).new("desk-1", Scope.ASK)
    assert running.who(token)
    KeyRing(path).revoke(made.id)
    assert running.who(token) is None


def test_a_rotated_key_has_the_same_owner_scope_and_bounds(path: Path) -> None:
    ring = KeyRing(path)
    made, old = ring.new("desk-1", Scope.EDIT, rate=3)
    after, token = ring.rotate(made.id)
    assert (after.owner, after.scope, after.rate) == ("desk-1", Scope.EDIT, 3)
    assert ring.who(token) == after
    assert ring.who(old) is None


def test_while_they_overlap_both_keys_are_valid(path: Path) -> None:
    now = datetime(2026, 3, 1, tzinfo=UTC)
    ring = KeyRing(path, now=lambda: now)
    made, old = ring.new("desk-1", Scope.ASK)
    _, new = ring.rotate(made.id, timedelta(hours=2))
    assert ring.who(old)
    assert ring.who(new)
    now += timedelta(hours=2)
    assert ring.who(old) is None
    assert ring.who(new)


@pytest.mark.parametrize("owner", ["", "Desk", "../x", "a/b", "a" * 41, "-a", "a\n"])
def test_an_owner_whose_name_could_be_a_path_is_refused(path: Path, owner: str) -> None:
    with pytest.raises(KeyRefused):
        KeyRing(path).new(owner, Scope.ASK)


def test_a_damaged_file_is_refused_without_showing_it(path: Path) -> None:
    path.write_text('{"keys": "abc"}', "utf-8")
    path.chmod(0o600)
    with pytest.raises(KeyRefused) as caught:
        KeyRing(path).all()
    assert "abc" not in str(caught.value)


# ---------------------------------------------------------------------- the command


def run(path: Path, *words: str) -> tuple[int, str, str]:
    found = CliRunner().invoke(command, [*words, "--shop", str(path.parent)])
    return found.exit_code, found.stdout, found.stderr


def test_the_command_prints_a_new_key_alone_on_its_output(path: Path) -> None:
    code, out, err = run(path, "new", "desk-1", "--scope", "edit")
    assert code == 0
    found = KeyRing(path).who(out.strip())
    assert found is not None
    assert found.scope is Scope.EDIT
    assert out.strip() not in err


def test_the_command_lists_keys_without_their_secrets(path: Path) -> None:
    _, token, _ = run(path, "new", "desk-1")
    code, out, _ = run(path, "list")
    assert code == 0
    assert "desk-1" in out
    assert token.strip().split("_", 2)[2] not in out


def test_the_command_rotates_and_revokes(path: Path) -> None:
    _, old, _ = run(path, "new", "desk-1")
    name = KeyRing(path).all()[0].id
    _, new, _ = run(path, "rotate", name)
    after = KeyRing(path).all()[0].id
    code, out, _ = run(path, "revoke", after)
    assert (code, out) == (0, f"revoked {after} of desk-1\n")
    assert KeyRing(path).who(old.strip()) is None
    assert KeyRing(path).who(new.strip()) is None


def test_the_command_says_which_keys_there_are(path: Path) -> None:
    run(path, "new", "desk-1")
    code, _, err = run(path, "revoke", "nobody")
    assert code == 2
    assert KeyRing(path).all()[0].id in err
