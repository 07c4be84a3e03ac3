"""JSON of a unit's condition."""

from typing import Any

from service.domain.condition.condition import Condition
from service.schemas.figures import results_schema, results_to_json

ConditionSchema = results_schema(Condition, "Condition")


def condition_to_json(condition: Condition, system: str, zone: str) -> dict[str, Any]:
    """A unit's condition, its instants by the site's clock."""
    body: dict[str, Any] = results_to_json(condition, system, zone)
    return body
