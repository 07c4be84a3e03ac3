"""JSON of the fleet's year; the schema follows from the dataclasses."""

from marshmallow import Schema

from service.domain.summary.fleet_year import FleetYear
from service.schemas.fields import Instant, word
from service.schemas.summaries import FORMATS, PAPERS, summary_schema

TABLES = ("customers", "sites", "units", "parts", "causes", "tasks", "models", "kinds", "cases", "curves")


class FleetYearQuery(Schema):
    """In which form, as of when, on which paper."""

    format = word(FORMATS)
    table = word(TABLES, metadata={"description": "of the CSV only this table, not all of them in a zip"})
    as_of = Instant(metadata={"description": "what had happened by then; now unless told"})
    paper = word(PAPERS, metadata={"description": "of the PDF; letter unless told"})


FleetYearSchema = summary_schema(FleetYear)
