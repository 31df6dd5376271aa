"""The examples in the docstrings of rules and calculations are true."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

PACKAGES = ("knockon.reasoner.interfaces", "knockon.reasoner.calculations")


def _modules() -> list[str]:
    names: list[str] = []
    for package_name in PACKAGES:
        package = importlib.import_module(package_name)
        prefix = f"{package_name}."
        names.append(package_name)
        names += [info.name for info in pkgutil.walk_packages(package.__path__, prefix)]
    return sorted(names)


@pytest.mark.parametrize("name", _modules())
def test_every_docstring_example_is_true(name: str) -> None:
    module = importlib.import_module(name)
    failed, _ = doctest.testmod(module)
    assert failed == 0
