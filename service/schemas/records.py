"""The records of a file, one a line: each the body that the API takes, with what else the record has."""

from typing import ClassVar

from marshmallow import Schema, fields, validate

from service.domain.record.changes import FACTS, KEPT, OF_A_PART
from service.domain.root_causes.life_cycle import STATES
from service.schemas.assignments import AssignmentSchema
from service.schemas.attendances import AttendanceSchema
from service.schemas.audit import AuditRecord
from service.schemas.calls import CallSchema
from service.schemas.company import CompanySchema
from service.schemas.fields import Choice, Code, Count, Day, Flag, Instant, VisitId, line
from service.schemas.fleet import CustomerSchema, SiteSchema, TechnicianSchema
from service.schemas.issues import IssueRecord
from service.schemas.learned_records import BaselineRecord, LearnedRecord
from service.schemas.locations import LocationSchema
from service.schemas.pauses import ClosureSchema, PauseSchema
from service.schemas.photos import Digest, PhotoRecord
from service.schemas.root_causes import AfterRemedySchema, FoundSchema
from service.schemas.tasks import TaskSchema
from service.schemas.tokens import TokenRecord
from service.schemas.units import REPORTED, UnitSchema
from service.schemas.vans import MovementSchema
from service.schemas.visits import TASK_WORDS, UnvoidSchema, VisitCorrectionSchema, VisitSchema, VoidSchema
from service.usecases.transfer.version_lines import KINDS, NUMBERED

LONGEST_ANSWER = 4 * 1024 * 1024
LARGEST = 10**9  # of a number or version: what comes after it fits into a column too, which holds 2**31 - 1


class TaskRecord(TaskSchema):
    """Settings of a task at all units."""

    code = fields.String(required=True, validate=validate.OneOf(TASK_WORDS, error="one of: {choices}"))


class UnitTaskRecord(TaskRecord):
    """Settings of a task at one unit."""

    unit = Code(required=True)


class FirstDateRecord(Schema):
    """The first date of a task by an onboarding plan that begins `since`."""

    unit = Code(required=True)
    task = Choice(REPORTED, required=True)
    on = Day(required=True)
    since = Day(required=True)


TravelTimeRecord = Schema.from_dict(
    {
        "from": Code(required=True),
        "to": Code(required=True),
        "minutes": Count(required=True, validate=validate.Range(0, 1440)),
    },
    name="TravelTimeRecord",
)
TravelTimeRecord.__doc__ = "The time of travel from a site to another; it counts for the way back where that has none."


class VanMovementRecord(MovementSchema):
    """A movement of a van: of whose, and recorded by whom."""

    id = VisitId(required=True)
    technician = Code(required=True)
    at = Instant(required=True)
    by = line()


class LocationRecord(LocationSchema):
    """A location of a unit: recorded when and by whom; the unit's first location has neither a day nor these."""

    class Meta:
        """The field whose name Python keeps for itself."""

        include: ClassVar = {"from": Day()}

    unit = Code(required=True)
    at = Instant()
    by = line()


class PauseTextRecord(Schema):
    """What was recorded of a pause or closure before."""

    class Meta:
        """The field whose name Python keeps for itself."""

        include: ClassVar = {"from": Day(required=True)}

    until = Day(required=True, allow_none=True)
    reason = line(2000, required=True)
    withdrawn = Flag(required=True)
    at = Instant(required=True)
    by = line(required=True)


class OfPause(Schema):
    """Whose pause it is, and what was recorded before; `number` is missing where the file was not exported."""

    number = Count(validate=validate.Range(1, 1_000_000))
    withdrawn = Flag()
    at = Instant()
    by = line()
    former = fields.List(fields.Nested(PauseTextRecord), validate=validate.Length(max=1000))


class PauseRecord(OfPause, PauseSchema):
    """A pause of a unit."""

    unit = Code(required=True)


class ClosureRecord(OfPause, ClosureSchema):
    """A closure of a site."""

    site = Code(required=True)


class FormerTagRecord(Schema):
    """A tag that a unit had before."""

    unit = Code(required=True)
    tag = Code(required=True)
    at = Instant(required=True)
    by = line(required=True)


class ChangeRecord(Schema):
    """What a setting, a call, the decision on a root cause, an end, an assignment, or facts of a site or unit became.

    Past days are answered from it. An assignment that was deleted has an empty `after`.
    """

    of = Choice((*KEPT, *OF_A_PART, *FACTS), required=True)
    key = line(200, required=True)
    at = Instant(required=True)
    by = line(required=True)
    before = fields.Dict(validate=validate.Length(max=100))
    after = fields.Dict(required=True, validate=validate.Length(max=100))


