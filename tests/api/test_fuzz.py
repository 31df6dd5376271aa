"""Whatever the contract allows (and much that it does not) gets an answer that the contract knows.

Bounded and repeatable: the same requests on every run.
"""

from __future__ import annotations

from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from knockon.api.app import create_app
from knockon.query.desk import Desk
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from starlette.types import Receive, Scope, Send

from .conftest import Shopfront

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
BOUNDED = settings(
    max_examples=4,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
STREAMS = {"/v1/jobs/{key}/events"}


def operations(front: Shopfront) -> list[Any]:
    async def always_on(scope: Scope, receive: Receive, send: Send) -> None:
        # Every call would start and end the service, which others use too.
        if scope["type"] != "lifespan":
            await front.app(scope, receive, send)
            return
        for word in ("startup", "shutdown"):
            await receive()
            await send({"type": f"lifespan.{word}.complete"})

    schema = schemathesis.openapi.from_asgi("/v1/openapi.json", always_on)
    found = [each.ok() for each in schema.get_all_operations()]
    return [operation for operation in found if operation.path not in STREAMS]


@pytest.mark.parametrize("mode", list(schemathesis.GenerationMode), ids=lambda mode: mode.name)
def test_whatever_is_sent_gets_an_answer_of_the_contract(
    keyed: Shopfront, mode: schemathesis.GenerationMode
) -> None:
    tried = 0
    key = {"Authorization": f"Bearer {keyed.keys['chief']}"}
    for operation in operations(keyed):
        if mode is schemathesis.GenerationMode.NEGATIVE and not _can_be_wrong(operation):
            continue

        @BOUNDED
        @given(case=operation.as_strategy(generation_mode=mode))
        def send(case: Any) -> None:
            nonlocal tried
            tried += 1
            case.headers = {**(case.headers or {}), **key}
            case.validate_response(case.call(), checks=CHECKS)

        send()
    assert tried > 50


def _can_be_wrong(operation: Any) -> bool:
    return bool(operation.body) or any(True for _ in operation.iter_parameters())


def test_the_contract_lists_the_routes_of_the_application(desk: Desk) -> None:
    assert len(create_app(desk).openapi()["paths"]) >= 40
