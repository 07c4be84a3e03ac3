"""What a pattern of the API document generates is accepted, and the limits of numbers are those of the API.

Reference: Hypothesis, which makes texts from regular expressions, and Python's decimal arithmetic.
"""

import re
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from marshmallow import ValidationError

from service.schemas.calculations import Limited
from service.schemas.decimal_patterns import decimals, whole_numbers
from service.schemas.due import DueItemSchema
from service.schemas.fields import Measure, SiteTime
from service.schemas.history import TimelineEventSchema
from service.schemas.times import (
    COMING_DAY_PATTERN,
    DAY_PATTERN,
    LOCAL_DAY_PATTERN,
    PAST_DAY_PATTERN,
    PAST_LOCAL_DAY_PATTERN,
    PAST_SITE_TIME_SCHEMA,
    SITE_TIME_SCHEMA,
)
from service.schemas.visits import READING_KINDS, ReadingSchema

from .bodies import BODIES, places

FIELDS = [field for schema in BODIES.values() for _, field in places(schema)]


def limits_of(field: Measure) -> str:
    """The limits in each unit, as text."""
    each = field.json_schema["anyOf"][1]["anyOf"]
    return repr([tuple(limit["properties"]["value"].values()) for limit in each])


LIMITED = [field for field in FIELDS if isinstance(field, Measure) and "anyOf" in field.json_schema]
MEASURES = {f"{field.json_schema['$ref'].rpartition('/')[2]} {limits_of(field)}": field for field in LIMITED}
PATTERNED = {
    field.json_schema["pattern"]: field for field in FIELDS if "pattern" in (getattr(field, "json_schema", None) or {})
}
DECIMALS = st.decimals(-2000, 2000, places=3, allow_nan=False)


@pytest.mark.parametrize("name", MEASURES)
def test_texts_of_a_measure_are_accepted(name: str) -> None:
    pattern = MEASURES[name].json_schema["anyOf"][0]["pattern"]
    units = re.findall(r"2}([A-Za-z][A-Za-z0-9/%]*|%)", pattern)
    assert len(units) == len(set(units)) >= 1

    @given(st.from_regex(pattern, fullmatch=True))
    @settings(max_examples=60, deadline=None, derandomize=True, database=None)
    def every_text(text: str) -> None:
        MEASURES[name].deserialize(text)

    every_text()


@pytest.mark.parametrize("name", MEASURES)
def test_numbers_of_a_measure_are_accepted_up_to_the_limits_and_not_beyond(name: str) -> None:
    field, limits = MEASURES[name], MEASURES[name].json_schema["anyOf"][1]["anyOf"]
    assert len(limits) == len({limit["properties"]["unit"]["const"] for limit in limits}) >= 1
    for limit in limits:
        unit, value = limit["properties"]["unit"]["const"], limit["properties"]["value"]
        width = value["maximum"] - value["minimum"]
        for number in (value["minimum"], value["maximum"], value["minimum"] + width / 3):
            field.deserialize({"value": number, "unit": unit})
        if isinstance(field, Limited):
            continue  # the calculation checks the limits of its inputs, see the tests of each
        for number in (value["minimum"] - width / 1000 - 1e-9, value["maximum"] + width / 1000):
            with pytest.raises(ValidationError):
                field.deserialize({"value": number, "unit": unit})


@pytest.mark.parametrize("pattern", PATTERNED)
def test_other_texts_with_a_pattern_are_accepted(pattern: str) -> None:
    field = PATTERNED[pattern]
    if "format" in field.json_schema:
        return  # dates and instants follow their format as well, see the share of generated requests

    @given(st.from_regex(pattern.replace(r"\u0000", "\0"), fullmatch=True))
    @settings(max_examples=60, deadline=None, derandomize=True, database=None)
    def every_text(text: str) -> None:
        if field.json_schema["pattern"].startswith("^[^") and not 1 <= len(text) <= 40:
            return  # a length is documented beside the pattern
        field.deserialize(text)

    every_text()


@pytest.mark.parametrize("schema", [SITE_TIME_SCHEMA, PAST_SITE_TIME_SCHEMA])
def test_local_times_of_the_pattern_are_accepted(schema: dict[str, Any]) -> None:
    @given(st.from_regex(schema["anyOf"][1]["pattern"], fullmatch=True))
    @settings(max_examples=60, deadline=None, derandomize=True, database=None)
    def every_text(text: str) -> None:
        assert SiteTime().deserialize(text).tzinfo is None

    every_text()


@given(st.tuples(DECIMALS, DECIMALS).map(sorted), DECIMALS, st.booleans())
@settings(max_examples=600, deadline=None, derandomize=True, database=None)
def test_a_number_matches_when_it_lies_between_the_limits(ends: list[Decimal], number: Decimal, at_end: bool) -> None:
    low, high = ends
    text = f"{(low if at_end else number):f}"
    if not float(text):
        text = text.removeprefix("-")

    assert bool(re.fullmatch(decimals(low, high), text)) == (low <= Decimal(text) <= high)
    assert not re.fullmatch(decimals(low, high), text + "x")


@pytest.mark.parametrize("high", [1, 9, 10, 99, 100, 120, 3652, 10_000])
def test_whole_numbers_match_up_to_the_highest(high: int) -> None:
    pattern = whole_numbers(1, high)

    matching = [n for n in range(2 * high + 20) if re.fullmatch(pattern, str(n))]
    assert matching == list(range(1, high + 1))


def test_each_quantity_has_its_own_limits_in_the_document() -> None:
    rules: Any = ReadingSchema.more_json_schema["oneOf"]
    quantities = [name for rule in rules for name in rule["properties"]["quantity"]["enum"]]
    (volts,) = (rule for rule in rules if rule["properties"]["quantity"]["enum"] == ["supply_voltage"])

    assert sorted(quantities) == sorted(kind.quantity for kind in READING_KINDS)
    assert volts["properties"]["value"]["anyOf"][1]["anyOf"][0]["properties"]["value"]["maximum"] == 1000


@pytest.mark.parametrize(
    ("pattern", "first", "last"),
    [
        (DAY_PATTERN, 1900, 2200),
        (PAST_DAY_PATTERN, 1900, 2039),
        (COMING_DAY_PATTERN, 2026, 2200),
        (LOCAL_DAY_PATTERN, 1971, 2099),
        (PAST_LOCAL_DAY_PATTERN, 1971, 2039),
    ],
)
def test_days_match_as_the_calendar_has_them(pattern: str, first: int, last: int) -> None:
    days = (date(1899, 1, 1) + timedelta(days=n) for n in range(111_000))
    impossible = [f"{year}-02-{day}" for year in (1900, 2025, 2100, 2200) for day in (29, 30)]

    for day in days:
        assert bool(re.fullmatch(pattern, day.isoformat())) == (first <= day.year <= last)
    assert not [text for text in (*impossible, "2026-04-31", "2026-00-10") if re.fullmatch(pattern, text)]


def test_what_an_answer_calculates_may_be_beyond_the_years_that_are_accepted() -> None:
    """A task of a unit installed in 2200 is due in 2201; an instant of 1900 may be of 1899 by the clock of a site."""
    shown = DueItemSchema().fields["due_on"], TimelineEventSchema().fields["at"]

    assert ["pattern" in field.json_schema for field in shown] == [False, False]
