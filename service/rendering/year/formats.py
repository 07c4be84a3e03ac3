"""The formats in which the documents of a year come, and how each is written.

Workbook and PDF are imported when asked for: their libraries are needed by few requests and few commands.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from service.domain.summary.document import ServiceSummary
from service.domain.summary.fleet import FleetYear
from service.domain.summary.issues import Edition, edition_of
from service.rendering.words import ENGLISH, all_worded, in_language
from service.rendering.year import fleet_csv, fleet_json, summary_csv, summary_json

CSV = "text/csv"  # of one table


@dataclass(frozen=True, slots=True)
class Format:
    """Its media type, and how the name of its file ends."""

    media: str
    ending: str


FORMATS: Mapping[str, Format] = {
    "json": Format("application/json", "json"),
    "csv": Format("application/zip", "zip"),
    "xlsx": Format("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "xlsx"),
    "pdf": Format("application/pdf", "pdf"),
}


def write_summary(
    summary: ServiceSummary, form: str, table: str | None = None, paper: str | None = None, language: str = ENGLISH
) -> bytes:
    """A service summary in one of the formats; with a table, that table alone as CSV. JSON is English."""
    with in_language(language):
        return summary_json.render(summary) if form == "json" else _summary(all_worded(summary), form, table, paper)


def write_edition(summary: ServiceSummary, form: str, paper: str | None = None) -> tuple[Edition, bytes]:
    """A service summary to be handed out, and what it was made from."""
    return edition_of(summary), write_summary(summary, form, paper=paper)


def _summary(summary: ServiceSummary, form: str, table: str | None, paper: str | None) -> bytes:
    if form == "xlsx":
        from service.rendering.year import summary_xlsx

        return summary_xlsx.render(summary)
    if form == "pdf":
        from service.rendering.year import summary_pdf

        return summary_pdf.render(summary, paper)
    return summary_csv.render(summary) if table is None else summary_csv.table(summary, table)


def write_fleet_year(
    year: FleetYear, form: str, table: str | None = None, paper: str | None = None, language: str = ENGLISH
) -> bytes:
    """A fleet's year in one of the formats; with a table, that table alone as CSV. JSON is English."""
    with in_language(language):
        return fleet_json.render(year) if form == "json" else _fleet_year(all_worded(year), form, table, paper)


def _fleet_year(year: FleetYear, form: str, table: str | None, paper: str | None) -> bytes:
    if form == "xlsx":
        from service.rendering.year import fleet_xlsx

        return fleet_xlsx.render(year)
    if form == "pdf":
        from service.rendering.year import fleet_pdf

        return fleet_pdf.render(year, paper)
    return fleet_csv.render(year) if table is None else fleet_csv.table(year, table)
