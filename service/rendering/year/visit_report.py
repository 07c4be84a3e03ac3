"""The report of one visit as a PDF (PDF/UA-1) or as an HTML page without scripts; both say the same."""

from base64 import b64encode
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from service.domain.summary.visit_report import VisitReport
from service.rendering.year.letters import isolated
from service.rendering.year.tables import sentence
from service.rendering.year.typeset import PAPERS, typeset

Photos = Sequence[tuple[str, bytes]]
HERE = Path(__file__).parent
SECTIONS = (
    ("found", "Found", "Nothing is recorded."),
    ("done", "Done", "Nothing is recorded."),
    ("left", "Left", "Nothing is recorded."),
    ("watch", "What to watch", "Nothing special."),
    ("next", "Next", "Nothing is planned."),
)


def write(report: VisitReport, form: str, paper: str, photos: Photos = ()) -> bytes:
    """The report in a form, "pdf" or "html"; only the PDF has a paper. `photos`: what each shows, and its JPEG."""
    return pdf(report, paper, photos) if form == "pdf" else html(report, photos)


def html(report: VisitReport, photos: Photos = ()) -> bytes:
    """The page; it fetches nothing: photos are within it."""
    shown = [(words, b64encode(jpeg).decode()) for words, jpeg in photos]
    text: str = _template().render(_document(report), photos=shown)
    return text.encode()


def pdf(report: VisitReport, paper: str, photos: Photos = ()) -> bytes:
    """Typeset the report on "letter" or "a4"; the same report gives the same bytes."""
    at = int((report.left_at or report.arrived_at).timestamp())
    document = _document(report) | {"paper": PAPERS[paper], "photos": [words for words, _ in photos]}
    return typeset(HERE / "visit_report.typ", document, at, [jpeg for _, jpeg in photos])


@cache
def _template() -> Any:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return environment.get_template("visit_report.html")


def _document(report: VisitReport) -> dict[str, Any]:
    zone = ZoneInfo(report.time_zone)
    arrived, left = (each and each.astimezone(zone) for each in (report.arrived_at, report.left_at))
    title = f"Our visit on {arrived:%Y-%m-%d}"
    until = f" to {left:%H:%M}" if left else ""
    by = f", {', '.join(isolated(each) for each in report.technicians)}" if report.technicians else ""
    name = f"{title}: {report.unit}, {report.customer}"
    where = ", ".join(isolated(each) for each in (report.site, report.unit, report.about) if each)
    return {
        "title": title,
        "name": name,
        "author": report.company.name or "",
        "footer": " \u00b7 ".join(
            isolated(part) for part in (report.company.name, report.customer, report.unit) if part
        ),
        "company": [isolated(line) for line in report.company.lines],
        "customer": report.customer,
        "where": where,
        "when": f"{arrived:%Y-%m-%d %H:%M}{until}{by}",
        "sections": [
            {"title": head, "lines": [sentence(line) for line in getattr(report, field)], "nothing": nothing}
            for field, head, nothing in SECTIONS
        ],
        "signed": f"Signed by {isolated(report.signed_by)}." if report.signed_by else "",
    }
