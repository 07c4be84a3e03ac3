"""JSON of an assessment: the findings of one visit."""

from typing import Any

from marshmallow import Schema, fields

from service.domain.assessment.finding import SEVERITIES, Assessment, Figure, Finding
from service.domain.quantities import Quantity, show_quantity
from service.schemas.fields import Choice


class FindingSchema(Schema):
    """One statement about the visit's numbers, with its figures, advice, caution and source."""

    code = fields.String(required=True)
    severity = Choice(
        SEVERITIES,
        required=True,
        metadata={
            "description": "stop: dangerous; act: has to be corrected; note: worth knowing; fine: as it should be"
        },
    )
    figures = fields.Dict(
        keys=fields.String(), required=True, metadata={"description": "the figures used: quantities, numbers, text"}
    )
    sentence = fields.String(required=True, metadata={"description": "in the caller's units"})
    advice = fields.String(allow_none=True, required=True)
    caution = fields.String(allow_none=True, required=True)
    source = fields.String(required=True)


class WouldHelpSchema(Schema):
    """A reading to take, or a fact to add to the unit's record, and what it would show."""

    name = fields.String(required=True)
    of = Choice(("visit", "unit"), required=True)
    why = fields.String(required=True)


class AssessmentSchema(Schema):
    """All findings of a visit, most urgent first, and the one or two inputs that would help most next."""

    findings = fields.List(fields.Nested(FindingSchema), required=True)
    would_help = fields.List(fields.Nested(WouldHelpSchema), required=True)


def assessment_to_json(assessment: Assessment, system: str) -> dict[str, Any]:
    """An assessment as a JSON object, its figures in the units of `system`."""
    return {
        "findings": [_shown(finding, system) for finding in assessment.findings],
        "would_help": [{"name": more.name, "of": more.of, "why": more.why} for more in assessment.would_help],
    }


def _shown(finding: Finding, system: str) -> dict[str, Any]:
    return {
        "code": finding.code,
        "severity": finding.severity,
        "figures": {name: _figure(figure, system) for name, figure in finding.figures.items()},
        "sentence": finding.sentence,
        "advice": finding.advice,
        "caution": finding.caution,
        "source": finding.source,
    }


def _figure(figure: Figure, system: str) -> Any:
    return show_quantity(figure, system) if isinstance(figure, Quantity) else figure
