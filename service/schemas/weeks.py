"""JSON of the plan of the weeks ahead."""

from typing import Any, ClassVar

from marshmallow import Schema, fields

from service.domain.maintenance.weeks import Load, Moved, Week
from service.schemas.fields import Code, Day
from service.usecases.planning.weeks import Weeks


class WeeksQuery(Schema):
    """The days of the plan."""

    class Meta:
        """The field whose name Python keeps for itself."""

        include: ClassVar = {"from": Day(metadata={"description": "default: today"})}

    to = Day(metadata={"description": "default: 13 weeks on; at most 366 days"})


class LoadSchema(Schema):
    """A technician's week in hours; null is what nobody goes to yet, against the hours that the others have left."""

    technician = Code(required=True, allow_none=True)
    hours_available = fields.Float(required=True, metadata={"description": "without leave; travel is not counted"})
    hours_due = fields.Float(required=True)
    hours_planned = fields.Float(required=True, metadata={"description": "after levelling"})
    overload_hours = fields.Float(required=True)


class WeekSchema(Schema):
    """A week; in an overloaded one more is planned than there are hours."""

    class Meta:
        """The field whose name Python keeps for itself."""

        include: ClassVar = {"from": Day(required=True)}

    until = Day(required=True)
    overloaded = fields.Boolean(required=True)
    hours_available = fields.Float(required=True)
    hours_due = fields.Float(required=True)
    hours_planned = fields.Float(required=True)
    technicians = fields.List(fields.Nested(LoadSchema), required=True)


class MovedSchema(Schema):
    """Work to be done in another week than that in which it is due; weeks by their first days."""

    site = Code(required=True)
    unit = Code(required=True)
    task = fields.String(required=True)
    technician = Code(required=True, allow_none=True)
    minutes = fields.Integer(required=True)
    due_on = Day(required=True)
    from_week = Day(required=True)
    to_week = Day(required=True)
    limit = Day(required=True, metadata={"description": "the day until which it may wait"})


class WeeksAheadSchema(Schema):
    """The weeks ahead, the first overloaded one, and what to move."""

    first_overload = Day(required=True, allow_none=True)
    weeks = fields.List(fields.Nested(WeekSchema), required=True)
    moved = fields.List(fields.Nested(MovedSchema), required=True)
    notes = fields.List(fields.String(), required=True)


def shown_weeks(found: Weeks) -> dict[str, Any]:
    """The plan as JSON."""
    return {
        "first_overload": next((week.first.isoformat() for week in found.weeks if week.overload), None),
        "weeks": [_week(week) for week in found.weeks],
        "moved": [_moved(each) for each in found.moved],
        "notes": list(found.notes),
    }


def _week(week: Week) -> dict[str, Any]:
    people = [load for load in week.loads if load.technician is not None]
    return {
        "from": week.first.isoformat(),
        "until": week.last.isoformat(),
        "overloaded": week.overload > 0,
        "hours_available": _hours(sum(load.available for load in people)),
        "hours_due": _hours(sum(load.due for load in week.loads)),
        "hours_planned": _hours(sum(load.planned for load in week.loads)),
        "technicians": [_load(load) for load in week.loads],
    }


def _load(load: Load) -> dict[str, Any]:
    return {
        "technician": load.technician,
        "hours_available": _hours(load.available),
        "hours_due": _hours(load.due),
        "hours_planned": _hours(load.planned),
        "overload_hours": _hours(load.overload),
    }


def _moved(moved: Moved) -> dict[str, Any]:
    work = moved.work
    return {
        **{name: getattr(work, name) for name in ("site", "unit", "task", "technician", "minutes")},
        "due_on": work.due_on.isoformat(),
        "from_week": moved.from_week.isoformat(),
        "to_week": moved.to_week.isoformat(),
        "limit": work.limit.isoformat(),
    }


def _hours(minutes: int) -> float:
    return round(minutes / 60, 2)
