"""Programs written against the contract go on working: nothing in it is taken away unnoticed."""

from __future__ import annotations

import copy
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from knockon.api.app import create_app
from knockon.api.settings import Settings
from knockon.query.desk import Desk
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.load import demo_folder

from .conftest import HERE
from .contract import breaks

FILE = Path(__file__).with_name("openapi.json")
Document = dict[str, Any]


@pytest.fixture(scope="module")
def current(desk: Desk) -> Document:
    found: Document = create_app(desk).openapi()
    return found


def test_nothing_that_programs_rely_on_is_taken_away(current: Document) -> None:
    if os.environ.get("KNOCKON_REWRITE_GOLDEN"):
        FILE.write_text(json.dumps(current, indent=1, ensure_ascii=False) + "\n", "utf-8")
    assert breaks(json.loads(FILE.read_text("utf-8")), current) == []


def test_the_contract_is_the_same_however_often_it_is_made(desk: Desk, current: Document) -> None:
    assert json.dumps(create_app(desk).openapi()) == json.dumps(current)


def _operation(document: Document, path: str, method: str = "get") -> Document:
    found: Document = document["paths"][path][method]
    return found


def _answer(document: Document, name: str) -> Document:
    found: Document = document["components"]["schemas"][name]
    return found


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda d: d["paths"].pop("/v1/parts"), "GET /v1/parts is gone"),
        (lambda d: d["paths"]["/v1/stock"].pop("put"), "PUT /v1/stock is gone"),
        (lambda d: _operation(d, "/v1/ask")["responses"].pop("304"), "no longer answers 304"),
        (lambda d: _operation(d, "/v1/parts")["parameters"].pop(0), "no longer takes query q"),
        (
            lambda d: _operation(d, "/v1/parts")["parameters"].append(
                {"in": "query", "name": "colour", "required": True, "schema": {"type": "string"}}
            ),
            "now needs query colour",
        ),
        (
            lambda d: _operation(d, "/v1/ask", "post")["responses"]["200"]["content"].pop(
                "application/ld+json"
            ),
            "no longer comes as application/ld+json",
        ),
        (lambda d: _answer(d, "PlanNote")["properties"].pop("hours"), "hours is gone"),
        (lambda d: _answer(d, "PlanNote")["required"].remove("hours"), "may now be left out"),
        (
            lambda d: _answer(d, "Health")["properties"].update(cars={"type": "string"}),
            "is now string instead of integer",
        ),
        (
            lambda d: _answer(d, "Health")["properties"].update(
                cars={"anyOf": [{"type": "integer"}, {"type": "null"}]}
            ),
            "may now be null",
        ),
        (lambda d: _answer(d, "AskPlans").update(required=["change", "plans"]), "is now needed"),
        (
            lambda d: _answer(d, "AskPlans")["properties"]["plans"].update(maximum=5),
            "tighter maximum",
        ),
        (
            lambda d: _answer(d, "AskJobSheet")["properties"]["units"].update(enum=["mm"]),
            "may no longer be both, in",
        ),
        (
            lambda d: _answer(d, "NewBuild")["properties"]["car"].update(pattern="^x"),
            "must now look like",
        ),
    ],
)
def test_what_is_taken_away_is_noticed(
    current: Document, change: Callable[[Document], object], said: str
) -> None:
    after = copy.deepcopy(current)
    change(after)
    assert any(said in line for line in breaks(current, after)), breaks(current, after)


@pytest.mark.parametrize(
    "change",
    [
        lambda d: d["paths"].update({"/v1/new": {"get": {"responses": {}}}}),
        lambda d: _operation(d, "/v1/parts")["responses"].update({"418": {}}),
        lambda d: _answer(d, "PlanNote")["properties"].update(colour={"type": "string"}),
        lambda d: _answer(d, "AskPlans")["properties"]["plans"].update(maximum=50),
        lambda d: _answer(d, "AskPlans")["properties"].update(colour={"type": "string"}),
        lambda d: _answer(d, "AskJobSheet")["properties"]["units"]["enum"].append("km"),
        lambda d: _operation(d, "/v1/parts")["parameters"].append(
            {"in": "query", "name": "colour", "schema": {"type": "string"}}
        ),
    ],
)
def test_what_is_added_breaks_nobody(
    current: Document, change: Callable[[Document], object]
) -> None:
    after = copy.deepcopy(current)
    change(after)
    assert breaks(current, after) == []


def test_every_example_in_the_contract_is_answered_over_the_demo(
    demo: Catalogue, tmp_path: Path, keys: tuple[Path, dict[str, str]]
) -> None:
    settings = Settings(shop=tmp_path, data=demo_folder())
    app = create_app(Desk(demo), settings)
    (tmp_path / "keys.json").write_bytes(keys[0].read_bytes())
    (tmp_path / "keys.json").chmod(0o600)
    headers = {"Authorization": f"Bearer {keys[1]['chief']}"}
    sent, refused = 0, []
    with TestClient(app, "http://localhost", client=HERE, headers=headers) as client:
        for path, method, media, example in _examples(app.openapi()):
            seen = {} if path.startswith("/v1/builds") else {"If-Match": "*"}
            body = example if isinstance(example, str) else json.dumps(example)
            response = client.request(
                method,
                path.replace("{name}", "another"),
                params={"file": "prices.csv", "why": "new list"} if "import" in path else {},
                content=body,
                headers={"Content-Type": media, **seen},
            )
            sent += 1
            if response.status_code not in (200, 201, 202):
                refused.append(f"{method} {path}: {response.text}")
    assert not refused, "\n".join(refused)
    assert sent > 20


def _examples(document: Document) -> list[tuple[str, str, str, Any]]:
    return [
        (path, method, media, example["value"])
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
        for media, content in operation.get("requestBody", {}).get("content", {}).items()
        for example in content.get("examples", {}).values()
        if "{key}" not in path and "{number}" not in path
    ]


def test_every_body_has_an_example(current: Document) -> None:
    for path, methods in current["paths"].items():
        for operation in methods.values():
            for content in operation.get("requestBody", {}).get("content", {}).values():
                assert content.get("examples") or _is_bytes(content["schema"]), path


def _is_bytes(schema: Document) -> bool:
    return schema.get("format") == "binary"


def test_every_route_says_what_it_is_for(current: Document) -> None:
    for path, methods in current["paths"].items():
        for operation in methods.values():
            assert operation["summary"], path
            assert operation["description"], path
