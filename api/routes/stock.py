"""The shop's stock: read it, or put another list in its place."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from anyio import to_thread
from fastapi import APIRouter, Request, Response
from pydantic import Field, ValidationError

from ...query.answer import Number, PartRef, Value
from ...query.compose import Composer, number
from ...reasoner.catalogue import Catalogue
from ...reasoner.supply import StockItem, stock_from_rows
from ..admission import Asking, Editing
from ..bodies import Body as Asked
from ..bodies import openapi_examples
from ..etags import knows, may_replace, not_modified, tag_of
from ..negotiate import CSV, JSON, chosen
from ..problems import ApiError, documented
from ..service import Served, Service
from ..shelf import Stock, stock_csv

router = APIRouter(prefix="/stock", tags=["stock"], responses=documented(401, 406, 422, 429, 503))

STOCK_PATH = "/v1/stock"
_MOST_ITEMS = 50_000
_COLUMNS = ("part", "count", "condition", "price")
_CONDITION = re.compile(r"\w[\w ,.()/-]{0,79}")
"""Begins with a letter or digit, so that no spreadsheet takes it for a formula."""


class StockRow(Asked):
    """Parts on hand: the part number, how many, in which condition, and the price each (EUR)."""

    part: str = Field(min_length=1, max_length=100)
    count: int = Field(ge=0, le=1_000_000)
    condition: str = Field(default="used", max_length=80)
    price: Decimal | None = Field(default=None, ge=0, le=10_000_000, decimal_places=2)


class StockList(Asked):
    """The whole stock."""

    items: tuple[StockRow, ...] = Field(max_length=_MOST_ITEMS)


class StockNote(Value):
    """One line of the stock, with what the catalogue calls the part."""

    part: PartRef
    count: int
    condition: str
    price_eur: Number | None = Field(description="each; null where the catalogue's price holds")


class StockListed(Value):
    """The whole stock."""

    items: tuple[StockNote, ...]


_FORMS: dict[str, Any] = {CSV: {"schema": {"type": "string"}}}
_EXAMPLE: dict[str, Any] = {
    "items": [{"part": "OW-42310", "count": 2, "condition": "used", "price": "75.00"}]
}
_CSV_EXAMPLE = "part,count,condition,price\nOW-42310,2,used,75.00\n"
_BODY: dict[str, Any] = {
    "required": True,
    "content": {
        JSON: {
            "schema": StockList.model_json_schema(ref_template="#/components/schemas/{model}"),
            "examples": openapi_examples(_EXAMPLE),
        },
        CSV: {"schema": {"type": "string"}, "examples": {"example 1": {"value": _CSV_EXAMPLE}}},
    },
}
# What is nested goes to the components with the rest.
_BODY["content"][JSON]["schema"].pop("$defs", None)
_BODY["content"][JSON]["schema"]["properties"]["items"]["items"] = StockRow.model_json_schema()


@router.get(
    "",
    summary="The stock",
    response_model=StockListed,
    responses={
        200: {"content": _FORMS, "description": "The stock."},
        304: {"description": "It is still what you have."},
    },
)
def get_stock(request: Request, service: Served, _: Asking) -> Response:
    """What is on the shelf, as JSON or CSV by Accept."""
    form = chosen(request, (JSON, CSV))
    stock = service.shelf.stock(service.catalogue)
    tag = _tag(stock, form)
    if knows(request, tag):
        return not_modified(tag, {"Vary": "Accept"})
    return _shown(service.catalogue, service.desk.composer, stock, form)


@router.put(
    "",
    summary="Replace the stock",
    response_model=StockListed,
    responses={
        200: {"content": _FORMS, "description": "The stock as it is now."},
        **documented(403, 412, 413, 428),
    },
    openapi_extra={"requestBody": _BODY},
)
async def put_stock(request: Request, service: Served, _: Editing) -> Response:
    """Put a list (JSON, or CSV with the columns of `stock.csv`) in place of the stock.

    Send If-Match with the ETag that you read, of either form. If a row is wrong nothing of the list
    is used, and the problem names every fault.
    """
    form = chosen(request, (JSON, CSV))
    body = await request.body()
    # Reading a long list, and waiting for another writer, must keep nobody else waiting.
    stock, catalogue = await to_thread.run_sync(_replaced, request, service, form, body)
    return _shown(catalogue, service.desk.composer, stock, form)


def _replaced(
    request: Request, service: Service, form: str, body: bytes
) -> tuple[Stock, Catalogue]:
    catalogue = service.catalogue
    rows = _rows(request.headers.get("content-type", ""), body)
    items, faults = stock_from_rows(catalogue, rows)
    strange = [
        f"row {at}, condition: “{item.condition}” must begin with a letter or digit"
        for at, item in enumerate(items, 2)
        if not _CONDITION.fullmatch(item.condition)
    ]
    if faults or strange:
        raise _wrong([*faults, *strange])

    def check(tag: str) -> None:
        stock = Stock((), tag)
        given = request.headers.get("if-match", "")
        known = next((t for t in (_tag(stock, JSON), _tag(stock, CSV)) if t in given), None)
        may_replace(request, known or _tag(stock, form))

    return service.shelf.replace_stock(items, catalogue, check), catalogue


def _tag(stock: Stock, form: str) -> str:
    return tag_of(stock.tag, form)


def _shown(catalogue: Catalogue, show: Composer, stock: Stock, form: str) -> Response:
    headers = {"ETag": _tag(stock, form), "Cache-Control": "private, no-cache", "Vary": "Accept"}
    if form == CSV:
        text = stock_csv(stock.items, catalogue)
        return Response(text, media_type="text/csv; charset=utf-8", headers=headers)
    listed = StockListed(items=tuple(_note(show, item) for item in stock.items))
    return Response(listed.model_dump_json(), media_type=JSON, headers=headers)


def _note(show: Composer, item: StockItem) -> StockNote:
    return StockNote(
        part=show.part(item.part),
        count=item.count,
        condition=item.condition,
        price_eur=number(item.price),
    )


def _rows(content_type: str, body: bytes) -> list[dict[str, str]]:
    """The rows of a list, as texts.

    Raises:
        ApiError: 415 neither JSON nor CSV; 422 not of the form.
    """
    form = content_type.partition(";")[0].strip().lower()
    if form == JSON:
        try:
            given = StockList.model_validate_json(body)
        except ValidationError as error:
            places = [
                f"{'/'.join(map(str, e['loc'])) or 'the body'}: {e['msg']}"
                for e in error.errors(include_url=False)[:50]
            ]
            raise _wrong(places) from None
        return [
            {
                "part": row.part,
                "count": str(row.count),
                "condition": row.condition,
                "price": "" if row.price is None else format(row.price, "f"),
            }
            for row in given.items
        ]
    if form == CSV:
        return list(_csv_rows(body))
    detail = f"Send {JSON} or {CSV}."
    raise ApiError(415, "media-type", "Not in that form", detail, {"Accept": f"{JSON}, {CSV}"})


def _csv_rows(body: bytes) -> Iterable[dict[str, str]]:
    try:
        table = csv.DictReader(io.StringIO(body.decode("utf-8-sig")), strict=True)
        columns = table.fieldnames or ()
        if not {"part", "count"} <= set(columns) <= set(_COLUMNS):
            raise _wrong([f"row 1: the columns are {json.dumps(_COLUMNS)[1:-1]}"])
        rows = list(table)
    except UnicodeDecodeError:
        raise _wrong(["not UTF-8 text"]) from None
    except csv.Error as error:
        raise _wrong([f"not CSV: {error}"]) from None
    if len(rows) > _MOST_ITEMS:
        raise _wrong([f"at most {_MOST_ITEMS} rows"])
    for at, row in enumerate(rows, 2):
        # Cells beyond the columns stand under None.
        if None in row:
            raise _wrong([f"row {at}: more cells than columns"])
        yield {name: value or "" for name, value in row.items()}


def _wrong(faults: list[str]) -> ApiError:
    return ApiError(422, "bad-stock", "The list is not used", "; ".join(faults), faults=faults)