class VisitRecord(VisitSchema):
    """A visit; in a file it always has its id, and names its attendance, which comes before it."""

    id = VisitId(required=True)
    attendance = VisitId()
    posted_at = Instant()
    posted_by = line()


class CallRecord(CallSchema):
    """A call; in a file it always has its id."""

    id = VisitId(required=True)
    posted_at = Instant()
    posted_by = line()


class AttendanceRecord(AttendanceSchema):
    """An attendance; in a file it always has its id, and its visits have lines of their own."""

    id = VisitId(required=True)
    posted_at = Instant()
    posted_by = line()


class AssignmentRecord(AssignmentSchema):
    """An assignment; `id` counts where there was no record before the import."""

    id = Count(validate=validate.Range(1, LARGEST))
    posted_at = Instant()
    posted_by = line()


class CorrectionRecord(Schema):
    """A correction of a visit: which, by whom, when, and the body that the API takes."""

    visit = VisitId(required=True)
    at = Instant(required=True)
    by = line(required=True)
    correction = fields.Nested(VisitCorrectionSchema(partial=("kind", "arrived_at")), required=True)


class VoidRecord(VoidSchema):
    """The voiding of a visit, by whom and when."""

    visit = VisitId(required=True)
    at = Instant(required=True)
    by = line(required=True)


class UnvoidRecord(UnvoidSchema):
    """The taking back of a void, by whom and when."""

    visit = VisitId(required=True)
    at = Instant(required=True)
    by = line(required=True)


class VisitMoveRecord(Schema):
    """From which unit a visit was moved, why, by whom and when; its own line has the unit at which it was made."""

    visit = VisitId(required=True)
    from_unit = Code(required=True)
    reason = line(2000, required=True)
    at = Instant(required=True)
    by = line(required=True)


class RootCauseRecord(FoundSchema):
    """A root cause as last found, and the decision on it; `id` counts where there was no record before the import."""

    id = Count(validate=validate.Range(1, LARGEST))
    evidence_key = line(1_000_000, required=True)
    state = Choice(STATES, required=True)
    first_seen = Instant(required=True)
    updated_at = Instant(required=True)
    decided_by = line()
    decided_at = Instant()
    note = line(2000)
    resolved_on = Day()
    after_remedy = fields.Nested(AfterRemedySchema)
    absent_since = Instant()


class VersionRecord(Schema):
    """How often a record was changed; an import into a database without records restores it."""

    of = Choice(KINDS, required=True)
    key = line(200, required=True)
    version = Count(required=True, validate=validate.Range(1, LARGEST))


class LastIdRecord(Schema):
    """The last number given out, also of what was deleted since."""

    of = Choice(NUMBERED, required=True)
    id = Count(required=True, validate=validate.Range(1, LARGEST))


class AnswerRecord(Schema):
    """The first answer to a POST: of the token of this name by its `Idempotency-Key`, else by the record's id."""

    token = line()
    key = line(255, required=True)
    fingerprint = Digest(required=True)
    id = VisitId(required=True)
    body = fields.String(required=True, validate=validate.Length(1, LONGEST_ANSWER))
    given_at = Instant(required=True)


SCHEMAS: dict[str, Schema] = {
    "audit_entry": AuditRecord(),
    "company": CompanySchema(),
    "customer": CustomerSchema(),
    "technician": TechnicianSchema(),
    "site": SiteSchema(),
    "unit": UnitSchema(),
    "former_tag": FormerTagRecord(),
    "location": LocationRecord(),
    "change": ChangeRecord(),
    "learned": LearnedRecord(),
    "task": TaskRecord(),
    "unit_task": UnitTaskRecord(),
    "first_date": FirstDateRecord(),
    "travel_time": TravelTimeRecord(),
    "van_movement": VanMovementRecord(),
    "pause": PauseRecord(),
    "closure": ClosureRecord(),
    "call": CallRecord(),
    "assignment": AssignmentRecord(),
    "attendance": AttendanceRecord(),
    "visit": VisitRecord(),
    "correction": CorrectionRecord(),
    "void": VoidRecord(),
    "unvoid": UnvoidRecord(),
    "photo": PhotoRecord(),
    "visit_move": VisitMoveRecord(),
    "baseline": BaselineRecord(),
    "root_cause": RootCauseRecord(),
    "issue": IssueRecord(),
    "answer": AnswerRecord(),
    "version": VersionRecord(),
    "last_id": LastIdRecord(),
    "token": TokenRecord(),
}
