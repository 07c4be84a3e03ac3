"""The report of one visit as a PDF (PDF/UA-1) or as an HTML page without scripts; both say the same."""

from base64 import b64encode
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from service.domain.summary.visit_report import VisitReport
from service.rendering.words import ENGLISH, all_worded, gettext, in_language, language, worded
from service.rendering.year.letters import isolated
from service.rendering.year.tables import sentence
from service.rendering.year.typeset import PAPERS, typeset

Photos = Sequence[tuple[str, bytes]]
HERE = Path(__file__).parent


def write(report: VisitReport, form: str, paper: str, photos: Photos = (), language: str = ENGLISH) -> bytes:
    """The report in a form, "pdf" or "html"; only the PDF has a paper. `photos`: what each shows, and its JPEG."""
    with in_language(language):
        shown = [(worded(words), jpeg) for words, jpeg in photos]
        report = all_worded(report)
        return pdf(report, paper, shown) if form == "pdf" else html(report, shown)


def html(report: VisitReport, photos: Photos = ()) -> bytes:
    """The page; it fetches nothing: photos are within it."""
    shown = [(words, b64encode(jpeg).decode()) for words, jpeg in photos]
    text: str = _template().render(_document(report), photos=shown, language=language())
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
    day = f"{arrived:%Y-%m-%d}"
    title = gettext("Our visit on {day}", day=day) if report.others is None else gettext("Visit on {day}", day=day)
    when = f"{arrived:%Y-%m-%d %H:%M}"
    when = gettext("{since} to {until}", since=when, until=f"{left:%H:%M}") if left else when
    signed = gettext("Signed by {name}.", name=isolated(report.signed_by)) if report.signed_by else ""
    where = ", ".join(isolated(each) for each in (report.site, report.unit, report.about) if each)
    return {
        "title": title,
        "name": f"{title}: {report.unit}, {report.customer}",
        "author": report.company.name or "",
        "footer": " \u00b7 ".join(
            isolated(part) for part in (report.company.name, report.customer, report.unit) if part
        ),
        "company": [isolated(line) for line in report.company.lines],
        "customer": report.customer,
        "where": where,
        "when": ", ".join((when, *map(isolated, report.technicians), *_others(report))),
        "sections": [
            {"title": head, "lines": [sentence(line) for line in lines], "nothing": nothing}
            for head, lines, nothing in _sections(report)
        ],
        "photos_title": gettext("Photos"),
        "signed": signed,
    }


def _others(report: VisitReport) -> Iterator[str]:
    """What others did is known from hearsay."""
    if report.others is not None:
        yield gettext("by {firm}, as reported to us", firm=isolated(report.others))


def _sections(report: VisitReport) -> Iterator[tuple[str, Sequence[str], str]]:
    yield gettext("Found"), report.found, gettext("Nothing is recorded.")
    yield gettext("Done"), report.done, gettext("Nothing is recorded.")
    yield gettext("Left"), report.left, gettext("Nothing is recorded.")
    yield gettext("What to watch"), report.watch, gettext("No advice was recorded.")
    yield gettext("Next"), report.next, gettext("Nothing is planned.")
