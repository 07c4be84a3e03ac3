"""The route of /v1/units/{tag}/condition."""

from collections.abc import Mapping
from typing import Any

from service.api.auth import EVERYONE
from service.api.endpoint import Routes
from service.api.state import database
from service.api.units import units_shown
from service.schemas.condition import ConditionSchema, told_condition
from service.schemas.units import Shown
from service.usecases.condition import condition_of

routes = Routes("condition")


@routes.get("/v1/units/{tag}/condition", allow=EVERYONE, query=Shown, answers={200: ConditionSchema})
def unit_condition(tag: str, query: Mapping[str, Any]) -> dict[str, Any]:
    """Tell how a unit stands: its latest readings, trends, figures that follow, and what cannot be told."""
    with database().reading() as store:
        condition, zone = condition_of(store, tag)
    return told_condition(condition, units_shown(query), zone)
