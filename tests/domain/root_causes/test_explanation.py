"""The sentences of a root cause follow from its numbers."""

import re
from dataclasses import replace
from datetime import date, timedelta

from service.domain.plain import to_plain
from service.domain.quantities import Quantity
from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.before_failure import readings_before
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.explanation import in_words, lines
from service.domain.root_causes.wording import BY_DAYS
from tests.domain.root_causes.test_engine import CLEANED, END, LATE, burnt, history
from tests.simulation.values import done, taken

ROOT_CAUSE = history(burnt(*LATE), CLEANED)


def read(quantity, component, value, dimension, *, as_found=True):
    return taken(quantity, component, value, dimension, LATE[0] - timedelta(days=2), as_found=as_found)


def worded(found):
    return in_words(to_plain(found))


def test_it_says_what_failed_where_the_cause_how_sure_and_what_to_do():
    (found,) = root_causes_of(ROOT_CAUSE, defaults(), END)
    assert 0.22 <= found.exposed_share < 0.29
    assert re.search(
        r"^Power switch: 3 failures within 4 months \(2025-07-01, 2025-09-01, 2025-11-01\), all at switch-1\. "
        r"Probable cause: condenser .* \(probability of chance 1 in \d+\)\..*"
        r"Present at 3 of 3 failures, and about a quarter of the time\. .*"
        r"Next check: Clean the condenser .* Remedy: Clean the condenser .* With this cause removed",
        worded(found)["explanation"],
    )


def test_there_is_one_number_for_how_sure_and_no_second_scale():
    (found,) = root_causes_of(ROOT_CAUSE, defaults(), END)

    assert len(re.findall(r"\d in \d", worded(found)["explanation"])) == 1
    assert "%" not in worded(found)["explanation"]


def test_chance_is_the_first_of_the_other_explanations():
    (found,) = root_causes_of(ROOT_CAUSE, defaults(), END)

    assert worded(found)["other_explanations"][0].startswith("chance (1 in ")


def test_a_cause_that_was_measured_says_so():
    """14 A through an AC-only switch of 10 A, which bears 8 A of motors: NEC 404.14."""
    switch = replace(ROOT_CAUSE.components[0], rated_current=Quantity(10.0, "current", ""), rating="ac_only")
    amps = taken("current", "switch-1", 14.0, "current", date(2024, 5, 1))
    (found,) = root_causes_of(
        replace(ROOT_CAUSE, components=(switch,), replaced=burnt(*LATE[:2]), readings=(amps,)), defaults(), END
    )

    assert found.causes[0].cause == "switch_undersized"
    assert found.causes[0].measured
    assert "Readings or findings show it." in worded(found)["explanation"]


def test_failures_in_one_season_of_several_years_say_so():
    days = [date(year, 8, 3) for year in (2023, 2024, 2025)]
    (found,) = root_causes_of(history(burnt(*days, date(2025, 8, 20))), defaults(), date(2025, 9, 1))

    assert "All in the months June to August." in worded(found)["explanation"]


def test_words_are_those_of_today(monkeypatch):
    (found,) = root_causes_of(ROOT_CAUSE, defaults(), END)
    monkeypatch.setitem(BY_DAYS, "condenser_fouled", replace(BY_DAYS["condenser_fouled"], sentence="dirty fins"))

    assert "Probable cause: dirty fins (" in worded(found)["explanation"]


def test_one_that_was_stored_with_its_words_keeps_them():
    assert in_words({"causes": [], "explanation": "Three burnt."}) == {"causes": [], "explanation": "Three burnt."}


def test_beside_a_failure_stands_what_bears_on_its_causes_and_nothing_else():
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
        "condenser_clean": "done on 2024-11-11, 232 days before, found lightly fouled",
        "contact_voltage_drop switch-1": "0.43 V on 2025-06-29",
    }


def test_how_the_next_cleaning_found_it_stands_beside_the_last_one_before():
    """Burnt three months after a clean condenser says little; found blocked four weeks later it says much."""
    after = done("condenser_clean", LATE[0] + timedelta(days=28), "done", "blocked")
    later = done("condenser_clean", LATE[0] + timedelta(days=90), "done", "clean")
    known = replace(ROOT_CAUSE, performed=(*ROOT_CAUSE.performed, after, later))
    shown = readings_before(known, "power_switch", component="switch-1", day=LATE[0])

    assert shown["condenser_clean"].endswith(f"found lightly fouled, next found blocked on {after.on}")


def test_the_lines_of_a_page_hold_what_the_running_text_holds():
    (found,) = root_causes_of(ROOT_CAUSE, defaults(), date(2025, 12, 31))
    document = worded(found)
    labelled = dict(lines(document))
    text = document["explanation"]

    assert labelled["Next check"] == document["next_check"]
    assert labelled["Remedy"] == document["remedy"]
    assert {"What failed", "What was so each time", "Next year"} < set(labelled)
    assert all(each in text for each in labelled.values())
    assert lines({"explanation": "as imported"}) == [("Why", "as imported")]


def test_a_record_that_begins_before_the_installation_is_reported():
    (found,) = root_causes_of(replace(ROOT_CAUSE, before_installation=2), defaults(), date(2025, 12, 31))

    assert "one of the dates is wrong" in worded(found)["explanation"]


def test_no_more_is_claimed_than_is_known():
    """Twelve burnt switches in a row at one cause: neither certainty nor five digits."""
    days = tuple(END - timedelta(days=20 * n) for n in range(12, 0, -1))
    (found,) = root_causes_of(history(burnt(*days), CLEANED), defaults(), END)

    assert found.causes[0].probability > 0.995
    assert "chance under 1 in 1000" in worded(found)["explanation"]
