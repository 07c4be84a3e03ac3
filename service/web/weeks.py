"""The weeks ahead: hours of work against the hours of each technician, and what could be moved."""

from flask import Response, request

from service.api.auth import OFFICE
from service.api.state import database, now
from service.domain.maintenance.weeks import Load
from service.schemas.reading import read
from service.schemas.weeks import WeeksQuery
from service.usecases.planning.weeks import plan_weeks
from service.web.page import Pages
from service.web.render import show

MOST_MOVED = 200
pages = Pages("weeks")


@pages.get("/weeks", allow=OFFICE)
def weeks_ahead() -> Response:
    """A table of the weeks, and the work that would fit better into another one."""
    given = {name: text for name in ("from", "to") if (text := request.args.get(name, "").strip())}
    asked = read(WeeksQuery(), given)
    with database().reading() as store:
        found = plan_weeks(store, now(), asked.get("from"), asked.get("to"))
        names = {each.code: each.name for each in store.technicians.by_id().values()}
        shown = found.moved[:MOST_MOVED]
        sites = {code: store.sites.get(code).name for code in {each.work.site for each in shown}}
    people = sorted(
        {load.technician for week in found.weeks for load in week.loads if load.technician}, key=names.__getitem__
    )
    return show(
        "weeks.html", weeks=found.weeks, moved=shown, more=len(found.moved) - len(shown), notes=found.notes,
        people=people, names=names, sites=sites, hours=_hours, load_of=_load_of, given=request.args,
    )  # fmt: skip


def _load_of(loads: tuple[Load, ...], technician: str | None) -> Load | None:
    return next((each for each in loads if each.technician == technician), None)


def _hours(minutes: int) -> str:
    """Minutes as hours with one decimal.

    >>> _hours(90), _hours(0)
    ('1.5', '0')
    """
    return f"{round(minutes / 60, 1):g}"
