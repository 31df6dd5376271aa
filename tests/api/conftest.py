"""A service over the tiny catalogue, with a shop's folder and a key for each sort of caller."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from knockon.api.app import create_app
from knockon.api.keys import KEYS_FILE, KeyRing, Scope
from knockon.api.settings import Settings
from knockon.query.desk import Desk
from knockon.reasoner.catalogue import Catalogue

from ..conftest import TINY_DATA

HERE = ("127.0.0.1", 50000)
QUESTION = "what else must change if I fit HD hub to Tiny T1 light?"
CHANGE = {"fits": [{"part": "HD hub"}], "car": "Tiny T1 light"}


@pytest.fixture(scope="session")
def desk(tiny: Catalogue) -> Desk:
    """The desk over the tiny catalogue."""
    return Desk(tiny)


@pytest.fixture(scope="session")
def keys(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
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

    def __init__(self, app: FastAPI, folder: Path, keys: dict[str, str], stack: ExitStack) -> None:
        self.app, self.folder, self.keys, self._stack = app, folder, keys, stack

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
        headers = {"Authorization": f"Bearer {token}"} if token else {}
        return TestClient(
            self.app,
            base_url=name,
            client=address,
            headers=headers,
            raise_server_exceptions=False,
        )


Opening = Callable[..., Shopfront]


@pytest.fixture
def opened(desk: Desk, tmp_path: Path, keys: tuple[Path, dict[str, str]]) -> Iterator[Opening]:
    """Open a service: `opened()`, `opened(keyed=True)`, `opened(allowance=…)`."""
    with ExitStack() as stack:

        def open_one(*, keyed: bool = False, over: Desk | None = None, **more: object) -> Shopfront:
            folder = tmp_path / "shop"
            folder.mkdir(exist_ok=True)
            if keyed:
                shutil.copy(keys[0], folder / KEYS_FILE)
                (folder / KEYS_FILE).chmod(0o600)
            app = create_app(over or desk, Settings(shop=folder, **more))  # type: ignore[arg-type]
            # Entered once for all clients: that is what starts and ends the service.
            stack.enter_context(TestClient(app))
            return Shopfront(app, folder, keys[1], stack)

        yield open_one


@pytest.fixture
def front(opened: Opening) -> Shopfront:
    """A service without keys."""
    return opened()


@pytest.fixture
def keyed(opened: Opening) -> Shopfront:
    """A service with keys."""
    return opened(keyed=True)


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
