"""JSON of root causes."""

from typing import Any

import orjson
from marshmallow import Schema, fields, validate

from service.domain.instants import to_text
from service.domain.root_causes.explanation import in_words
from service.domain.root_causes.found import TIERS
from service.domain.root_causes.life_cycle import DECISIONS, STATES, VERDICTS, RootCause
from service.schemas.fields import Choice, Code, Count, Day, Flag, Instant, Number, line
from service.schemas.fleet_causes import FleetCauseSchema
from service.schemas.measured_faults import MeasuredFaultSchema
from service.schemas.paging import Page, PageQuery

MANY = validate.Range(0, 1_000_000)


class RootCauseQuery(PageQuery):
    """How to narrow the list."""

    tier = Choice(TIERS)
    state = Choice(STATES)
    customer = Code()
    unit = Code()
    as_of = Day(metadata={"description": "computed from the records up to this day, not stored, undecided"})


class DecisionSchema(Schema):
    """What was decided on a root cause, and why."""

    state = Choice(DECISIONS, required=True)
    note = line(2000, required=True)


class CauseShareSchema(Schema):
    """A cause and its probability; chance has a field of its own."""

    cause = fields.String(required=True)
    probability = Number(required=True, validate=validate.Range(0, 1))
    measured = Flag(metadata={"description": "whether readings or grades showed it"})


class FailureEventSchema(Schema):
    """One failure behind a root cause, with the readings found before it."""

    day = Day(required=True)
    component = Code(required=True)
    condition = fields.String(required=True)
    evidence = fields.String(required=True)
    by = fields.String(required=True)
    reason = fields.String(required=True)
    visit = fields.String(required=True)
    readings_before = fields.Dict(
        keys=fields.String(), values=fields.String(), required=True, validate=validate.Length(max=1000)
    )
    preceding_failures = fields.List(
        fields.String(), validate=validate.Length(max=1000),
        metadata={"description": "which other parts failed within weeks before, where any did"},
    )  # fmt: skip
    present = Number(
        allow_none=True, validate=validate.Range(0, 1),
        metadata={
            "description": "how far the most probable cause was present that day; null where it is unexplained, or "
            "assumed of a part whose rating is not recorded"
        },
    )  # fmt: skip
    stated = fields.String(
        allow_none=True,
        metadata={"description": "the day as reported where it is not known exactly; `day` is the last one possible"},
    )
    earliest = Day(allow_none=True, metadata={"description": "the first day possible, where it is not known exactly"})


class AfterAnotherSchema(Schema):
    """So many of the failures came soon after one of another kind, so many times as often as without such an order."""

    after = fields.String(required=True)
    failures = Count(required=True, validate=MANY)
    ratio = Number(required=True)


class RemarksSchema(Schema):
    """What limits the evidence; only what applies."""

    reported = Count(validate=MANY, metadata={"description": "failures reported, not seen by us"})
    unknown_why = Count(
        validate=MANY,
        metadata={
            "description": "replacements for a reason that nobody knows, among `events`: counted with less weight"
        },
    )
    not_cleaned_since = Day(metadata={"description": "no cleaning recorded since then: assumed not done"})
    retired_on = Day()
    before_installation = Count(validate=MANY, metadata={"description": "records dated before the installation"})
    left_out = Count(validate=MANY, metadata={"description": "replacements dated outside the unit's history"})
    absent_since = Day(metadata={"description": "from then on, through all seasons, no reading shows the cause"})
    still_so = Day(
        metadata={
            "description": "the last look that showed the cause, after the last failure; of a rating, that failure"
        }
    )
    gone = fields.String(metadata={"description": "cause without which the last failures came"})
    last_without = Count(validate=MANY, metadata={"description": "how many of the last failures came without it"})
    not_done = Count(
        validate=MANY, metadata={"description": "visits before the last failure at which the cause's work was not done"}
    )
    not_done_last = Day()
    not_done_why = fields.String(metadata={"description": "the reason recorded last"})
    read_in_trouble = fields.String(
        metadata={"description": "quantity that was read only on days when a failure may have made it so"}
    )
    fleet_shows = fields.String(
        validate=validate.Length(max=2000),
        metadata={"description": "models, makers or a technician's work whose new parts fail early over the fleet"},
    )


class QuietSchema(Schema):
    """How long nothing of the kind has failed, and how probable it is that the cause is still at work."""

    days = Count(required=True, validate=MANY)
    still_at_work = Number(required=True, validate=validate.Range(0, 1))


