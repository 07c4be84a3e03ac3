"""The route of /v1/visits/{id}/report."""

from collections.abc import Mapping
from typing import Any

from flask import Response

from service.api.auth import STAFF
from service.api.endpoint import Answer, Routes
from service.api.headers import attachment
from service.api.negotiation import accepted
from service.api.state import caller, database, now, state
from service.domain.instants import local_day
from service.rendering.year.visit_report import write
from service.schemas.visit_reports import VisitReportQuery
from service.usecases.record.photos import of_report
from service.usecases.year.visit_reports import report_of

routes = Routes("visit_reports")
PDF, HTML = "application/pdf", "text/html"
OFFERED = {PDF: "pdf", HTML: "html"}
TEXT = {"type": "string"}


@routes.get(
    "/v1/visits/{id}/report",
    allow=STAFF,
    query=VisitReportQuery,
    answers={200: Answer(media={PDF: TEXT, HTML: TEXT})},
)
def visit_report(id: str, query: Mapping[str, Any]) -> Response:  # noqa: A002 - the path's own name
    """Get one visit on one page to leave with the customer, as PDF or HTML: found, done, left, what to watch, next.

    The internal note is never in it; photos are with `photos=true`. A voided visit has no report (404).
    """
    form = query.get("format") or accepted(OFFERED, "report")
    with database().reading() as store:
        report = report_of(store, id.lower(), now(), query.get("units"), caller().units_shown)
        pictures = of_report(store, report.visit) if query["photos"] else []
    paper = query.get("paper") or ("a4" if report.units_shown == "si" else "letter")
    if form == "html":
        return Response(
            write(report, form, paper, pictures), 200, {"Vary": "Accept"}, content_type=f"{HTML}; charset=utf-8"
        )
    body = state().computing.run(write, report, form, paper, pictures)
    name = attachment(f"visit-{local_day(report.arrived_at, report.time_zone)}-{report.visit[:8]}.pdf")
    return Response(body, 200, {"Vary": "Accept"} | name, content_type=PDF)
