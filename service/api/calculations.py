"""Routes of /v1/calculations: bench arithmetic, one path a calculation."""

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from service.api.auth import EVERYONE
from service.api.endpoint import Routes
from service.api.units import units_shown
from service.domain.bench.calculations import CALCULATIONS
from service.domain.bench.evaluation import reckon
from service.domain.bench.fields import Calculation
from service.schemas.calculations import (
    CalculationList,
    answer_schema,
    question_schema,
    read_example,
    title_of,
    told_answer,
    told_calculation,
)
from service.schemas.units import Shown

routes = Routes("calculations")
PATH = "/v1/calculations"
QUESTIONS = {each.name: question_schema(each.asks, title_of(each)) for each in CALCULATIONS}


@routes.get(PATH, allow=EVERYONE, query=Shown, answers={200: CalculationList})
def list_calculations(query: Mapping[str, Any]) -> dict[str, Any]:
    """List the calculations, each with its inputs, their limits, and an example with its answer."""
    return {"items": listed(units_shown(query))}


@cache
def listed(system: str) -> list[dict[str, Any]]:
    """Every calculation in a system of units; the examples are reckoned once."""
    return [_listed(calculation, system) for calculation in CALCULATIONS]


def _listed(calculation: Calculation, system: str) -> dict[str, Any]:
    answer = reckon(calculation, read_example(calculation, QUESTIONS[calculation.name]()))
    return told_calculation(calculation, f"{PATH}/{calculation.name}", answer, system)


def _view(calculation: Calculation) -> Callable[..., dict[str, Any]]:
    def view(body: Mapping[str, Any], query: Mapping[str, Any]) -> dict[str, Any]:
        return told_answer(reckon(calculation, body), units_shown(query))

    view.__name__ = f"calculate_{calculation.name.replace('-', '_')}"
    view.__doc__ = f"{calculation.title}.\n\n{calculation.what_for} {calculation.method}"
    return view


for each in CALCULATIONS:
    routes.post(
        f"{PATH}/{each.name}",
        allow=EVERYONE,
        query=Shown,
        body=QUESTIONS[each.name],
        body_example=dict(each.example),
        answers={200: answer_schema(each)},
    )(_view(each))
