"""JSON of an assessment: what the numbers of one visit say."""

from typing import Any

from marshmallow import Schema, fields

from service.domain.assessment.statement import SEVERITIES, Assessment, Figure, Statement
from service.domain.quantities import Quantity, show_quantity
from service.schemas.fields import word


class StatementSchema(Schema):
    """One thing the numbers say, with what to do about it and with what care."""

    code = fields.String(required=True)
    severity = word(SEVERITIES, required=True, metadata={"description": "stop: for safety; act, note, fine"})
    figures = fields.Dict(
        keys=fields.String(), required=True, metadata={"description": "the figures used: quantities, numbers, words"}
    )
    sentence = fields.String(required=True, metadata={"description": "in the caller's units"})
    advice = fields.String(allow_none=True, required=True)
    caution = fields.String(allow_none=True, required=True)
    source = fields.String(required=True)


class WouldSayMoreSchema(Schema):
    """A reading to take, or a fact to put on the unit's record, and what it would tell."""

    name = fields.String(required=True)
    of = word(("visit", "unit"), required=True)
    why = fields.String(required=True)


class AssessmentSchema(Schema):
    """What the numbers of one visit say, the gravest first, and the one or two readings that would say most next."""

    statements = fields.List(fields.Nested(StatementSchema), required=True)
    would_say_more = fields.List(fields.Nested(WouldSayMoreSchema), required=True)


def shown_assessment(assessment: Assessment, system: str) -> dict[str, Any]:
    """An assessment as a JSON object, its figures in the units of `system`."""
    return {
        "statements": [_shown(statement, system) for statement in assessment.statements],
        "would_say_more": [{"name": more.name, "of": more.of, "why": more.why} for more in assessment.would_say_more],
    }


def _shown(statement: Statement, system: str) -> dict[str, Any]:
    return {
        "code": statement.code,
        "severity": statement.severity,
        "figures": {name: _figure(figure, system) for name, figure in statement.figures.items()},
        "sentence": statement.sentence,
        "advice": statement.advice,
        "caution": statement.caution,
        "source": statement.source,
    }


def _figure(figure: Figure, system: str) -> Any:
    return show_quantity(figure, system) if isinstance(figure, Quantity) else figure
