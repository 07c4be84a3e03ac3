"""The route of /v1/customers/{code}/service-summaries/{year}."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from flask import Response, request
from werkzeug.exceptions import NotAcceptable

from service import __version__
from service.api.auth import OWNER
from service.api.endpoint import Answer, Routes
from service.api.state import database, now
from service.domain.errors import Fault, Invalid
from service.domain.instants import to_text
from service.domain.summary.summary import ServiceSummary
from service.rendering.year import summary_csv, summary_json
from service.schemas.summaries import ServiceSummarySchema, SummaryQuery
from service.usecases import summaries

routes = Routes("summaries")
ZIP, CSV = "application/zip", "text/csv"
PDF = "application/pdf"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
TYPES = {"json": "application/json", "csv": CSV, "xlsx": XLSX, "pdf": PDF}


def _workbook(told: ServiceSummary) -> bytes:
    from service.rendering.year import summary_xlsx  # with its library it is needed by few requests

    return summary_xlsx.render(told)


def _document(told: ServiceSummary, paper: str | None = None) -> bytes:
    from service.rendering.year import summary_pdf  # as above

    return summary_pdf.render(told, paper)


FORMS: Mapping[str, Callable[..., bytes]] = {
    "json": summary_json.render,
    "csv": summary_csv.render,
    "xlsx": _workbook,
    "pdf": _document,
}
FILE = {"schema": {"type": "string"}}
MEDIA = {CSV: FILE, ZIP: FILE, XLSX: FILE, PDF: FILE}


@routes.get(
    "/v1/customers/{code}/service-summaries/{year:int}",
    allow=OWNER,
    query=SummaryQuery,
    answers={200: Answer(ServiceSummarySchema, media=MEDIA)},
)
def service_summary(code: str, year: int, query: Mapping[str, Any]) -> Response:
    """Tell one customer's year: JSON of all figures, CSV (a zip of tables, or `?table=`), a workbook or a PDF."""
    form, table = query.get("format") or asked_form(), query.get("table")
    as_of = checked(query, form)
    with database().reading() as store:
        told = summaries.summarise(
            store,
            code,
            year,
            as_of=as_of,
            program_version=__version__,
            units_shown=query.get("units"),
        )
    # The transaction is over before anything is rendered, so that a long rendering holds up nobody.
    body = FORMS[form](told, **on_paper(query)) if table is None else summary_csv.table(told, table)
    return answered(body, form, table)


def checked(query: Mapping[str, Any], form: str) -> datetime:
    """As of when to tell; Invalid for a table but of CSV, a paper but of PDF, and for what is yet to come."""
    table, paper, as_of = query.get("table"), query.get("paper"), query.get("as_of") or now()
    if table is not None and form != "csv":
        raise Invalid([Fault("table", table, "only the CSV comes table by table; ask for format=csv")])
    if paper is not None and form != "pdf":
        raise Invalid([Fault("paper", paper, "only the PDF is set on paper; ask for format=pdf")])
    if as_of > now():
        raise Invalid([Fault("as_of", to_text(as_of), "is yet to come; what will be done by then is not known")])
    return as_of


def on_paper(query: Mapping[str, Any]) -> dict[str, str]:
    """The paper asked for, as an argument of the form that takes one; none unless told."""
    return {"paper": query["paper"]} if "paper" in query else {}


def answered(body: bytes, form: str, table: str | None) -> Response:
    """What was written, as what it is."""
    kind = TYPES[form] if form != "csv" else f"{CSV}; charset=utf-8" if table else ZIP
    return Response(body, 200, {"Vary": "Accept"}, content_type=kind)


def asked_form() -> str:
    """The form that the caller's `Accept` asks for; NotAcceptable when there is none."""
    offered = {**{kind: form for form, kind in TYPES.items()}, ZIP: "csv"}
    best = request.accept_mimetypes.best_match(list(offered))
    if best is None and request.accept_mimetypes:
        raise NotAcceptable(f"The summary comes as {', '.join(offered)}.")
    return "json" if best is None else offered[best]
