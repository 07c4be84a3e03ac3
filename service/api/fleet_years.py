"""The route of /v1/fleet-summaries/{year}."""

from collections.abc import Callable, Mapping
from typing import Any

from flask import Response

from service import __version__
from service.api.auth import OWNER
from service.api.endpoint import Answer, Routes
from service.api.state import database
from service.api.summaries import MEDIA, answered, asked_form, checked, on_paper
from service.domain.summary.fleet_year import FleetYear
from service.rendering.year import fleet_csv as fleet_year_csv
from service.rendering.year import fleet_json as fleet_year_json
from service.schemas.fleet_years import FleetYearQuery, FleetYearSchema
from service.usecases import fleet_years

routes = Routes("fleet_years")


def _workbook(told: FleetYear) -> bytes:
    from service.rendering.year import fleet_xlsx as fleet_year_xlsx  # with its library it is needed by few requests

    return fleet_year_xlsx.render(told)


def _document(told: FleetYear, paper: str | None = None) -> bytes:
    from service.rendering.year import fleet_pdf as fleet_year_pdf  # as above

    return fleet_year_pdf.render(told, paper)


FORMS: Mapping[str, Callable[..., bytes]] = {
    "json": fleet_year_json.render,
    "csv": fleet_year_csv.render,
    "xlsx": _workbook,
    "pdf": _document,
}


@routes.get(
    "/v1/fleet-summaries/{year:int}",
    allow=OWNER,
    query=FleetYearQuery,
    answers={200: Answer(FleetYearSchema, media=MEDIA)},
)
def fleet_summary(year: int, query: Mapping[str, Any]) -> Response:
    """Tell the whole fleet's year: JSON of all figures, CSV (a zip of tables, or `?table=`), a workbook or a PDF."""
    form, table = query.get("format") or asked_form(), query.get("table")
    as_of = checked(query, form)
    with database().reading() as store:
        told = fleet_years.summarise_fleet(store, year, as_of=as_of, program_version=__version__)
    body = FORMS[form](told, **on_paper(query)) if table is None else fleet_year_csv.table(told, table)
    return answered(body, form, table)
