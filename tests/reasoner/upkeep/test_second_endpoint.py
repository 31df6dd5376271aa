"""The same store on another maker's SPARQL 1.1 server: Virtuoso 7 (Debian's virtuoso-opensource-7-bin),
which cuts answers off at 10,000 rows and asks for a digest of the password."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from knockon.reasoner.load import demo_folder
from knockon.reasoner.upkeep.store import create, reading, stated_in, writing
from knockon.reasoner.upkeep.text import quads_in

from .edits import NOON, edit
from .services import free_port, served
from .test_endpoint import hostile

SERVER = shutil.which("virtuoso-t")

pytestmark = pytest.mark.skipif(
    SERVER is None, reason="Virtuoso is not installed (apt install virtuoso-opensource-7-bin)"
)

SETTINGS = """
[Database]
DatabaseFile = v.db
ErrorLogFile = v.log
LockFile = v.lck
TransactionFile = v.trx
xa_persistent_file = v.pxa
FileExtend = 200
TempStorage = TempDatabase
[TempDatabase]
DatabaseFile = t.db
TransactionFile = t.trx
[Parameters]
ServerPort = 127.0.0.1:{port}
DisableUnixSocket = 1
ServerThreads = 8
CheckpointInterval = 0
CaseMode = 2
DirsAllowed = .
NumberOfBuffers = 10000
[HTTPServer]
ServerPort = 127.0.0.1:{web}
ServerRoot = .
ServerThreads = 8
[SPARQL]
ResultSetMaxRows = 10000
"""


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A server just set up; how to reach it, as `--data` takes it."""
    folder = tmp_path_factory.mktemp("server")
    port, web = free_port(), free_port()
    (folder / "v.ini").write_text(SETTINGS.format(port=port, web=web), "utf-8")
    found = folder / "book.endpoint"
    found.write_text(
        f'query = "http://127.0.0.1:{web}/sparql"\n'
        f'update = "http://127.0.0.1:{web}/sparql-auth"\n'
        'user = "dba"\n',
        "utf-8",
    )
    asked = f"http://127.0.0.1:{web}/sparql?query=ASK%7B%7D"
    with served([str(SERVER), "-f", "-c", "v.ini"], asked, folder):
        yield found


def test_the_demo_is_written_edited_and_read_back_term_for_term(
    service: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KNOCKON_ENDPOINT_PASSWORD", "dba")
    stated = quads_in(demo_folder())
    assert len(stated) > 10_000
    version = create(service, stated, "Ann", "2024-01-08T09:00:00Z", "the first book")
    assert stated_in(service) == (version, stated)
    with writing(service) as store:
        store.accept(edit(store.version, hostile()))
    assert set(hostile()) <= stated_in(service)[1]
    with writing(service) as store:
        store.undo("1", "Bea", NOON, "the wrong hat")
    assert stated_in(service) == (version, stated)
    with reading(service) as store:
        assert [(entry.number, entry.who) for entry in store.history()] == [(1, "Ann"), (2, "Bea")]
