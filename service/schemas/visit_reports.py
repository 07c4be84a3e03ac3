"""What the report of a visit is asked for with."""

from marshmallow import Schema, fields

from service.domain.record.fleet import UNIT_SYSTEMS
from service.schemas.fields import Choice
from service.schemas.summaries import PAPERS


class VisitReportQuery(Schema):
    """In which form, in which units, on which paper."""

    units = Choice(UNIT_SYSTEMS, metadata={"description": "default: the customer's, else that of the token"})
    format = Choice(("pdf", "html"))
    photos = fields.Boolean(load_default=False, metadata={"description": "with the first six photos of the visit"})
    paper = Choice(PAPERS, metadata={"description": "of the PDF; default letter for US units, a4 for SI"})
