"""Routes of /v1/calculations: one path for each calculation."""

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from service.api.auth import STAFF
from service.api.endpoint import Routes
from service.api.units import units_shown
from service.domain.bench.calculations import CALCULATIONS
from service.domain.bench.evaluation import calculate
from service.domain.bench.fields import Calculation
from service.schemas.calculations import (
    CalculationList,
    answer_schema,
    answer_to_json,
    calculation_to_json,
    input_schema,
    read_example,
    title_of,
)
from service.schemas.units import Shown

routes = Routes("calculations")
PATH = "/v1/calculations"
INPUT_SCHEMAS = {each.name: input_schema(each.inputs, title_of(each)) for each in CALCULATIONS}


@routes.get(PATH, allow=STAFF, query=Shown, answers={200: CalculationList})
def list_calculations(query: Mapping[str, Any]) -> dict[str, Any]:
    """List the calculations, each with its inputs, their limits, and an example with its answer."""
    return {"items": listed(units_shown(query))}


@cache
def listed(system: str) -> list[dict[str, Any]]:
    """Every calculation in a system of units; the examples are calculated once."""
    return [_listed(calculation, system) for calculation in CALCULATIONS]


def _listed(calculation: Calculation, system: str) -> dict[str, Any]:
    answer = calculate(calculation, read_example(calculation, INPUT_SCHEMAS[calculation.name]()))
    return calculation_to_json(calculation, f"{PATH}/{calculation.name}", answer, system)


def _view(calculation: Calculation) -> Callable[..., dict[str, Any]]:
    def view(body: Mapping[str, Any], query: Mapping[str, Any]) -> dict[str, Any]:
        return answer_to_json(calculate(calculation, body), units_shown(query))

    view.__name__ = f"calculate_{calculation.name.replace('-', '_')}"
    view.__doc__ = f"{calculation.title}.\n\n{calculation.what_for} {calculation.method}"
    return view


for each in CALCULATIONS:
    routes.post(
        f"{PATH}/{each.name}",
        allow=STAFF,
        query=Shown,
        body=INPUT_SCHEMAS[each.name],
        body_example=dict(each.example),
        answers={200: answer_schema(each)},
    )(_view(each))
