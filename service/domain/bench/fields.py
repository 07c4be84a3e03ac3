"""Inputs and results of a calculation: each field has a description and, for inputs, limits.

The inputs of a calculation are a frozen dataclass; the functions here make the metadata of its fields. JSON schema,
documentation and error messages follow from them.
"""

from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, field, fields
from typing import Any

Span = tuple[str, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input. `spans` are (dimension, lowest, highest); `default` is used where nothing is given.

    `refused` are choices that a calculation reads only to refuse them with a reason.
    """

    description: str
    spans: tuple[Span, ...] = ()
    choices: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    counts: tuple[int, int] | None = None
    amounts: tuple[float, float] | None = None
    longest: int | None = None
    default: Any = None


def measured(description: str, *spans: Span, default: str | None = None) -> dict[str, Input]:
    """A physical value with its limits in each dimension that it may be given in."""
    return {"input": Input(description=description, spans=spans, default=default)}


def choice(
    description: str, choices: tuple[str, ...], *, default: str | None = None, refused: tuple[str, ...] = ()
) -> dict[str, Input]:
    """One value of a list."""
    return {"input": Input(description=description, choices=choices, default=default, refused=refused)}


def flag(description: str, *, default: bool) -> dict[str, Input]:
    """True or false."""
    return {"input": Input(description=description, default=default)}


def count(description: str, low: int, high: int, *, default: int | None = None) -> dict[str, Input]:
    """A whole number, or the number of parts in a list."""
    return {"input": Input(description=description, counts=(low, high), default=default)}


def amount(description: str, low: float, high: float) -> dict[str, Input]:
    """A plain number, such as money in any currency."""
    return {"input": Input(description=description, amounts=(low, high))}


def text(description: str, longest: int = 40) -> dict[str, Input]:
    """A name."""
    return {"input": Input(description=description, longest=longest)}


def described(description: str) -> dict[str, str]:
    """The description of a field of an answer."""
    return {"description": description}


def inputs_of(kind: type[Any]) -> dict[str, Input]:
    """The inputs of a dataclass, by field."""
    return {part.name: part.metadata["input"] for part in fields(kind)}


def required_of(kind: type[Any]) -> frozenset[str]:
    """The inputs without a default."""
    return frozenset(
        part.name for part in fields(kind) if part.default is MISSING and part.metadata["input"].default is None
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """The results, notes on them, and the cautions that these inputs call for."""

    results: Any
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """One calculation of the bench.

    `inputs` and `results` are dataclasses. `blames` maps a limit of the physics (its `Range.name`) to the fields that
    it can belong to where its value is not the one entered but differs by an addend, as an absolute pressure does
    from a gauge pressure.
    """

    name: str
    title: str
    what_for: str
    inputs: type[Any]
    results: type[Any]
    compute: Callable[[Any], Outcome]
    method: str
    source: str
    example: Mapping[str, Any]
    cautions: tuple[str, ...] = ()
    blames: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """An outcome with the defaults that were used."""

    calculation: Calculation
    outcome: Outcome
    assumed: Mapping[str, Any]
