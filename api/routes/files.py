"""The catalogue out: everything that is stated, and empty sheets to fill in."""

from __future__ import annotations

from typing import Annotated, Any

import pyoxigraph as ox
from fastapi import APIRouter, Path, Request, Response

from ..admission import Asking
from ..editing import Editing
from ..negotiate import chosen
from ..problems import documented
from ..service import Served

router = APIRouter(tags=["files"], responses=documented(401, 409, 422, 429, 503, 504))
_FORMS = {
    "application/n-quads": ox.RdfFormat.N_QUADS,
    "application/trig": ox.RdfFormat.TRIG,
}
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_SHEET: dict[str, Any] = {_XLSX: {"schema": {"type": "string", "format": "binary"}}}


@router.get(
    "/export",
    summary="All that is stated",
    response_class=Response,
    responses={
        200: {"content": {form: {} for form in _FORMS}, "description": "Every statement."},
        **documented(406),
    },
)
async def export(request: Request, service: Served, caller: Asking) -> Response:
    """Every statement, in the graph of its source, as N-Quads or TriG by Accept."""
    form = chosen(request, tuple(_FORMS))
    editing = Editing(service)
    content = await service.workbench.run(
        lambda: editing.exported(_FORMS[form]), caller.allowance.seconds
    )
    headers = {
        "Content-Disposition": f'attachment; filename="catalogue.{_FORMS[form].file_extension}"'
    }
    return Response(content, media_type=form, headers=headers)


@router.get(
    "/templates/{job}",
    summary="An empty sheet to fill in",
    response_class=Response,
    responses={200: {"content": _SHEET, "description": "A workbook."}, **documented(404)},
)
async def template(
    job: Annotated[str, Path(max_length=40)], service: Served, caller: Asking
) -> Response:
    """A workbook for one of the jobs of a maintainer: values, generation, family, prices …"""
    editing = Editing(service)
    content = await service.workbench.run(lambda: editing.template(job), caller.allowance.seconds)
    headers = {"Content-Disposition": f'attachment; filename="{job}.xlsx"'}
    return Response(content, media_type=_XLSX, headers=headers)
