"""What every list takes and gives."""

from typing import Any

from marshmallow import Schema, fields, validate

LONGEST_CURSOR = 1000


class PageQuery(Schema):
    """How much of a list, and from where."""

    limit = fields.Integer(
        load_default=100, validate=validate.Range(1, 500), metadata={"description": "how many items at most"}
    )
    cursor = fields.String(
        validate=validate.Length(1, LONGEST_CURSOR),
        metadata={"description": "start of the following part, as given by `next`"},
    )


class Page(Schema):
    """A part of a list; `next` leads to the following part and is null on the last."""

    items: Any
    next = fields.String(required=True, allow_none=True)
