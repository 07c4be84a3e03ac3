"""JSON of an onboarding plan."""

from itertools import groupby
from typing import Any, ClassVar

from marshmallow import Schema, fields, validate

from service.domain.record.fleet import WEEKDAYS
from service.schemas.fields import Choice, Code, Count, Day, Number
from service.usecases.planning.onboarding import Plan


class OnboardingPlanSchema(Schema):
    """The weeks over which the work is spread, and the hours that the company can work on a day."""

    class Meta:
        """The field whose name Python keeps for itself."""

        include: ClassVar = {"from": Day(required=True)}

    weeks = Count(required=True, validate=validate.Range(1, 52))
    hours_per_day = Number(
        validate=validate.Range(0.5, 1000),
        metadata={"description": "of all technicians; default: the capacity of the company when the plan begins"},
    )
    weekdays = fields.List(
        Choice(WEEKDAYS),
        validate=validate.Length(1, 7),
        load_default=WEEKDAYS[:5],
        metadata={"description": "the company's working days; default: Monday to Friday"},
    )


class PlannedItem(Schema):
    """A task at a unit."""

    unit = Code(required=True)
    task = fields.String(required=True)
    minutes = fields.Integer(required=True)
    beyond_limit = fields.Boolean(required=True, metadata={"description": "later than the longest interval allows"})
    keeps_date = fields.Boolean(
        required=True, metadata={"description": "done in our care before: its time is planned, its due date stays"}
    )


class PlannedStop(Schema):
    """The work at one site on a day."""

    site = Code(required=True)
    minutes = fields.Integer(required=True)
    items = fields.List(fields.Nested(PlannedItem), required=True)


class PlannedDay(Schema):
    """One day of the plan."""

    day = Day(required=True)
    minutes = fields.Integer(required=True)
    stops = fields.List(fields.Nested(PlannedStop), required=True)


class OnboardingPlanShown(Schema):
    """The plan; `accepted`: its first dates are stored."""

    class Meta:
        """The field whose name Python keeps for itself."""

        include: ClassVar = {"from": Day(required=True)}

    until = Day(required=True)
    accepted = fields.Boolean(required=True)
    hours_per_day = fields.Float(required=True)
    minutes = fields.Integer(required=True)
    days = fields.List(fields.Nested(PlannedDay), required=True)
    notes = fields.List(fields.String(), required=True, metadata={"description": "what the plan cannot spread"})


class PlanQuery(Schema):
    """Whether the plan is only shown."""

    dry_run = fields.Boolean(load_default=False)


def shown_plan(plan: Plan, *, accepted: bool) -> dict[str, Any]:
    """A plan day by day."""
    days = []
    for day, laid in groupby(plan.laid, key=lambda each: each.day):
        stops = [_stop(site, list(at)) for site, at in groupby(laid, key=lambda each: each.work.site)]
        days.append({"day": day.isoformat(), "minutes": _minutes(stops), "stops": stops})
    return {
        "from": plan.span.first.isoformat(),
        "until": plan.span.last.isoformat(),
        "accepted": accepted,
        "hours_per_day": plan.hours_per_day,
        "minutes": _minutes(days),
        "days": days,
        "notes": plan.notes,
    }


def _stop(site: str, laid: list[Any]) -> dict[str, Any]:
    items = [
        {
            "unit": each.work.unit,
            "task": each.work.task,
            "minutes": each.work.minutes,
            "beyond_limit": each.beyond_limit,
            "keeps_date": each.work.keeps_date,
        }
        for each in laid
    ]
    return {"site": site, "minutes": _minutes(items), "items": items}


def _minutes(parts: list[dict[str, Any]]) -> int:
    return sum(part["minutes"] for part in parts)
