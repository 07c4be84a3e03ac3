"""JSON of service summaries; the schema follows from the dataclasses."""

from dataclasses import fields as fields_of
from datetime import date, datetime
from functools import cache
from typing import Any, get_args, get_type_hints

from marshmallow import Schema, fields

from service.domain.plain import names_of
from service.domain.quantities import Quantity
from service.domain.record.fleet import UNIT_SYSTEMS
from service.domain.summary.document import ServiceSummary
from service.schemas.fields import Choice, Day, Instant
from service.schemas.figures import SIMPLE, Figure, documented

FORMATS = ("json", "csv", "xlsx", "pdf")
PAPERS = ("letter", "a4")
TABLES = (
    "units",
    "totals",
    "gaps",
    "definitions",
    "visits",
    "readings",
    "pm",
    "outages",
    "replacements",
    "bath",
    "beer",
    "glycol",
    "condenser",
    "currents",
    "refrigerant",
    "root_causes",
    "actions",
    "plan",
)
PLAIN: dict[Any, type[fields.Field[Any]]] = {**SIMPLE, date: Day, datetime: Instant}


class SummaryQuery(Schema):
    """In which form, as of when, in which units, on which paper."""

    format = Choice(FORMATS)
    table = Choice(TABLES, metadata={"description": "of the CSV only this table, not all of them in a zip"})
    as_of = Instant(metadata={"description": "events up to this instant; default now"})
    units = Choice(UNIT_SYSTEMS, metadata={"description": "default: the customer's"})
    paper = Choice(PAPERS, metadata={"description": "of the PDF; default letter for US units, a4 for SI"})


@cache
def summary_schema(kind: type[Any]) -> type[Schema]:
    """The schema of a part of a summary; nullable where the value may be None."""
    hints, made = get_type_hints(kind), {}
    for field in fields_of(kind):
        choices = get_args(hints[field.name]) or (hints[field.name],)
        more: dict[str, Any] = {"required": True, "allow_none": type(None) in choices}
        many = Ellipsis in choices
        one = _part(choices[0], {} if many else more)
        made[field.name] = fields.List(one, **more) if many else one
    name = kind.__name__ if kind is ServiceSummary else f"Summary{kind.__name__}"
    return documented(name, made, kind.__doc__)


def _part(kind: Any, more: dict[str, Any]) -> Any:
    if kind is Quantity:
        return Figure(**more)
    if names_of(kind):
        return fields.Nested(summary_schema(kind), **more)
    return PLAIN[kind](**more)


ServiceSummarySchema = summary_schema(ServiceSummary)
