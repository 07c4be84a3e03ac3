"""The sentences of a case follow from its numbers."""

import re
from dataclasses import replace
from datetime import date, timedelta

from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.engine import candidates_of
from service.domain.root_causes.explanation import readings_before
from tests.domain.root_causes.test_engine import CLEANED, END, LATE, burnt, record
from tests.simulation.values import taken

CASE = record(burnt(*LATE), CLEANED)


def read(quantity, component, value, dimension, *, as_found=True):
    return taken(quantity, component, value, dimension, LATE[0] - timedelta(days=2), as_found=as_found)


def test_the_cause_is_named_before_its_presence_is_told():
    (found,) = candidates_of(CASE, defaults(), END)
    share = round(100 * found.causes[0].probability)

    assert re.search(
        rf"failed 3 times within 4 months; .*Most probable: the condenser .* \({share} in 100; luck .*"
        r"3 of 3 failures came while that was so; it was so \d+ % of the time\. If that is the cause",
        found.explanation,
    )


def test_luck_is_the_first_of_the_other_explanations():
    (found,) = candidates_of(CASE, defaults(), END)

    assert found.other_explanations[0].startswith("luck (")


def test_beside_a_failure_stands_what_tells_of_its_causes_and_nothing_else():
    readings = (
        read("contact_voltage_drop", "switch-1", 0.43, "voltage"),
        read("contact_voltage_drop", "switch-2", 0.03, "voltage"),
        read("ambient_temperature", None, 307.05, "temperature"),
        read("glycol_ph", None, 8.8, "acidity"),
        read("supply_voltage", None, 114.0, "voltage", as_found=False),
    )

    told = readings_before(replace(CASE, readings=readings), "power_switch", component="switch-1", day=LATE[0])
    assert told == {
        "ambient_temperature": "33.9 degC (93 degF) on 2025-06-29",
        "condenser_clean": "232 days before, found light",
        "contact_voltage_drop switch-1": "0.43 V on 2025-06-29",
    }


def test_a_record_that_begins_before_the_installation_is_told():
    (found,) = candidates_of(replace(CASE, before_installation=2), defaults(), date(2025, 12, 31))

    assert "one of the dates is wrong" in found.explanation


def test_no_more_is_claimed_than_is_known():
    """Twelve burnt switches in a row at one cause: neither certainty nor five digits."""
    days = tuple(END - timedelta(days=20 * n) for n in range(12, 0, -1))
    (found,) = candidates_of(record(burnt(*days), CLEANED), defaults(), END)

    assert found.causes[0].probability > 0.995
    assert "100 in 100" not in found.explanation
    assert re.search(r"1 in \d{1,2}0* units", found.explanation)
