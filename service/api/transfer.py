"""Routes of /v1/imports and /v1/exports: all records as JSON Lines."""

from collections.abc import Generator, Mapping
from contextlib import closing
from io import BytesIO
from itertools import chain
from operator import attrgetter
from typing import Any

import orjson
from flask import Response, request
from werkzeug.exceptions import UnsupportedMediaType

from service.api import wire
from service.api.auth import OWNER
from service.api.endpoint import Answer, Routes
from service.api.headers import attachment
from service.api.state import actor, database, state
from service.domain.errors import Fault, Invalid
from service.schemas.photos import ExportQuery
from service.schemas.transfer import ImportQuery, TallySchema, read_lines
from service.usecases.system import FleetDatabase
from service.usecases.transfer import exporting, importing

LINES = "application/x-ndjson"
TEXT = {"type": "string", "format": "binary", "description": "one JSON record a line"}
routes = Routes("transfer")


@routes.post(
    "/v1/imports",
    allow=OWNER,
    query=ImportQuery,
    answers={200: TallySchema, 201: TallySchema},
    body_media={LINES: TEXT},
    most=attrgetter("max_import"),
)
def import_records(query: Mapping[str, Any]) -> tuple[dict[str, Any], int]:
    """Import a file of records; every error is reported. Unless `keep_good`, nothing is stored if a line is wrong.

    A `dry_run` answers 200 with what would be stored.
    """
    if request.mimetype != LINES:
        raise UnsupportedMediaType(f"The file must be {LINES}, not {request.mimetype[:100] or 'untyped'}.")
    raw = wire.raw_body(state().settings.max_import)
    try:
        with database().writing() as store:
            tally = importing.import_records(store, actor(), read_lines(BytesIO(raw)), **query)
    except importing.Rehearsed as ended:
        return shown(ended.tally), 200
    except importing.NothingStored as refusal:
        faults = (Fault(f"lines.{e.line}.{e.field}", e.value, e.message) for e in refusal.tally.errors)
        raise Invalid(faults, more=refusal.tally.more_errors) from refusal
    return shown(tally), 201


@routes.get(
    "/v1/exports", allow=OWNER, query=ExportQuery, answers={200: Answer(None, "All records", media={LINES: TEXT})}
)
def export_records(query: Mapping[str, Any]) -> Response:
    """Export all records as one file in the import format, from one snapshot."""
    return exported(**query)


def exported(*, pictures: bool = True, trail: bool = True) -> Response:
    """The file of all records, sent as it is read."""
    lines = _lines(database(), pictures=pictures, trail=trail)
    first = next(lines, b"")  # an unreadable database gives a problem document, not a truncated file
    answer = Response(chain((first,), lines), 200, attachment("fleet.jsonl"), content_type=LINES)
    answer.call_on_close(lines.close)
    return answer


def _lines(opened: FleetDatabase, **wanted: bool) -> Generator[bytes]:
    with opened.lasting() as store, closing(exporting.records(store, **wanted)) as records:
        for record in records:
            yield orjson.dumps(record) + b"\n"


def shown(tally: importing.Tally) -> dict[str, Any]:
    """What an import did, as JSON."""
    return {
        "lines": tally.lines,
        "added": dict(tally.added),
        "changed": dict(tally.changed),
        "unchanged": dict(tally.unchanged),
        "left_out": dict(tally.left_out),
        "errors": [{"line": e.line, "field": e.field, "value": e.value, "message": e.message} for e in tally.errors],
        "more_errors": tally.more_errors,
    }
