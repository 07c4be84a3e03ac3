"""The route of /v1/customers/{code}/service-summaries/{year}."""

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from typing import Any

from flask import Response

from service import __version__
from service.api.auth import OWNER
from service.api.endpoint import Answer, Routes
from service.api.headers import attachment
from service.api.negotiation import accepted
from service.api.state import now, state
from service.domain.errors import Fault, Invalid
from service.domain.instants import to_text
from service.domain.summary.document import ServiceSummary
from service.rendering.year.formats import CSV, FORMATS, write_summary
from service.schemas.summaries import ServiceSummarySchema, SummaryQuery
from service.usecases.system import Store
from service.usecases.year import summaries

routes = Routes("summaries")
ZIP, XLSX, PDF = (FORMATS[form].media for form in ("csv", "xlsx", "pdf"))
OFFERED = {"application/json": "json", CSV: "csv", XLSX: "xlsx", PDF: "pdf", ZIP: "csv"}
FILE = {"type": "string"}
MEDIA = {CSV: FILE, ZIP: FILE, XLSX: FILE, PDF: FILE}


@routes.get(
    "/v1/customers/{code}/service-summaries/{year:int}",
    allow=OWNER,
    query=SummaryQuery,
    answers={200: Answer(ServiceSummarySchema, media=MEDIA)},
)
def service_summary(code: str, year: int, query: Mapping[str, Any]) -> Response:
    """Get one customer's year: JSON of all figures, CSV (a zip of tables, or `?table=`), a workbook or a PDF."""
    form = asked_form(query)
    as_of = checked(query, form)
    read = figures(code, year, as_of, query.get("units"))
    write = partial(write_summary, form=form, table=query.get("table"), paper=query.get("paper"))
    body = state().computing.document(read, write)
    return answered(body, form, query.get("table"), f"{code}-{year}")


def checked(query: Mapping[str, Any], form: str) -> datetime:
    """The instant asked for, default now; Invalid in the future, for a table but of CSV, and for a paper but of PDF."""
    table, paper, as_of = query.get("table"), query.get("paper"), query.get("as_of") or now()
    if table is not None and form != "csv":
        raise Invalid([Fault("table", table, "only CSV comes as single tables; add format=csv")])
    if paper is not None and form != "pdf":
        raise Invalid([Fault("paper", paper, "only the PDF has a paper size; add format=pdf")])
    if as_of > now():
        raise Invalid([Fault("as_of", to_text(as_of), "lies in the future")])
    return as_of


def figures(code: str, year: int, as_of: datetime, units_shown: str | None = None) -> Callable[[Store], ServiceSummary]:
    """What finds a customer's year in the database, in units of the customer by default."""
    return partial(
        summaries.summarise, code=code, year=year, as_of=as_of, program_version=__version__, units_shown=units_shown
    )


def answered(body: bytes, form: str, table: str | None, name: str) -> Response:
    """The response with its content type; a file, which is all but JSON, has the name."""
    kind = f"{CSV}; charset=utf-8" if table else FORMATS[form].media
    file = f"{name}-{table}.csv" if table else f"{name}.{FORMATS[form].ending}"
    return Response(body, 200, {"Vary": "Accept"} | ({} if form == "json" else attachment(file)), content_type=kind)


def asked_form(query: Mapping[str, Any]) -> str:
    """The format of the query, or else the one that `Accept` asks for."""
    return query.get("format") or accepted(OFFERED, "summary")
