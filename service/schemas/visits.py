"""JSON of a visit, as any client posts it."""

from dataclasses import replace
from typing import Any, ClassVar

from marshmallow import Schema, fields, validate

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.tasks import AS_FOUND, RESULTS
from service.domain.record.readings import BY_QUANTITY, READING_KINDS, ReadingKind
from service.domain.record.visits import (
    BY,
    EVIDENCE,
    KINDS,
    MOMENTS,
    OBSERVATIONS,
    OUTCOMES,
    SYMPTOMS,
)
from service.schemas.assessments import AssessmentSchema
from service.schemas.due import DueItemSchema
from service.schemas.fields import Choice, Code, Day, Instant, Measure, Parts, SiteTime, VisitId, Whole, line, version
from service.schemas.items import KIND, PartUsedSchema, ReplacementSchema
from service.schemas.measures import measure_schema, span_of
from service.schemas.paging import Page, PageQuery
from service.schemas.root_causes import RootCauseSchema
from service.schemas.units import Shown

TASK_WORDS = tuple(task.code for task in CATALOGUE)
MEASUREMENT = "Measurement"
READ_IN = tuple(sorted({dimension for kind in READING_KINDS for dimension in kind.dimensions}))


class ComplaintSchema(Schema):
    """What the customer noticed."""

    symptom = Choice(SYMPTOMS, required=True)
    reported_at = SiteTime(past=True, allow_none=True)
    words = line(4000, allow_none=True)


class ReadValue(Measure):
    """The value of a reading: the quantity beside it says in which dimensions it can be given."""

    component = MEASUREMENT

    def dimensions_for(self, data: Any) -> tuple[str, ...]:
        """The dimensions of the quantity named; all, while none is."""
        quantity = data.get("quantity")
        known = BY_QUANTITY.get(quantity) if isinstance(quantity, str) else None
        return known.dimensions if known else self.dimensions


def _of_kind(kind: ReadingKind) -> dict[str, Any]:
    """What a reading of this kind needs, as JSON schema."""
    spans = [span_of(*span) for span in kind.spans]
    more: dict[str, Any] = {} if kind.of_sample else {"sample_temperature": {"type": "null"}}
    needed = {"component": kind.of_component, "tap": kind.at_tap}
    more |= {name: {"type": "string"} for name, needs in needed.items() if needs}
    return {
        "properties": {"value": measure_schema(MEASUREMENT, spans), **more},
        "required": [n for n, needs in needed.items() if needs],
    }


def _of_each_kind() -> dict[str, Any]:
    """A choice by quantity, one for each set of needs."""
    choices: dict[str, dict[str, Any]] = {}
    for kind in READING_KINDS:
        choice = choices.setdefault(repr(replace(kind, quantity="")), _of_kind(kind))
        choice["properties"].setdefault("quantity", {"enum": []})["enum"].append(kind.quantity)
    return {"oneOf": list(choices.values())}  # no quantity is in two of them


class ReadingSchema(Schema):
    """One measured quantity: number and unit, as found or as left."""

    more_json_schema = _of_each_kind()

    quantity = Choice([kind.quantity for kind in READING_KINDS], required=True)
    value = ReadValue(*READ_IN, required=True)
    when = Choice(MOMENTS, required=True)
    at = SiteTime(past=True, allow_none=True)
    component = Code(allow_none=True)
    kind = KIND
    tap = line(40, allow_none=True)
    sample_temperature = Measure("temperature", low=233.15, high="212 degF", allow_none=True)
    evidence = Choice(EVIDENCE)


class TaskResultSchema(Schema):
    """A task that was done, not done (say why) or not needed."""

    more_json_schema: ClassVar[dict[str, Any]] = {
        "anyOf": [
            {"properties": {"result": {"enum": [result for result in RESULTS if result != "not_done"]}}},
            {"properties": {"result": {"const": "not_done"}, "reason": {"type": "string"}}, "required": ["reason"]},
        ]
    }

    task = Choice(TASK_WORDS, required=True)
    result = Choice(RESULTS, required=True)
    reason = line(2000, allow_none=True)
    as_found = Choice(AS_FOUND, allow_none=True)


class ObservationSchema(Schema):
    """Something seen that is no reading; "other" needs a note."""

    more_json_schema: ClassVar[dict[str, Any]] = {
        "anyOf": [
            {"properties": {"code": {"enum": [code for code in OBSERVATIONS if code != "other"]}}},
            {"properties": {"code": {"const": "other"}, "note": {"type": "string"}}, "required": ["note"]},
        ]
    }

    code = Choice(OBSERVATIONS, required=True)
    component = Code(allow_none=True)
    note = line(2000, allow_none=True)


class VoidedSchema(Schema):
    """Why, by whom and when a visit was voided."""

    reason = fields.String(required=True)
    by = fields.String(required=True)
    at = Instant(required=True)


