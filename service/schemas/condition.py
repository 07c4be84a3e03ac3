"""JSON of a unit's condition."""

from typing import Any

from service.domain.condition.latest import Condition
from service.schemas.figures import results_schema, told_results

ConditionSchema = results_schema(Condition, "Condition")


def shown_condition(condition: Condition, system: str, zone: str) -> dict[str, Any]:
    """A unit's condition, its instants by the site's clock."""
    shown: dict[str, Any] = told_results(condition, system, zone)
    return shown
