"""What a case says of itself follows from its numbers."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from service.domain.quantities import Quantity
from service.domain.record.unit_log import PartReplaced
from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.case import case_of
from service.domain.root_causes.engine import candidates_of
from service.domain.root_causes.explanation import luck_of_so_many
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.statistics import pair_statistics
from tests.simulation.values import component, done, taken

START, END = date(2022, 1, 1), date(2025, 12, 31)
DAYS = (date(2025, 7, 1), date(2025, 9, 1), date(2025, 11, 1), date(2025, 12, 1))
CLEANED = done("condenser_clean", date(2025, 1, 2), "done", "light")


def unit(places=1, days=DAYS, **told):
    codes = [f"switch-{n}" for n in range(1, places + 1)]
    burnt = tuple(
        PartReplaced(codes[n % places], "power_switch", day, "failed", "burnt", "seen", "us", f"v{n}")
        for n, day in enumerate(days)
    )
    components = tuple(component(code, "power_switch") for code in codes)
    return FailureHistory("GU-1", START, END, components, replaced=burnt, **told)


def explained(record):
    (found,) = candidates_of(record, defaults(), END)
    return found.explanation


def test_the_luck_of_a_unit_with_three_places_is_that_of_all_three():
    """Against drawn records: three places fail at the rate of one each; this project's own Monte Carlo."""
    record, window = unit(places=3, days=DAYS[:3]), 0.5
    setting = replace(defaults().of("power_switch"), rate=0.2, shape=1e6)
    told = luck_of_so_many(case_of(record, pair_statistics(record, "power_switch", END), setting), window)

    draw = np.random.default_rng(4)
    years, seen, records = 4.0, 0, 40_000
    for count in draw.poisson(3 * 0.2 * years, records):
        times = np.sort(draw.uniform(0.0, years, count))
        seen += bool(count >= 3 and (times[2:] - times[:-2] < window).any())
    assert told == pytest.approx(seen / records, rel=0.08)


def test_where_luck_is_likelier_than_any_cause_no_cause_is_called_most_probable():
    days = (date(2022, 12, 10), date(2023, 3, 10), date(2023, 10, 10))
    record = unit(
        days=days,
        performed=tuple(done("condenser_clean", day, "done", "clean") for day in days),
        readings=tuple(taken("current", "switch-1", 14.1, "current", day) for day in days),
    )
    switch = replace(record.components[0], rated_current=Quantity(15.0, "current", ""), rating="ac_only")
    record = replace(record, start=date(2022, 8, 1), components=(switch,))
    (found,) = candidates_of(record, defaults(), END)

    assert found.luck_probability > found.causes[0].probability
    assert "Most probable" not in found.explanation
    assert "Luck is likelier than any one cause" in found.explanation


def test_a_record_without_a_cleaning_says_that_none_was_assumed():
    assert "No cleaning is on record since 2022-01-01" in explained(unit())
    assert "No cleaning is on record" not in explained(unit(performed=(CLEANED,)))


def test_of_a_retired_unit_nothing_is_expected():
    assert "in the next year" in explained(unit())
    assert "in the next year" not in explained(replace(unit(), retired=True))
