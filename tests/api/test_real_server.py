"""A real server on a real socket: clients that dawdle or send too much, and a sudden end."""

from __future__ import annotations

import json
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import httpx2
import pytest
from knockon.api.client import Conflicting, Knockon, Unreachable
from knockon.api.keys import KEYS_FILE
from knockon.query.shop import STOCK_FILE, read_builds, read_stock
from knockon.reasoner.catalogue import Catalogue

from .conftest import QUESTION, Keys
from .serving import Server, alive


@pytest.fixture(scope="module")
def server(
    tmp_path_factory: pytest.TempPathFactory, tiny: Catalogue, keys: Keys
) -> Iterator[Server]:
    made = Server(tmp_path_factory.mktemp("served"), tiny)
    (made.shop / KEYS_FILE).write_bytes(keys[0].read_bytes())
    (made.shop / KEYS_FILE).chmod(0o600)
    made.start()
    yield made
    made.kill()


def key_of(keys: Keys, owner: str) -> bytes:
    return f"Authorization: Bearer {keys[1][owner]}\r\n".encode()


def answers(server: Server, keys: Keys) -> bool:
    with Knockon(server.address, keys[1]["asker"]) as client:
        return bool(client.knock_ons("Tiny T1 light", ["HD hub"]).workable)


def opened(server: Server) -> socket.socket:
    made = socket.create_connection(("127.0.0.1", server.port), timeout=20)
    made.settimeout(20)
    return made


def heard(connection: socket.socket) -> bytes:
    found = b""
    with suppress(ConnectionResetError):
        while piece := connection.recv(65536):
            found += piece
    return found


def test_a_client_that_never_finishes_its_head_is_let_go(server: Server, keys: Keys) -> None:
    with opened(server) as slow:
        slow.sendall(b"GET /v1/health HT")
        assert answers(server, keys)
        assert heard(slow) == b""


def test_a_client_that_never_finishes_its_body_is_told_so(server: Server, keys: Keys) -> None:
    with opened(server) as slow:
        slow.sendall(
            b"POST /v1/ask HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
            + key_of(keys, "asker")
            + b'Content-Length: 100\r\n\r\n{"question"'
        )
        assert answers(server, keys)
        found = heard(slow)
    assert found.startswith(b"HTTP/1.1 408 ")
    assert b"/too-slow" in found


def test_ten_megabytes_are_refused_before_they_are_sent(server: Server, keys: Keys) -> None:
    with opened(server) as big:
        big.sendall(
            b"POST /v1/ask HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
            + key_of(keys, "asker")
            + b"Content-Length: 10485760\r\n\r\n"
        )
        assert big.recv(65536).startswith(b"HTTP/1.1 413 ")
        with suppress(OSError):
            for _ in range(160):
                big.sendall(b"x" * 65536)
    assert answers(server, keys)


def test_ten_megabytes_in_pieces_are_cut_off(server: Server, keys: Keys) -> None:
    with opened(server) as big, suppress(OSError):
        big.sendall(
            b"PUT /v1/builds/x HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
            + key_of(keys, "desk-1")
            + b"Transfer-Encoding: chunked\r\n\r\n"
        )
        for _ in range(160):
            big.sendall(b"10000\r\n" + b"x" * 65536 + b"\r\n")
        big.sendall(b"0\r\n\r\n")
        assert not heard(big).startswith(b"HTTP/1.1 2")
    assert answers(server, keys)


@pytest.mark.parametrize(
    "head",
    [
        b"\x16\x03\x01\x00\xa5\x01\x00\x00",
        b"GET /v1/cars HTTP/9.9\r\n\r\n",
        b"GET /v1/cars HTTP/1.1\r\nHost: localhost\r\nContent-Length: -1\r\n\r\n",
        b"GET /v1/cars HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer \xff\xfe\r\n\r\n",
        b"GET /%ff%fe HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
        b"BREW /v1/cars HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
    ],
)
def test_what_is_no_request_does_no_harm(server: Server, keys: Keys, head: bytes) -> None:
    with opened(server) as odd:
        odd.sendall(head)
        odd.shutdown(socket.SHUT_WR)
        found = heard(odd)
    assert found == b"" or found.startswith(b"HTTP/1.1 4")
    assert answers(server, keys)


def test_a_question_that_nobody_waits_for_harms_nobody(server: Server, keys: Keys) -> None:
    body = json.dumps({"question": QUESTION}).encode()
    for _ in range(5):
        with opened(server) as gone:
            gone.sendall(
                b"POST /v1/ask HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                + key_of(keys, "asker")
                + f"Content-Length: {len(body)}\r\n\r\n".encode()
                + body
            )
    assert answers(server, keys)


def test_the_log_has_no_keys_in_it(server: Server, keys: Keys) -> None:
    assert answers(server, keys)
    assert not [token for token in keys[1].values() if token.split("_", 2)[2] in server.log()]


def test_a_server_killed_while_it_writes_has_lost_nothing_it_told(
    tmp_path: Path, tiny: Catalogue, keys: Keys
) -> None:
    server = Server(tmp_path, tiny)
    (server.shop / KEYS_FILE).write_bytes(keys[0].read_bytes())
    (server.shop / KEYS_FILE).chmod(0o600)
    server.start("2")
    told: list[str] = []
    enough = threading.Event()

    def write() -> None:
        with suppress(Unreachable), Knockon(server.address, keys[1]["desk-1"], tries=1) as client:
            for at in range(10_000):
                client.save_build(f"b{at}", "Tiny T1 light", {"hub": "HD hub"}, once=f"k{at}")
                told.append(f"b{at}")
                rows = "part,count\n" + "TH-30,1\n" * (at % 50)
                client.replace_stock(rows, "*")
                if len(told) == 8:
                    enough.set()

    writer = threading.Thread(target=write)
    writer.start()
    assert enough.wait(30)
    before = server.processes()
    server.kill()
    writer.join()
    ends = time.monotonic() + 60
    while any(map(alive, before)) and time.monotonic() < ends:
        time.sleep(0.01)
    assert not [each for each in before if alive(each)]
    kept = read_builds(server.shop / "builds" / "desk-1.json", tiny)
    assert set(told) <= set(kept)
    assert len(kept) <= len(told) + 1
    read_stock(server.shop / STOCK_FILE, tiny)  # whole, or this says no

    server.start()
    with Knockon(server.address, keys[1]["desk-1"]) as client:
        assert [b.name for b in client.builds()] == sorted(b.name for b in kept.values())
        # Who was cut off may send the last one again, and the first: neither is done twice.
        again, _ = client.save_build("b0", "Tiny T1 light", {"hub": "HD hub"}, once="k0")
        assert again.name == "b0"
        with suppress(Conflicting):
            last = f"b{len(told)}"
            client.save_build(last, "Tiny T1 light", {"hub": "HD hub"}, once=f"k{len(told)}")
        assert len(list(client.builds())) == len(told) + 1
    server.kill()


def test_the_server_says_nothing_about_itself(server: Server) -> None:
    assert "server" not in httpx2.get(f"{server.address}/v1/health").headers
