"""What a calculation asks for and answers with: each field of a question says what it is and between which limits.

A question is a frozen dataclass whose fields carry, as metadata, what the functions here make; its JSON schema, its
documentation and its refusals follow from them.
"""

from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, field, fields
from typing import Any

Span = tuple[str, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One thing asked for. `spans` are (dimension, lowest, highest); `usual` is taken where nothing is given."""

    about: str
    spans: tuple[Span, ...] = ()
    words: tuple[str, ...] = ()
    counts: tuple[int, int] | None = None
    amounts: tuple[float, float] | None = None
    longest: int | None = None
    usual: Any = None


def measured(about: str, *spans: Span, usual: str | None = None) -> dict[str, Asked]:
    """A physical value with its limits in each dimension it can be given in."""
    return {"asked": Asked(about=about, spans=spans, usual=usual)}


def word(about: str, words: tuple[str, ...], *, usual: str | None = None) -> dict[str, Asked]:
    """One word of a list."""
    return {"asked": Asked(about=about, words=words, usual=usual)}


def flag(about: str, *, usual: bool) -> dict[str, Asked]:
    """True or false."""
    return {"asked": Asked(about=about, usual=usual)}


def count(about: str, low: int, high: int, *, usual: int | None = None) -> dict[str, Asked]:
    """A whole number, or how many parts a list may have."""
    return {"asked": Asked(about=about, counts=(low, high), usual=usual)}


def amount(about: str, low: float, high: float) -> dict[str, Asked]:
    """A plain number, such as money in whatever currency."""
    return {"asked": Asked(about=about, amounts=(low, high))}


def text(about: str, longest: int = 40) -> dict[str, Asked]:
    """A name."""
    return {"asked": Asked(about=about, longest=longest)}


def told(about: str) -> dict[str, str]:
    """A field of an answer."""
    return {"about": about}


def asked_of(question: type[Any]) -> dict[str, Asked]:
    """What a question asks for, by field."""
    return {part.name: part.metadata["asked"] for part in fields(question)}


def required_of(question: type[Any]) -> frozenset[str]:
    """The fields that a question cannot do without."""
    return frozenset(
        part.name for part in fields(question) if part.default is MISSING and part.metadata["asked"].usual is None
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came out: the results, what is to be said about them, and cautions that these very inputs call for."""

    results: Any
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """One calculation of the bench.

    `asks` and `tells` are the dataclasses of question and results. `blames` names the fields to which a limit of the
    physics can belong (by its `Range.name`) where its value is not the one entered but differs by an
    addend, as an absolute pressure does from a gauge's.
    """

    name: str
    title: str
    what_for: str
    asks: type[Any]
    tells: type[Any]
    compute: Callable[[Any], Outcome]
    method: str
    source: str
    example: Mapping[str, Any]
    cautions: tuple[str, ...] = ()
    blames: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """An outcome with what was assumed for what was not given."""

    calculation: Calculation
    outcome: Outcome
    assumed: Mapping[str, Any]
