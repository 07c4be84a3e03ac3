"""From what was entered to the answer: fill in what is usual, look after the limits, reckon."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from service.domain.bench.fields import Answer, Asked, Calculation, asked_of
from service.domain.bench.limits import WHOLE, as_fault, require_within
from service.domain.errors import Fault, Invalid
from service.domain.physics.ranges import OutOfRange
from service.domain.quantities import Quantity, parse_quantity
from service.domain.record.structure import build, shape


def reckon(calculation: Calculation, entered: Mapping[str, Any]) -> Answer:
    """The answer to a question read from JSON; Invalid, with field, value and limits, where there is none."""
    assumed: dict[str, Any] = {}
    plain = _filled((), calculation.asks, entered, assumed)
    require_within(calculation.asks, plain)
    try:
        outcome = calculation.compute(build(calculation.asks, plain))
    except OutOfRange as refusal:
        raise Invalid([as_fault(refusal, calculation, plain)]) from refusal
    except ArithmeticError as refusal:
        raise Invalid([Fault(WHOLE, None, f"these values have no answer: {refusal}")]) from refusal
    return Answer(calculation=calculation, outcome=outcome, assumed=assumed)


def _filled(
    path: tuple[str, ...], question: type[Any], entered: Mapping[str, Any], assumed: dict[str, Any]
) -> dict[str, Any]:
    """What was entered with what is usual in the gaps, which are noted in `assumed` by path."""
    filled = {name: _rounded(value) for name, value in entered.items() if value is not None}
    shapes = shape(question)  # type: ignore[arg-type]  # any class is hashable
    for name, asked in asked_of(question).items():
        part, repeated = shapes[name]
        if name in filled and part and repeated:
            parts = enumerate(filled[name])
            filled[name] = [_filled((*path, name, str(number)), part, each, assumed) for number, each in parts]
        elif name not in filled and asked.usual is not None:
            assumed[".".join((*path, name))] = asked.usual
            filled[name] = _usual(asked)
    return filled


def _usual(asked: Asked) -> Any:
    if not asked.spans:
        return asked.usual
    return _rounded(parse_quantity(asked.usual, *(dimension for dimension, _, _ in asked.spans)))


def _rounded(value: Any) -> Any:
    """A quantity without the noise of conversion, which would put -40 degC below a limit of 233.15 K."""
    if not isinstance(value, Quantity):
        return value
    return replace(value, value=float(f"{value.value:.12g}"))
