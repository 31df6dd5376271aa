"""What is installed is what is in the checkout: every sub-package, and every file it reads."""

from __future__ import annotations

import re
import tomllib
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parent.parent
FOLDERS = ("ontology", "reasoner", "query", "api", "data")
BENCHMARKS = "tests/benchmarks/growth"
PLACES = {**{f"knockon.{folder}": folder for folder in FOLDERS}, "knockon.benchmarks": BENCHMARKS}


def _project() -> dict[str, Any]:
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


def _packages_on_disk() -> dict[str, Path]:
    found = {}
    for package, folder in PLACES.items():
        for marker in (ROOT / folder).rglob("__init__.py"):
            name = ".".join((package, *marker.parent.relative_to(ROOT / folder).parts))
            found[name] = marker.parent
    return found


def _files_that_are_not_code() -> list[Path]:
    return sorted(
        path
        for folder in PLACES.values()
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and path.suffix not in (".py", ".pyc") and not path.name.startswith(".")
    )


def _carried_by_package_data() -> set[Path]:
    patterns: dict[str, list[str]] = _project()["tool"]["setuptools"]["package-data"]
    return {
        path
        for name, folder in _packages_on_disk().items()
        for pattern in (*patterns.get("*", ()), *patterns.get(name, ()))
        for path in folder.glob(pattern)
    }


def test_every_folder_with_code_is_a_package_that_gets_installed() -> None:
    assert sorted(_project()["tool"]["setuptools"]["packages"]) == sorted(_packages_on_disk())


def test_every_top_folder_and_the_benchmarks_are_imported_below_knockon() -> None:
    mapping = _project()["tool"]["setuptools"]["package-dir"]
    assert mapping == PLACES


def test_every_file_the_code_reads_is_carried_along() -> None:
    carried = _carried_by_package_data()
    left_behind = [p for p in _files_that_are_not_code() if p not in carried]
    assert [str(p.relative_to(ROOT)) for p in left_behind] == []


def test_every_package_says_that_it_is_typed() -> None:
    assert [f for f in PLACES.values() if not (ROOT / f / "py.typed").is_file()] == []


@pytest.mark.parametrize("name", sorted(_packages_on_disk()))
def test_a_sub_package_imports_from_the_checkout(name: str) -> None:
    module = import_module(name)
    assert Path(str(module.__file__)).parent == _packages_on_disk()[name]


def _locked() -> dict[str, str]:
    lines = (ROOT / "requirements.lock").read_text("utf-8").splitlines()
    pins = (re.match(r"([A-Za-z0-9._-]+)==(\S+)", line) for line in lines)
    return {pin[1].lower().replace("_", "-"): pin[2] for pin in pins if pin}


def test_every_direct_dependency_is_locked() -> None:
    project = _project()["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    names = {re.split(r"[<>=!~;\[ ]", text)[0].lower().replace("_", "-") for text in wanted}
    assert sorted(names - set(_locked())) == []


def test_the_lock_pins_every_line_and_names_no_place_to_fetch_from() -> None:
    lines = (ROOT / "requirements.lock").read_text("utf-8").splitlines()
    loose = [
        line
        for line in lines
        if line and not line.lstrip().startswith("#") and not re.match(r"[A-Za-z0-9._-]+==\S", line)
    ]
    assert loose == []
    assert not any("://" in line or line.startswith("-") for line in lines)
