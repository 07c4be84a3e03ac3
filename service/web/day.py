"""My day: the stops in the order of the list, what to bring, cautions once."""

from flask import Response, request

from service.api.auth import ALL_ROLES, OFFICE
from service.api.endpoint import query_parameters
from service.api.state import caller, database, now
from service.domain.instants import local_day
from service.domain.maintenance.pm_list import with_left_over
from service.rendering.pm_list.page import parts_of
from service.schemas.pm_list import PmListQuery
from service.schemas.reading import read
from service.usecases.planning import pm_list
from service.usecases.planning.shifts import Drive
from service.web.page import Pages, see_other
from service.web.render import show

ASKED = ("on", "horizon_days", "technician", "unassigned")
MOST_ITEMS = 300
EVERYBODY = "everybody"
pages = Pages("day")


@pages.get("/", allow=ALL_ROLES)
def my_day() -> Response:
    """A technician's stops as they are driven to, what is left over last; with `technician=everybody` those of all.

    The office plans the day of all.
    """
    if caller().role in OFFICE and not request.args:
        return see_other("/plan")
    query = PmListQuery()
    given = {name: value for name, value in query_parameters(query).items() if value}
    whose = given.pop("technician", None) or caller().technician or EVERYBODY
    asked = read(query, given if whose == EVERYBODY else {**given, "technician": whose})
    on = asked.get("on")
    own = whose != EVERYBODY and (on is None or on > local_day(now(), "UTC"))
    wanted = pm_list.Asked(
        **{name: asked[name] for name in ASKED if name in asked}, limit=MOST_ITEMS, drive=Drive() if own else None
    )
    with database().reading() as store:
        pulled, _ = pm_list.pull(store, now(), wanted, frozenset())
        technicians = store.technicians.by_id().values()
    name = pulled.technicians.get(whose, whose)
    return show(
        "day.html", **parts_of(with_left_over(pulled)), whose=whose, name=name, own=caller().technician,
        technicians=technicians, on=request.args.get("on", ""),
    )  # fmt: skip
