"""JSON of an assessment: the findings of one visit."""

from typing import Any

from marshmallow import Schema, fields

from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import SEVERITIES, Assessment, Finding
from service.domain.assessment.operating_state import STATES, UNKNOWN, OperatingState
from service.domain.quantities import Quantity, show_quantity, show_uncertain
from service.domain.record.visits import MOMENTS
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
        keys=fields.String(),
        required=True,
        metadata={
            "description": "the figures used: quantities, numbers, text. A quantity has its standard `uncertainty` in "
            "the same unit where that is known, and no more digits than that allows"
        },
    )
    sentence = fields.String(required=True, metadata={"description": "in the caller's units"})
    advice = fields.String(allow_none=True, required=True)
    caution = fields.String(allow_none=True, required=True)
    source = fields.String(required=True)
    moment = Choice(
        MOMENTS,
        required=True,
        allow_none=True,
        metadata={"description": "when its readings were taken; null: it is of the whole visit"},
    )
    state = Choice(
        (*STATES, UNKNOWN),
        required=True,
        allow_none=True,
        metadata={"description": "the operating state for which it holds; null where it does not depend on it"},
    )


class WouldHelpSchema(Schema):
    """A reading to take, or a fact to add to the unit's record, and what it would show."""

    name = fields.String(required=True)
    of = Choice(("visit", "unit"), required=True)
    why = fields.String(required=True)


class OperatingStateSchema(Schema):
    """What the unit was doing when the last readings were taken, and what that follows from."""

    state = Choice(
        (*STATES, UNKNOWN),
        required=True,
        metadata={
            "description": "off: no power; idle: powered, cooling wanted, compressor standing; starting: in its first "
            "minutes; pulling_down: from a warm bath; holding: near its set point; satisfied: at rest, bath cold; "
            "short_cycling; unknown: no state is more likely than all others together"
        },
    )
    probability = fields.Float(
        required=True, metadata={"description": "of the likeliest state, to two digits", "minimum": 0, "maximum": 1}
    )
    evidence = fields.List(
        fields.String(), required=True, metadata={"description": "what it follows from, in the caller's units"}
    )


class AssessmentSchema(Schema):
    """What to do first, the operating state, all findings, most urgent first, and what would help most next."""

    operating_state = fields.Nested(
        OperatingStateSchema,
        required=True,
        allow_none=True,
        metadata={"description": "at the last moment of the visit; null for a voided visit"},
    )
    first = fields.List(
        fields.String(),
        required=True,
        metadata={"description": "at most three sentences to act on, worst first", "maxItems": 3},
    )
    findings = fields.List(fields.Nested(FindingSchema), required=True)
    would_help = fields.List(fields.Nested(WouldHelpSchema), required=True)


def assessment_to_json(assessment: Assessment, system: str) -> dict[str, Any]:
    """An assessment as a JSON object, its figures in the units of `system`."""
    return {
        "first": list(assessment.first),
        "operating_state": _state(assessment.operating_state),
        "findings": [_shown(finding, system) for finding in assessment.findings],
        "would_help": [{"name": more.name, "of": more.of, "why": more.why} for more in assessment.would_help],
    }


def _state(found: OperatingState | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {"state": found.state, "probability": round(found.probability, 2), "evidence": list(found.evidence)}


def _shown(finding: Finding, system: str) -> dict[str, Any]:
    return {
        "code": finding.code,
        "severity": finding.severity,
        "figures": {name: _figure(figure, system) for name, figure in finding.figures.items()},
        "sentence": finding.sentence,
        "advice": finding.advice,
        "caution": finding.caution,
        "source": finding.source,
        "moment": finding.moment,
        "state": finding.state,
    }


def _figure(figure: Figure, system: str) -> Any:
    if isinstance(figure, Uncertain):
        return show_uncertain(Quantity(figure.value, figure.dimension, figure.entered), figure.uncertainty, system)
    if isinstance(figure, Quantity):
        return _few_digits(show_quantity(figure, system))
    return figure


def _few_digits(shown: dict[str, float | str]) -> dict[str, float | str]:
    """A calculated quantity to four digits; one that was entered as it was."""
    return shown if "entered" in shown else shown | {"value": float(f"{shown['value']:.4g}")}
