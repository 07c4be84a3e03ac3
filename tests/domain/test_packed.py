"""What was packed comes back as it was: values, types, and messages that can be worded in another language."""

from collections import Counter
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import NamedTuple

import pytest

from service.domain.messages import Message, gettext, joined, ngettext, term
from service.domain.packed import packed, unpacked
from service.domain.quantities import Quantity


class Pair(NamedTuple):
    name: str
    on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Inner:
    words: str
    value: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outer:
    at: datetime
    pairs: tuple[Pair, ...]
    inner: tuple[Inner, ...]
    days: tuple[tuple[date, str | None], ...]
    closed: frozenset[int]
    counted: Counter[str]
    share: float | None = None


WORDED = joined(
    (
        gettext("Due on {day}: {task}.", day=date(2026, 6, 9), task=term("pump_check")),
        ngettext("{count} day", "{count} days", 3),
        gettext("Written as {text}.", text='{braces} \\ and "quotes"'),
        "typed by somebody",
    )
)
OUTER = Outer(
    at=datetime(2026, 6, 9, 19, 5, 0, 250000, tzinfo=UTC),
    pairs=(Pair("a", date(2026, 1, 31)), Pair("b")),
    inner=(
        Inner(words=WORDED, value=Quantity(271.48333333333335, "temperature", "29 degF")),
        Inner(words="é\u2028", value=None),
    ),
    days=((date(2026, 2, 1), None), (date(2026, 2, 2), "2026-02")),
    closed=frozenset({0, 6}),
    counted=Counter(late=2),
    share=1 / 3,
)  # fmt: skip


def made_of(text: str) -> object:
    """A message with all that it is made of."""
    if isinstance(text, Message):
        return str(text), text.ids, {name: made_of(each) for name, each in text.values.items()}, text.context
    return [made_of(each) for each in text] if isinstance(text, tuple) else text


def test_it_comes_back_as_it_was() -> None:
    back = unpacked(Outer, packed(OUTER))

    assert back == OUTER
    assert [type(each) for each in (back.pairs[0], back.inner, back.closed, back.counted)] == [
        Pair, tuple, frozenset, Counter,
    ]  # fmt: skip


def test_a_message_keeps_what_it_is_made_of() -> None:
    once = unpacked(Outer, packed(OUTER))
    twice = unpacked(Outer, packed(once))

    assert made_of(once.inner[0].words) == made_of(WORDED) == made_of(twice.inner[0].words)
    assert type(once.inner[1].words) is str


def test_what_has_no_form_is_refused() -> None:
    with pytest.raises(TypeError, match="not JSON serializable"):
        packed(Inner(words=object(), value=None))  # type: ignore[arg-type]