class FoundSchema(Schema):
    """A unit and component kind whose failures may have one cause, as last found."""

    unit = Code(required=True)
    component_kind = fields.String(required=True)
    tier = Choice(TIERS, required=True)
    probability_of_chance = Number(required=True, validate=validate.Range(0, 1))
    causes = fields.List(fields.Nested(CauseShareSchema), required=True, validate=validate.Length(max=100))
    events = fields.List(fields.Nested(FailureEventSchema), required=True, validate=validate.Length(max=10_000))
    exposed_share = Number(metadata={"description": "of the time watched; absent where it is not known"})
    other_explanations = fields.List(fields.String(), required=True, validate=validate.Length(max=100))
    next_check = fields.String(required=True)
    remedy = fields.String(required=True)
    bring = fields.List(fields.String(), required=True, validate=validate.Length(max=100))
    expected_failures_next_year = Number(required=True)
    explanation = fields.String(required=True)
    chance_of_so_many = Number(
        validate=validate.Range(0, 1),
        metadata={"description": "of so many failures so close together by chance, from the dates alone"},
    )
    quiet = fields.Nested(QuietSchema)
    after_others = fields.List(fields.Nested(AfterAnotherSchema), validate=validate.Length(max=100))
    nameplates = fields.Dict(
        keys=fields.String(), values=fields.String(), validate=validate.Length(max=1000),
        metadata={"description": "what the readings of the most probable cause are measured against"},
    )  # fmt: skip
    remarks = fields.Nested(RemarksSchema)


class AfterRemedySchema(Schema):
    """Failures and component-years before and after the remedy; `chance` of so few after it had it done nothing.

    For that chance what was replaced after it for a reason that nobody knows counts as failed.
    """

    before = Count(required=True, validate=MANY)
    after = Count(required=True, validate=MANY)
    years_before = Number(required=True, validate=MANY)
    years_after = Number(required=True, validate=MANY)
    chance = Number(required=True, allow_none=True, validate=validate.Range(0, 1))
    verdict = Choice(VERDICTS, required=True)


COMPUTED = {"description": "null with `as_of`: computed, not stored"}


class RootCauseSchema(FoundSchema):
    """A root cause as last found, and what was decided on it."""

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
        metadata={"description": "open again after this decision, whose author, instant and note stay"},
    )  # fmt: skip
    after_remedy = fields.Nested(AfterRemedySchema, required=True, allow_none=True)
    absent_since = Instant(
        required=True, allow_none=True,
        metadata={"description": "decided on, and not found since then; the figures are the last found"},
    )  # fmt: skip
    version = fields.Integer(required=True, allow_none=True, metadata=COMPUTED)


class RootCausePage(Page):
    """A page of root causes: open, confirmed, resolved, dismissed; of each state the graver tier first."""

    items = fields.List(fields.Nested(RootCauseSchema), required=True)
    as_of = Day(metadata={"description": "only where it was asked for"})
    basis = fields.String(metadata={"description": "with `as_of`, what these are computed from"})
    measured = fields.List(
        fields.Nested(MeasuredFaultSchema), validate=validate.Length(max=1000),
        metadata={
            "description": "faults that stand at the last readings, whatever has failed; on the first page of one unit "
            "or, by the last night's search, of the whole fleet"
        },
    )  # fmt: skip
    fleet = fields.List(
        fields.Nested(FleetCauseSchema), validate=validate.Length(max=1000),
        metadata={
            "description": "what failures at several units have in common, by the last night's search; on the first "
            "page of the whole fleet. What is said of technicians is for dispatchers and owners"
        },
    )  # fmt: skip


def shown_root_cause(root_cause: RootCause) -> dict[str, Any]:
    """A root cause as JSON: what was last found, and its life cycle."""
    found = in_words(orjson.loads(root_cause.document) | {"state": root_cause.state})
    del found["evidence_key"]
    return found | {
        "id": root_cause.id,
        "state": root_cause.state,
        "first_seen": to_text(root_cause.first_seen),
        "updated_at": to_text(root_cause.updated_at),
        "decided_by": root_cause.decided_by,
        "decided_at": root_cause.decided_at and to_text(root_cause.decided_at),
        "note": root_cause.why,
        "resolved_on": root_cause.resolved_on and root_cause.resolved_on.isoformat(),
        "returned_from": root_cause.returned_from,
        "after_remedy": root_cause.after_remedy and orjson.loads(root_cause.after_remedy),
        "absent_since": root_cause.absent_since and to_text(root_cause.absent_since),
        "version": root_cause.version,
    }


def computed_root_cause(root_cause: RootCause) -> dict[str, Any]:
    """A root cause that is not stored, in the same shape."""
    return shown_root_cause(root_cause) | dict.fromkeys(("id", "first_seen", "updated_at", "version"))
