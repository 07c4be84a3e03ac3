"""What the report of a visit is asked for with."""

from marshmallow import fields

from service.schemas.fields import Choice
from service.schemas.summaries import PAPERS
from service.schemas.units import Shown


class VisitReportQuery(Shown):
    """In which form, in which units, on which paper."""

    format = Choice(("pdf", "html"))
    photos = fields.Boolean(load_default=False, metadata={"description": "with the first six photos of the visit"})
    paper = Choice(PAPERS, metadata={"description": "of the PDF; default letter for US units, a4 for SI"})
