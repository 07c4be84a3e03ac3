"""The import and export format: JSON Lines, UTF-8, one record a line, each the body that the API takes."""

from collections.abc import Iterable, Iterator
from hashlib import sha256
from typing import Any, ClassVar

import orjson
from marshmallow import Schema, fields, validate

from service.domain.errors import Fault, Invalid
from service.domain.record.changes import KEPT
from service.domain.root_causes.life_cycle import STATES
from service.schemas.assignments import AssignmentSchema
from service.schemas.attendances import AttendanceSchema
from service.schemas.calls import CallSchema
from service.schemas.company import CompanySchema
from service.schemas.fields import Choice, Code, Count, Day, Flag, Instant, VisitId, line
from service.schemas.fleet import CustomerSchema, SiteSchema, TechnicianSchema
from service.schemas.locations import LocationSchema
from service.schemas.pauses import ClosureSchema, PauseSchema
from service.schemas.photos import PhotoRecord
from service.schemas.reading import read
from service.schemas.root_causes import AfterRemedySchema, FoundSchema
from service.schemas.strict_json import NotJson, parse
from service.schemas.suggestions import did_you_mean
from service.schemas.tasks import TaskSchema
from service.schemas.units import REPORTED, UnitSchema
from service.schemas.vans import MovementSchema
from service.schemas.visits import TASK_WORDS, UnvoidSchema, VisitCorrectionSchema, VisitSchema, VoidSchema
from service.usecases.importing import MOST_ERRORS, Line

LONGEST_LINE = 2 * 1024 * 1024


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


POSITIVE = validate.Range(1e-12, 1e9)


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
    """What a setting, a call or the decision on a root cause became: past days are answered from it."""

    of = Choice(KEPT, required=True)
    key = line(200, required=True)
    at = Instant(required=True)
    by = line(required=True)
    before = fields.Dict(validate=validate.Length(max=100))
    after = fields.Dict(required=True, validate=validate.Length(max=100))


class DriftRecord(Schema):
    """How a figure drifts, in its SI unit and days."""

    slope = fields.Float(required=True, validate=POSITIVE)
    spread = fields.Float(required=True, validate=POSITIVE)
    noise = fields.Float(required=True, validate=POSITIVE)
    wander = fields.Float(required=True, validate=POSITIVE)
    steady = fields.Float(required=True, validate=validate.Range(0, 1))
    changes = fields.Float(required=True, validate=validate.Range(0, 1e3))
    wrong = fields.Float(required=True, validate=validate.Range(0, 1 / 3))


class FoulingRecord(Schema):
    """How long until it is heavily fouled, in days."""

    median = fields.Float(required=True, validate=POSITIVE)
    between = fields.Float(required=True, validate=POSITIVE)
    within = fields.Float(required=True, validate=POSITIVE)
    units = Count(required=True, validate=validate.Range(0, 1_000_000_000))
    grades = Count(required=True, validate=validate.Range(0, 1_000_000_000))


class LearnedRecord(Schema):
    """What was learned from the fleet: drifts by figure, and times to heavy fouling by task and surroundings."""

    learned_at = Instant(required=True)
    drifts = fields.Dict(
        keys=fields.String(), values=fields.Nested(DriftRecord), required=True, validate=validate.Length(max=100)
    )
    fouling = fields.Dict(
        keys=fields.String(), values=fields.Nested(FoulingRecord), required=True, validate=validate.Length(max=100)
    )


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
    """An assignment."""

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


class BaselineRecord(Schema):
    """Figures learned from the fleet, by which the root causes of that day are weighed."""

    at = Instant(required=True)
    figures = fields.Dict(required=True, validate=validate.Length(max=20))


class RootCauseRecord(FoundSchema):
    """A root cause as last found, and the decision on it."""

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


SCHEMAS: dict[str, Schema] = {
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
}


class ImportQuery(Schema):
    """Whether valid lines are stored even if others are wrong, and whether anything is stored at all."""

    keep_good = fields.Boolean(load_default=False)
    dry_run = fields.Boolean(
        load_default=False, metadata={"description": "true: what would be stored is shown, and nothing is"}
    )


class LineErrorSchema(Schema):
    """What is wrong in one line."""

    line = fields.Integer(required=True)
    field = fields.String(required=True)
    value = fields.Raw(required=True, allow_none=True)
    message = fields.String(required=True)


class TallySchema(Schema):
    """What an import did, counted by kind of record."""

    lines = fields.Integer(required=True)
    added = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    changed = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    unchanged = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    errors = fields.List(fields.Nested(LineErrorSchema), required=True, validate=validate.Length(max=MOST_ERRORS))
    more_errors = fields.Integer(required=True, metadata={"description": "errors that are not listed"})


def read_lines(raw_lines: Iterable[bytes]) -> Iterator[Line]:
    """Lines as the use case expects them, each with its errors; blank lines are skipped."""
    for number, raw in enumerate(raw_lines, 1):
        if raw.strip():
            yield read_line(number, raw.removeprefix(b"\xef\xbb\xbf") if number == 1 else raw)


def read_line(number: int, raw: bytes) -> Line:
    """One line's record."""
    if len(raw) > LONGEST_LINE:
        return Line(number, faults=(Fault("line", None, f"is longer than {LONGEST_LINE} bytes"),))
    try:
        document = parse(raw)
    except NotJson as fault:
        return Line(number, faults=(Fault("line", None, str(fault)),))
    except Invalid as refusal:
        return Line(number, faults=refusal.faults, more_faults=refusal.more)
    kind = document.pop("record", None) if isinstance(document, dict) else None
    if not isinstance(kind, str) or kind not in SCHEMAS:
        message = f"one of: {', '.join(SCHEMAS)}.{did_you_mean(kind, SCHEMAS)}"
        return Line(number, faults=(Fault("record", kind, message),))
    return line_of(number, kind, document)


def line_of(number: int, kind: str, document: dict[str, Any]) -> Line:
    """The record of a kind, read by its schema."""
    try:
        data = read(SCHEMAS[kind], document)
    except Invalid as refusal:
        return Line(number, kind, faults=refusal.faults, more_faults=refusal.more)
    if kind not in ("visit", "call", "attendance"):
        return Line(number, kind, data, orjson.dumps(document).decode())
    text = orjson.dumps(document, option=orjson.OPT_SORT_KEYS)  # as the API takes a visit's fingerprint
    return Line(number, kind, data, text.decode(), sha256(text).hexdigest())
