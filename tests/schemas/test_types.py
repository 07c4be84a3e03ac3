"""Every field of every body and import line takes what the API document says, and nothing of another type.

Reference: `jsonschema`, which reads the document's schemas by the JSON Schema specification, 2020-12.
"""

from functools import cache
from typing import Any

import jsonschema
import pytest

from service.api import openapi
from service.api.auth import OWNER
from service.api.endpoint import Routes
from service.domain.bench.evaluation import calculate
from service.domain.errors import Invalid
from service.schemas.reading import read

from .bodies import BODIES, CALCULATED, Path, at, places, whole

WRONG = [
    {}, [], "", "x", 0, 1, 1.5, -1, True, False, None, {"value": 1}, [[]], [{}], {"": []}, "0", "null", 10**18,
]  # fmt: skip


@cache
def document() -> dict[str, Any]:
    """The JSON schemas of all bodies and lines, made as those of the API document are."""
    routes = Routes("bodies")
    for number, schema in enumerate(BODIES.values()):
        routes.post(f"/{number}", allow=OWNER, body=type(schema), partial=schema.partial or False, answers={})(
            _view(number)
        )
    return openapi.document([routes])


def _view(number: int) -> Any:
    def view() -> None:
        """Take a body."""

    view.__name__ = f"take_{number}"
    return view


def documented(number: int) -> Any:
    """Checks a value by the documented schema of a body."""
    schema = document()["paths"][f"/{number}"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    whole = {"components": document()["components"], **schema}
    return jsonschema.Draft202012Validator(whole, format_checker=jsonschema.FormatChecker())


def refused_in(name: str, given: Any, *, calculated: bool = False) -> set[str] | None:
    """None when the body is accepted, else the fields that are refused; by the calculation too where asked for."""
    try:
        read(BODIES[name], given)
        if calculated and name in CALCULATED:
            calculate(CALCULATED[name], read(BODIES[name], given))
    except Invalid as refusal:
        return {fault.field for fault in refusal.faults}
    return None


@pytest.mark.parametrize("name", BODIES)
def test_a_whole_document_is_accepted(name: str) -> None:
    assert refused_in(name, whole(name)) is None


@pytest.mark.parametrize("name", BODIES)
def test_a_value_of_another_type_is_refused_by_name_unless_it_is_documented(name: str) -> None:
    rules, right = documented(list(BODIES).index(name)), whole(name)
    differing = []
    for path, _ in places(BODIES[name]):
        for wrong in WRONG:
            given, place = at(right, path, wrong), ".".join(map(str, path))
            valid = not any(_is_at(error, path) for error in rules.iter_errors(given) if error.absolute_path)
            refused = refused_in(name, given, calculated=not valid)
            named = refused is not None and any(field.startswith(place) for field in refused)
            if (refused is None) != valid or (refused is not None and not named):
                differing.append((place, wrong, "documented" if valid else "not documented", refused))

    assert differing == []


def _is_at(error: jsonschema.ValidationError, path: Path) -> bool:
    """Whether the error concerns the value at the path; rules between fields do not."""
    return tuple(error.absolute_path)[: len(path)] == path or any(_is_at(inner, path) for inner in error.context or ())
