"""A service over the tiny catalogue, with a shop's folder and a key for each sort of caller."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from knockon.api.app import create_app
from knockon.api.keys import KEYS_FILE, KeyRing, Scope
from knockon.api.settings import Allowance, Settings
from knockon.query.desk import Desk
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.load import load_catalogue

from ..conftest import PREFIXES, TINY_DATA, TINY_STATIONS, tolerances

HERE = ("127.0.0.1", 50000)
QUESTION = "what else must change if I fit HD hub to Tiny T1 light?"
Keys = tuple[Path, dict[str, str]]
CHANGE = {"fits": [{"part": "HD hub"}], "car": "Tiny T1 light"}


@pytest.fixture(scope="session")
def desk(tiny: Catalogue) -> Desk:
    """The desk over the tiny catalogue."""
    return Desk(tiny)


@pytest.fixture(scope="session")
def keys(tmp_path_factory: pytest.TempPathFactory) -> Keys:
    """A file of keys, and the keys by their owner: asker, desk-1, desk-2, chief."""
    path = tmp_path_factory.mktemp("keys") / KEYS_FILE
    ring = KeyRing(path)
    owners = {
        "asker": Scope.ASK,
        "desk-1": Scope.EDIT,
        "desk-2": Scope.EDIT,
        "chief": Scope.ADMIN,
    }
    return path, {owner: ring.new(owner, scope)[1] for owner, scope in owners.items()}


class Shopfront:
    """One application, and clients of it."""

    def __init__(self, app: FastAPI, folder: Path, keys: dict[str, str]) -> None:
        self.app, self.folder, self.keys = app, folder, keys

    def client(
        self,
        owner: str = "",
        *,
        key: str = "",
        address: tuple[str, int] = HERE,
        name: str = "http://localhost",
    ) -> TestClient:
        """A client with the key of an owner, or without one."""
        token = key or self.keys.get(owner, "")
        return TestClient(
            self.app,
            base_url=name,
            client=address,
            headers={"Authorization": f"Bearer {token}"} if token else {},
            raise_server_exceptions=False,
        )


Opening = Callable[..., Shopfront]


class _Opener:
    def __init__(self, desk: Desk, folder: Path, keys: Keys) -> None:
        self._desk, self._folder, self._keys = desk, folder, keys
        self._stack = ExitStack()

    def __call__(self, *, keyed: bool = False, over: Desk | None = None, **more: Any) -> Shopfront:
        self._folder.mkdir(exist_ok=True)
        if keyed:
            _put_keys(self._folder, self._keys)
        app = create_app(over or self._desk, Settings(shop=self._folder, **more))
        # Entered once for all clients: that is what starts and ends the service.
        self._stack.enter_context(TestClient(app))
        return Shopfront(app, self._folder, self._keys[1])

    def close(self) -> None:
        self._stack.close()


def _put_keys(folder: Path, keys: Keys) -> None:
    shutil.copy(keys[0], folder / KEYS_FILE)
    (folder / KEYS_FILE).chmod(0o600)


@pytest.fixture
def opened(desk: Desk, tmp_path: Path, keys: Keys) -> Iterator[Opening]:
    """Open a service of one's own: `opened()`, `opened(keyed=True)`, `opened(allowance=…)`."""
    opener = _Opener(desk, tmp_path / "shop", keys)
    yield opener
    opener.close()


# The first request to an application costs a quarter of a second, so most tests share two. What a
# test leaves in the shop's folder is gone before the next.
@pytest.fixture(scope="session")
def _shared(
    desk: Desk, tmp_path_factory: pytest.TempPathFactory, keys: Keys
) -> Iterator[dict[bool, Shopfront]]:
    openers = {
        keyed: _Opener(desk, tmp_path_factory.mktemp("shared") / "shop", keys)
        for keyed in (False, True)
    }
    patient = Allowance(rate=1e6, burst=1_000_000)
    yield {k: opener(keyed=k, allowance=patient) for k, opener in openers.items()}
    for opener in openers.values():
        opener.close()


def _emptied(front: Shopfront) -> Shopfront:
    shutil.rmtree(front.folder)
    front.folder.mkdir()
    return front


@pytest.fixture
def front(_shared: dict[bool, Shopfront]) -> Shopfront:
    """A service without keys."""
    return _emptied(_shared[False])


@pytest.fixture
def keyed(_shared: dict[bool, Shopfront], keys: Keys) -> Shopfront:
    """A service with keys."""
    found = _emptied(_shared[True])
    _put_keys(found.folder, keys)
    return found


@pytest.fixture
def reader(front: Shopfront) -> TestClient:
    """Somebody on this machine, without a key."""
    return front.client()


@pytest.fixture(scope="session")
def renamed(build_tiny: Callable[..., Catalogue]) -> Catalogue:
    """Another version of the tiny catalogue: the car has a new name, the big wheel fits no more."""
    data = TINY_DATA.replace('"Tiny T1 light"', '"Tiny T1 light, renamed"')
    return build_tiny(
        data.replace(
            "ko:circleDiameter 120.0 ; ko:pilot 72.6", "ko:circleDiameter 130.0 ; ko:pilot 72.6"
        )
    )


@pytest.fixture(scope="session")
def begun_with(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The tiny catalogue as text in a folder of its own."""
    folder = tmp_path_factory.mktemp("text")
    places = TINY_STATIONS.removeprefix(PREFIXES)
    (folder / "tiny.trig").write_text(TINY_DATA, "utf-8")
    (folder / "places.trig").write_text(f"{PREFIXES} src:drawings {{ {places} }}", "utf-8")
    (folder / "tolerances.trig").write_text(tolerances().text, "utf-8")
    return folder


@pytest.fixture(scope="session")
def desk_of_store(begun_with: Path) -> Desk:
    """A desk over those facts with the whole vocabulary."""
    return Desk(load_catalogue(begun_with))
