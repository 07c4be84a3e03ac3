"""The dispatcher's day: the list by technician, calls first; assigning and postponing by form."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from flask import Response, request

from service.api.auth import OFFICE
from service.api.endpoint import query_parameters
from service.api.state import actor, database, now
from service.domain.errors import Conflict, Invalid
from service.domain.instants import local_day
from service.domain.maintenance.pm_list import PmList, Stop
from service.rendering.pm_list.page import parts_of
from service.schemas.assignments import AssignmentSchema
from service.schemas.pm_list import PmListQuery
from service.schemas.reading import read
from service.usecases.planning import assignments, pm_list
from service.web.page import Pages, see_other
from service.web.render import show

ASKED = ("on", "horizon_days")
MOST_ITEMS = 600
NOBODY = ""
pages = Pages("plan")


@dataclass(frozen=True, slots=True)
class Share:
    """What one technician has to do; the code is empty for what nobody does yet."""

    code: str
    name: str
    parts: Mapping[str, Any]


@pages.get("/plan", allow=OFFICE)
def the_plan() -> Response:
    """The day by technician."""
    return _page()


@pages.post("/plan", allow=OFFICE)
def assign() -> Response:
    """Give the work at a site or unit to a technician on a day, or postpone it; what was planned of it is replaced."""
    form = request.form
    fields = {
        "assign": ("site", "unit", "technician", "day"),
        "postpone": ("site", "unit", "postponed_to", "why", "note"),
    }
    names = fields.get(form.get("do", ""), ())
    given = {name: text for name in names if (text := form.get(name, "").strip())}
    try:
        with database().writing() as store:
            assignments.plan(store, actor(), read(AssignmentSchema(), given))
    except (Invalid, Conflict) as refusal:
        return _page(refusal)
    return see_other(request.full_path.rstrip("?"))


def _page(refusal: Exception | None = None) -> Response:
    query = PmListQuery()
    asked = read(query, {name: value for name, value in query_parameters(query).items() if value and name in ASKED})
    wanted = pm_list.Asked(**{name: asked[name] for name in ASKED if name in asked}, limit=MOST_ITEMS)
    with database().reading() as store:
        pulled, _ = pm_list.pull(store, now(), wanted, frozenset())
        technicians = sorted(store.technicians.by_id().values(), key=lambda each: each.name)
    days = sorted({stop.today for stop in pulled.stops}) or [local_day(now(), "UTC")]
    return show(
        "plan.html", status=422 if refusal else 200, shares=_shares(pulled), technicians=technicians, refusal=refusal,
        day=days[0].isoformat(), on=request.args.get("on", ""), horizon_days=pulled.horizon_days,
        whole=parts_of(pulled), given=request.form,
    )  # fmt: skip


def _shares(pulled: PmList) -> list[Share]:
    """The stops of each technician, those of nobody first."""
    stops: dict[str, list[Stop]] = {NOBODY: []}
    for stop in pulled.stops:
        for code in dict.fromkeys(row.technician or NOBODY for row in stop.rows):
            rows = tuple(row for row in stop.rows if (row.technician or NOBODY) == code)
            stops.setdefault(code, []).append(replace(stop, rows=rows))
    return [
        Share(code, pulled.technicians.get(code, "Nobody yet"), parts_of(replace(pulled, stops=tuple(own), whole=None)))
        for code, own in stops.items()
        if own
    ]
