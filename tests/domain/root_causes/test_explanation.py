"""The sentences of a root_cause follow from its numbers."""

import re
from dataclasses import replace
from datetime import date, timedelta

from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.explanation import readings_before
from tests.domain.root_causes.test_engine import CLEANED, END, LATE, burnt, history
from tests.simulation.values import taken

ROOT_CAUSE = history(burnt(*LATE), CLEANED)


def read(quantity, component, value, dimension, *, as_found=True):
    return taken(quantity, component, value, dimension, LATE[0] - timedelta(days=2), as_found=as_found)


def test_the_cause_is_named_before_its_presence_is_told():
    (found,) = root_causes_of(ROOT_CAUSE, defaults(), END)
    share = round(100 * found.causes[0].probability)

    assert re.search(
        rf"3 failures within 4 months\. .*Most probable cause: condenser .* \({share} %; chance .*"
        r"This was so at 3 of 3 failures, and \d+ % of the time\. With this cause removed",
        found.explanation,
    )


def test_chance_is_the_first_of_the_other_explanations():
    (found,) = root_causes_of(ROOT_CAUSE, defaults(), END)

    assert found.other_explanations[0].startswith("chance (")


def test_beside_a_failure_stands_what_tells_of_its_causes_and_nothing_else():
    readings = (
        read("contact_voltage_drop", "switch-1", 0.43, "voltage"),
        read("contact_voltage_drop", "switch-2", 0.03, "voltage"),
        read("ambient_temperature", None, 307.05, "temperature"),
        read("glycol_ph", None, 8.8, "acidity"),
        read("supply_voltage", None, 114.0, "voltage", as_found=False),
    )

    shown = readings_before(replace(ROOT_CAUSE, readings=readings), "power_switch", component="switch-1", day=LATE[0])
    assert shown == {
        "ambient_temperature": "33.9 degC (93 degF) on 2025-06-29",
        "condenser_clean": "232 days before, found light",
        "contact_voltage_drop switch-1": "0.43 V on 2025-06-29",
    }


def test_a_record_that_begins_before_the_installation_is_told():
    (found,) = root_causes_of(replace(ROOT_CAUSE, before_installation=2), defaults(), date(2025, 12, 31))

    assert "one of the dates is wrong" in found.explanation


def test_no_more_is_claimed_than_is_known():
    """Twelve burnt switches in a row at one cause: neither certainty nor five digits."""
    days = tuple(END - timedelta(days=20 * n) for n in range(12, 0, -1))
    (found,) = root_causes_of(history(burnt(*days), CLEANED), defaults(), END)

    assert found.causes[0].probability > 0.995
    assert "100 %" not in found.explanation
    assert re.search(r"1 in \d{1,2}0* such units", found.explanation)
