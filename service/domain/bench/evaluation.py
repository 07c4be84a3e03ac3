"""From what was entered to the answer: fill in defaults, check the limits, calculate."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from service.domain.bench.fields import Answer, Calculation, Input, inputs_of
from service.domain.bench.limits import WHOLE, as_fault, require_within
from service.domain.errors import Fault, Invalid
from service.domain.physics.ranges import OutOfRange
from service.domain.plain import from_plain, shape
from service.domain.quantities import Quantity, parse_quantity


def calculate(calculation: Calculation, entered: Mapping[str, Any]) -> Answer:
    """The answer for inputs read from JSON; Invalid, with field, value and limits, where there is none."""
    assumed: dict[str, Any] = {}
    plain = _filled((), calculation.inputs, entered, assumed)
    require_within(calculation.inputs, plain)
    try:
        outcome = calculation.compute(from_plain(calculation.inputs, plain))
    except OutOfRange as refusal:
        raise Invalid([as_fault(refusal, calculation, plain)]) from refusal
    except ArithmeticError as refusal:
        raise Invalid([Fault(WHOLE, None, f"these values have no result: {refusal}")]) from refusal
    return Answer(calculation=calculation, outcome=outcome, assumed=assumed)


def _filled(
    path: tuple[str, ...], kind: type[Any], entered: Mapping[str, Any], assumed: dict[str, Any]
) -> dict[str, Any]:
    """What was entered, with defaults in the gaps; the defaults used are added to `assumed` by path."""
    filled = {name: _rounded(value) for name, value in entered.items() if value is not None}
    shapes = shape(kind)  # type: ignore[arg-type]  # any class is hashable
    for name, asked in inputs_of(kind).items():
        part = shapes[name].record
        if name in filled and part:
            parts = enumerate(filled[name])
            filled[name] = [_filled((*path, name, str(number)), part, each, assumed) for number, each in parts]
        elif name not in filled and asked.default is not None:
            assumed[".".join((*path, name))] = asked.default
            filled[name] = _default(asked)
    return filled


def _default(asked: Input) -> Any:
    if not asked.spans:
        return asked.default
    return _rounded(parse_quantity(asked.default, *(dimension for dimension, _, _ in asked.spans)))


def _rounded(value: Any) -> Any:
    """A quantity without the rounding of its conversion, which would put -40 degC below a limit of 233.15 K."""
    if not isinstance(value, Quantity):
        return value
    return replace(value, value=float(f"{value.value:.12g}"))
