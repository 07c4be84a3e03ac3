"""Route of /v1/pm-plan: the weeks ahead against the hours that technicians have."""

from collections.abc import Mapping
from typing import Any

from service.api.auth import OFFICE
from service.api.endpoint import Routes
from service.api.state import database, now
from service.schemas.weeks import WeeksAheadSchema, WeeksQuery, shown_weeks
from service.usecases.planning.weeks import plan_weeks

routes = Routes("weeks")


@routes.get("/v1/pm-plan", allow=OFFICE, query=WeeksQuery, answers={200: WeeksAheadSchema})
def get_weeks(query: Mapping[str, Any]) -> dict[str, Any]:
    """Get the work of the weeks ahead against the hours of the technicians, levelled, with overloaded weeks.

    Work that recurs counts on each of its days. A site's work of a week is moved as one to an earlier week with room,
    or split by units, the most urgent first, of which the rest goes to later weeks within what each task may wait.
    Nothing is stored; assign or postpone what is to be moved.
    """
    with database().reading() as store:
        return shown_weeks(plan_weeks(store, now(), query.get("from"), query.get("to")))
