"""The route of /v1/units/{tag}/condition."""

from collections.abc import Mapping
from typing import Any

from service.api.auth import STAFF
from service.api.endpoint import Routes
from service.api.state import database
from service.api.units import units_shown
from service.domain.condition.condition import condition_of
from service.schemas.condition import ConditionSchema, condition_to_json
from service.schemas.units import Shown
from service.usecases.maintenance.learning import learned_now

routes = Routes("condition")


@routes.get("/v1/units/{tag}/condition", allow=STAFF, query=Shown, answers={200: ConditionSchema})
def unit_condition(tag: str, query: Mapping[str, Any]) -> dict[str, Any]:
    """Get a unit's condition: its latest readings, trends, figures that follow, forecasts, and what is missing."""
    with database().reading() as store:
        log, learned = store.log_of(tag), learned_now(store)
    system = units_shown(query)
    return condition_to_json(condition_of(log, learned, system), system, log.time_zone)
