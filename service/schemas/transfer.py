"""The import and export format: JSON Lines, UTF-8, one record a line, each the body that the API takes."""

from collections.abc import Iterable, Iterator
from hashlib import sha256
from typing import Any

import orjson
from marshmallow import Schema, fields, validate

from service.domain.errors import Fault, Invalid
from service.schemas.issues import LONGEST_DOCUMENT
from service.schemas.reading import read
from service.schemas.records import SCHEMAS
from service.schemas.strict_json import NotJson, parse
from service.schemas.suggestions import did_you_mean
from service.usecases.transfer.import_tally import LONGEST_VALUE, WHY_LEFT_OUT
from service.usecases.transfer.importing import MOST_ERRORS, Line

LONGEST_LINE = 2 * 1024 * 1024
LONGER_LINES = {  # how such lines begin as an export writes them
    b'{"record":"issue",': LONGEST_DOCUMENT * 4 // 3 + LONGEST_LINE,
    b'{"record":"audit_entry",': 5 * LONGEST_LINE,  # a record before and after, as texts with escapes
    b'{"record":"answer",': 5 * LONGEST_LINE,  # an attendance with all its visits, as a text with escapes
}


class ImportQuery(Schema):
    """Whether valid lines are stored even if others are wrong, and whether anything is stored at all."""

    keep_good = fields.Boolean(load_default=False)
    dry_run = fields.Boolean(
        load_default=False, metadata={"description": "true: what would be stored is shown, and nothing is"}
    )


class LineErrorSchema(Schema):
    """What is wrong in one line."""

    line = fields.Integer(required=True)
    field = fields.String(required=True)
    value = fields.Raw(required=True, allow_none=True)
    message = fields.String(required=True)


class TallySchema(Schema):
    """What an import did, counted by kind of record."""

    lines = fields.Integer(required=True)
    added = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    changed = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    unchanged = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    left_out = fields.Dict(
        keys=fields.String(),
        values=fields.Integer(),
        required=True,
        metadata={"description": "; ".join(f"{kind}: {why}" for kind, why in WHY_LEFT_OUT.items())},
    )
    errors = fields.List(fields.Nested(LineErrorSchema), required=True, validate=validate.Length(max=MOST_ERRORS))
    more_errors = fields.Integer(required=True, metadata={"description": "errors that are not listed"})


def read_lines(raw_lines: Iterable[bytes]) -> Iterator[Line]:
    """Lines as the use case expects them, each with its errors; blank lines are skipped."""
    for number, raw in enumerate(raw_lines, 1):
        if raw.strip():
            yield read_line(number, raw.removeprefix(b"\xef\xbb\xbf") if number == 1 else raw)


def read_line(number: int, raw: bytes) -> Line:
    """One line's record."""
    longest = next((most for start, most in LONGER_LINES.items() if raw.startswith(start)), LONGEST_LINE)
    if len(raw) > longest:
        return Line(number, faults=(Fault("line", None, f"is longer than {longest} bytes"),))
    try:
        document = parse(raw, "line")
    except NotJson as fault:
        return Line(number, faults=(Fault("line", raw[:LONGEST_VALUE].decode(errors="replace").strip(), str(fault)),))
    except Invalid as refusal:
        return Line(number, faults=refusal.faults, more_faults=refusal.more)
    if not isinstance(document, dict):
        return Line(number, faults=(Fault("line", document, "is no JSON object with the field record"),))
    kind = document.pop("record", None)
    if not isinstance(kind, str) or kind not in SCHEMAS:
        message = f"one of: {', '.join(SCHEMAS)}.{did_you_mean(kind, SCHEMAS)}"
        return Line(number, faults=(Fault("record", kind, message),))
    return line_of(number, kind, document)


def line_of(number: int, kind: str, document: dict[str, Any]) -> Line:
    """The record of a kind, read by its schema."""
    try:
        data = read(SCHEMAS[kind], document)
    except Invalid as refusal:
        return Line(number, kind, faults=refusal.faults, more_faults=refusal.more)
    if kind not in ("visit", "call", "attendance"):
        return Line(number, kind, data, orjson.dumps(document).decode())
    text = orjson.dumps(document, option=orjson.OPT_SORT_KEYS)  # as the API takes a visit's fingerprint
    return Line(number, kind, data, text.decode(), sha256(text).hexdigest())
