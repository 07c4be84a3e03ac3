"""The route of /v1/fleet-years/{year}."""

from collections.abc import Mapping
from functools import partial
from typing import Any

from flask import Response

from service import __version__
from service.api.auth import OWNER
from service.api.endpoint import Answer, Routes
from service.api.state import state
from service.api.summaries import MEDIA, answered, asked_form, checked
from service.rendering.year.formats import write_fleet_year
from service.schemas.fleet_years import FleetYearQuery, FleetYearSchema
from service.usecases.year import summaries

routes = Routes("fleet_years")


@routes.get(
    "/v1/fleet-years/{year:int}",
    allow=OWNER,
    query=FleetYearQuery,
    answers={200: Answer(FleetYearSchema, media=MEDIA)},
)
def fleet_year(year: int, query: Mapping[str, Any]) -> Response:
    """Get the whole fleet's year: JSON of all figures, CSV (a zip of tables, or `?table=`), a workbook or a PDF."""
    form = asked_form(query)
    as_of = checked(query, form)
    read = partial(summaries.summarise_fleet, year=year, as_of=as_of, program_version=__version__)
    write = partial(write_fleet_year, form=form, table=query.get("table"), paper=query.get("paper"))
    return answered(state().computing.document(read, write), form, query.get("table"), f"fleet-{year}")
