"""JSON of imports of workbooks and CSV files."""

from marshmallow import Schema, fields, validate

from service.schemas.fields import line


class TableImportQuery(Schema):
    """How to import."""

    dry_run = fields.Boolean(
        load_default=False, metadata={"description": "true: what would be stored is shown, and nothing is"}
    )
    keep_good = fields.Boolean(
        load_default=False, metadata={"description": "true: valid rows are stored even if others are wrong"}
    )
    plan = line(64, metadata={"description": "the key of the dry run: nothing else is stored than it showed"})


class TableRemarkSchema(Schema):
    """What is wrong with a cell, or what was not understood of it."""

    level = fields.String(
        required=True,
        validate=validate.OneOf(("fault", "to check", "kept as a note", "not imported")),
        metadata={"description": "a fault keeps the file from being imported unless `keep_good`"},
    )
    sheet = fields.String(required=True)
    cell = fields.String(required=True, allow_none=True, metadata={"description": "such as C12, or row 12"})
    row = fields.Integer(required=True, allow_none=True)
    text = fields.String(required=True, metadata={"description": "what stands there"})
    message = fields.String(required=True)


def counts(description: str) -> fields.Dict:
    """Numbers of records by kind."""
    return fields.Dict(
        keys=fields.String(), values=fields.Integer(), required=True, metadata={"description": description}
    )


class TableImportSchema(Schema):
    """What an import of a workbook or CSV file did, or on a dry run would do."""

    plan = fields.String(required=True, metadata={"description": "the key of what would be stored"})
    stored = fields.Boolean(required=True)
    records = counts("records in the file by kind")
    added = counts("new records by kind")
    changed = counts("records by kind that the file changes")
    unchanged = counts("records by kind that are stored as they are in the file")
    faults = fields.Integer(required=True)
    remarks = fields.List(fields.Nested(TableRemarkSchema), required=True, metadata={"description": "faults first"})
    more_remarks = fields.Integer(required=True, metadata={"description": "remarks that are not listed"})


class QuestionSchema(Schema):
    """What the mapping must still say."""

    path = fields.String(required=True, metadata={"description": "its place in the mapping"})
    question = fields.String(required=True)
    choices = fields.List(fields.String(), required=True, metadata={"description": "empty: any text"})


class MappingGuessSchema(Schema):
    """A first guess of the mapping of a file."""

    mapping = fields.String(required=True, metadata={"description": 'TOML; each "?" in it must be answered'})
    questions = fields.List(fields.Nested(QuestionSchema), required=True)
