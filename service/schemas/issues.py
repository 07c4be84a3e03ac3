"""JSON of service summaries that were handed out."""

from marshmallow import Schema, fields, validate

from service.domain.record.fleet import UNIT_SYSTEMS
from service.schemas.fields import Choice, Code, Count, Instant, VisitId, line
from service.schemas.photos import Digest
from service.schemas.summaries import PAPERS

LONGEST_DOCUMENT = 24 * 1024 * 1024  # bytes, of a line of a file
FORMS = ("pdf", "xlsx", "csv", "json")


class IssueRequest(Schema):
    """Which document is handed out; by default the PDF as of now, in the customer's units."""

    format = Choice(FORMS)
    as_of = Instant(metadata={"description": "the year as it was recorded at this instant; default now"})
    units = Choice(UNIT_SYSTEMS, metadata={"description": "default: the customer's"})
    paper = Choice(PAPERS, metadata={"description": "of the PDF; default letter for US units, a4 for SI"})


class IssueSchema(Schema):
    """A document as it was handed out. `differs`: whether the data have changed since, so that it would differ now."""

    id = fields.UUID(required=True)
    customer = fields.String(required=True)
    year = fields.Integer(required=True, validate=validate.Range(min=1))
    issued_at = Instant(required=True)
    issued_by = fields.String(required=True)
    as_of = Instant(required=True)
    form = Choice(FORMS, required=True)
    digest = fields.String(required=True)
    program_version = fields.String(required=True)
    sha256 = fields.String(required=True)
    size = fields.Integer(required=True, validate=validate.Range(min=0))
    differs = fields.Boolean(required=True)


class IssueList(Schema):
    """All documents of a year that were handed out, the oldest first."""

    items = fields.List(fields.Nested(IssueSchema), required=True)


class IssueRecord(Schema):
    """A document as it was handed out, with its bytes in base 64."""

    id = VisitId(required=True)
    customer = Code(required=True)
    year = Count(required=True, validate=validate.Range(1, 9999))
    issued_at = Instant(required=True)
    issued_by = line(required=True)
    as_of = Instant(required=True)
    form = Choice(FORMS, required=True)
    digest = line(required=True)
    program_version = line(required=True)
    sha256 = Digest(required=True)
    content = line(LONGEST_DOCUMENT * 4 // 3 + 4, required=True)
