"""JSON of the fleet year; the schema follows from the dataclasses."""

from marshmallow import Schema

from service.domain.summary.fleet import FleetYear
from service.schemas.fields import Choice, Instant
from service.schemas.summaries import FORMATS, PAPERS, summary_schema

TABLES = (
    "customers",
    "sites",
    "units",
    "parts",
    "causes",
    "tasks",
    "missed",
    "models",
    "kinds",
    "root_causes",
    "decisions",
    "curves",
)


class FleetYearQuery(Schema):
    """In which form, as of when, on which paper."""

    format = Choice(FORMATS)
    table = Choice(TABLES, metadata={"description": "of the CSV only this table, not all of them in a zip"})
    as_of = Instant(metadata={"description": "events up to this instant; default now"})
    paper = Choice(PAPERS, metadata={"description": "of the PDF; default letter"})


FleetYearSchema = summary_schema(FleetYear)
