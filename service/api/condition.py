"""The route of /v1/units/{tag}/condition."""

from collections.abc import Mapping
from typing import Any

from service.api.auth import EVERYONE
from service.api.endpoint import Routes
from service.api.state import database
from service.api.units import units_shown
from service.schemas.condition import ConditionSchema, condition_to_json
from service.schemas.units import Shown
from service.usecases.condition import condition_of

routes = Routes("condition")


@routes.get("/v1/units/{tag}/condition", allow=EVERYONE, query=Shown, answers={200: ConditionSchema})
def unit_condition(tag: str, query: Mapping[str, Any]) -> dict[str, Any]:
    """Get the condition of a unit: latest readings, trends, derived figures, and missing data."""
    with database().reading() as store:
        condition, zone = condition_of(store, tag)
    return condition_to_json(condition, units_shown(query), zone)
