"""JSON of suspected root causes."""

from typing import Any

import orjson
from marshmallow import Schema, fields, validate

from service.domain.instants import to_text
from service.domain.root_causes.candidate import TIERS
from service.domain.root_causes.life_cycle import DECISIONS, STATES, VERDICTS, RootCause
from service.schemas.fields import Choice, Code, Day, Instant, Number, line
from service.schemas.paging import Page, PageQuery


class RootCauseQuery(PageQuery):
    """How to narrow the list."""

    tier = Choice(TIERS)
    state = Choice(STATES)
    customer = Code()
    unit = Code()
    as_of = Day(metadata={"description": "what the record up to this day tells: computed, not stored, undecided"})


class DecisionSchema(Schema):
    """What was decided on a case, and why."""

    state = Choice(DECISIONS, required=True)
    note = line(2000, required=True)


class CauseShareSchema(Schema):
    """A cause and its probability; luck has its own field."""

    cause = fields.String(required=True)
    probability = Number(required=True, validate=validate.Range(0, 1))


class CaseEventSchema(Schema):
    """One replacement in the case, with the readings found before it."""

    day = Day(required=True)
    component = Code(required=True)
    condition = fields.String(required=True)
    evidence = fields.String(required=True)
    by = fields.String(required=True)
    reason = fields.String(required=True)
    visit = fields.String(required=True)
    readings_before = fields.Dict(keys=fields.String(), values=fields.String(), required=True)
    soon_after = fields.List(
        fields.String(), metadata={"description": "which other parts failed within weeks before, where any did"}
    )


class CandidateSchema(Schema):
    """A unit and component kind whose failures may have one cause, as it was last found."""

    unit = Code(required=True)
    component_kind = fields.String(required=True)
    tier = Choice(TIERS, required=True)
    luck_probability = Number(required=True, validate=validate.Range(0, 1))
    causes = fields.List(fields.Nested(CauseShareSchema), required=True)
    events = fields.List(fields.Nested(CaseEventSchema), required=True)
    exposed_share = Number(metadata={"description": "of the time watched; absent where it is not known"})
    other_explanations = fields.List(fields.String(), required=True)
    next_check = fields.String(required=True)
    remedy = fields.String(required=True)
    bring = fields.List(fields.String(), required=True)
    expected_failures_next_year = Number(required=True)
    explanation = fields.String(required=True)


class AfterRemedySchema(Schema):
    """Failures and component-years before and after the remedy, and the chance of so few after it by luck alone."""

    before = fields.Integer(required=True)
    after = fields.Integer(required=True)
    years_before = fields.Float(required=True)
    years_after = fields.Float(required=True)
    chance = fields.Float(required=True, allow_none=True)
    verdict = Choice(VERDICTS, required=True)


COMPUTED = {"description": "null with `as_of`: computed, not stored"}


class RootCauseSchema(CandidateSchema):
    """A case: the candidate as it was last found, and how it was decided."""

    id = fields.Integer(required=True, allow_none=True, metadata=COMPUTED)
    state = Choice(STATES, required=True)
    first_seen = Instant(required=True, allow_none=True, metadata=COMPUTED)
    updated_at = Instant(required=True, allow_none=True, metadata=COMPUTED)
    decided_by = fields.String(required=True, allow_none=True)
    decided_at = Instant(required=True, allow_none=True)
    note = fields.String(required=True, allow_none=True)
    resolved_on = Day(required=True, allow_none=True)
    returned_from = Choice(
        ("dismissed", "resolved"), required=True, allow_none=True,
        metadata={"description": "open again after this decision, whose author, instant and note are still told"},
    )  # fmt: skip
    after_remedy = fields.Nested(AfterRemedySchema, required=True, allow_none=True)
    absent_since = Instant(
        required=True, allow_none=True,
        metadata={"description": "decided, and since then the record does not show it; the figures are the last found"},
    )  # fmt: skip
    version = fields.Integer(required=True, allow_none=True, metadata=COMPUTED)


class RootCausePage(Page):
    """A page of cases: open, confirmed, resolved, dismissed; of each the graver tier and the least lucky first."""

    items = fields.List(fields.Nested(RootCauseSchema), required=True)
    as_of = Day(metadata={"description": "only where it was asked for"})
    told = fields.String(metadata={"description": "with `as_of`, what these are"})


def shown_root_cause(case: RootCause) -> dict[str, Any]:
    """A case as JSON: the candidate as it was last found, and its life."""
    candidate: dict[str, Any] = orjson.loads(case.document)
    del candidate["evidence_key"]
    return candidate | {
        "id": case.id,
        "state": case.state,
        "first_seen": to_text(case.first_seen),
        "updated_at": to_text(case.updated_at),
        "decided_by": case.decided_by,
        "decided_at": case.decided_at and to_text(case.decided_at),
        "note": case.why,
        "resolved_on": case.resolved_on and case.resolved_on.isoformat(),
        "returned_from": case.returned_from,
        "after_remedy": case.after_remedy and orjson.loads(case.after_remedy),
        "absent_since": case.absent_since and to_text(case.absent_since),
        "version": case.version,
    }


def computed_root_cause(case: RootCause) -> dict[str, Any]:
    """A candidate that is not stored, in the shape of a case."""
    return shown_root_cause(case) | dict.fromkeys(("id", "first_seen", "updated_at", "version"))