class CorrectionSchema(Schema):
    """A correction with the text as it stood before it."""

    number = fields.Integer(required=True)
    at = Instant(required=True)
    by = fields.String(required=True)
    why = fields.String(required=True)
    from_unit = fields.String(
        required=True, allow_none=True, metadata={"description": "the unit of the visit before it was moved"}
    )
    former = fields.Dict(required=True)


class VisitTextSchema(Schema):
    """The content of a visit, without its id and unit."""

    unit = Code(required=True)
    kind = Choice(KINDS, required=True)
    arrived_at = SiteTime(past=True, required=True)
    left_at = SiteTime(past=True, allow_none=True)
    technician = Code(allow_none=True)
    crew = fields.List(
        Code(), validate=validate.Length(max=20), metadata={"description": "our technicians beside `technician`"}
    )
    by = Choice(BY)
    evidence = Choice(EVIDENCE)
    firm = line(allow_none=True)
    complaint = Whole(ComplaintSchema, allow_none=True)
    calls = fields.List(
        VisitId(), validate=validate.Length(max=20), metadata={"description": "ids of the calls that it answers"}
    )
    readings = Parts(ReadingSchema, most=500)
    tasks = Parts(TaskResultSchema, most=100)
    replacements = Parts(ReplacementSchema, most=100)
    observations = Parts(ObservationSchema, most=100)
    work = line(20_000, allow_none=True)
    advice = line(20_000, allow_none=True)
    internal_note = line(
        20_000, allow_none=True, metadata={"description": "for the company; not in documents for the customer"}
    )
    parts_used = Parts(PartUsedSchema, most=200)
    signed_by = line(allow_none=True, metadata={"description": "who signed for the customer"})
    outcome = Choice(OUTCOMES, allow_none=True)
    parts_promised_on = Day(
        allow_none=True, metadata={"description": "when a unit left waiting_for_parts is back on the list"}
    )


NO, NOBODY = {"type": "null"}, {"maxItems": 0}
OURS_BY_ONE = {"properties": {"by": {"const": "us"}, "firm": NO, "crew": NOBODY}}
OURS_BY_A_CREW = {
    "required": ["technician"],
    "properties": {"by": {"const": "us"}, "firm": NO, "technician": {"type": "string"}},
}
OF_OTHERS = {
    "required": ["by", "evidence"],
    "properties": {
        "by": {"const": "others"}, "evidence": {"const": "reported"}, "technician": NO, "crew": NOBODY,
    },
}  # fmt: skip


class VisitSchema(VisitTextSchema):
    """A visit. The client chooses its id; a client that sends the header Idempotency-Key may leave it out."""

    more_json_schema: ClassVar[dict[str, Any]] = {
        "required": ["unit", "kind", "arrived_at", "id"],
        "anyOf": [OURS_BY_ONE, OURS_BY_A_CREW, OF_OTHERS],
    }

    id = VisitId()
    site = fields.String(dump_only=True, metadata={"description": "where the unit stood at the arrival"})
    customer = fields.String(dump_only=True, metadata={"description": "whose site it was"})
    attendance = VisitId(dump_only=True, allow_none=True, metadata={"description": "to which it belongs"})
    posted_at = Instant(dump_only=True)
    posted_by = fields.String(dump_only=True)
    void = fields.Nested(VoidedSchema, dump_only=True, allow_none=True)
    corrections = fields.List(fields.Nested(CorrectionSchema), dump_only=True)
    version = version()


class VisitCorrectionSchema(VisitTextSchema):
    """Fields of a visit to be corrected, and why. A list in the body replaces the former list."""

    class Meta:
        """The unit is not corrected: move the visit to the right unit."""

        exclude = ("unit",)

    why = line(2000, required=True)


class VoidSchema(Schema):
    """Why the visit no longer counts."""

    reason = line(2000, required=True)


class UnvoidSchema(Schema):
    """Why the visit counts again."""

    reason = line(2000, required=True)


class MoveSchema(Schema):
    """At which unit the visit was made, and why it was posted for another one."""

    unit = Code(required=True)
    reason = line(2000, required=True)


class VisitAnswer(Schema):
    """A stored visit with its assessment, the due items of its unit, and root causes of repeated failures."""

    visit = fields.Nested(VisitSchema, required=True)
    assessment = fields.Nested(AssessmentSchema, required=True)
    due_items = fields.List(fields.Nested(DueItemSchema), required=True)
    root_causes = fields.List(
        fields.Nested(RootCauseSchema), required=True,
        metadata={"description": "the unit's root causes in their current state, without the dismissed ones"},
    )  # fmt: skip


class VisitPage(Page):
    """A page of visits, newest first."""

    items = fields.List(fields.Nested(VisitSchema), required=True)


class VisitQuery(PageQuery, Shown):
    """How to narrow the list of visits."""

    unit = Code()
    site = Code()
    customer = Code()
    technician = Code()
    since = Day(metadata={"description": "first day, by the site's own dates"})
    until = Day(metadata={"description": "last day, by the site's own dates"})
