"""Candidates from one unit's history."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.domain.record.unit_log import PartReplaced
from service.domain.root_causes.attribution import attribution_of
from service.domain.root_causes.baselines import Baselines, default_setting, defaults
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.failures import failures_of
from service.domain.root_causes.figures import learned_of, packed, unlikely_by_chance, unpacked
from service.domain.root_causes.history import FailureHistory
from tests.simulation.values import component, done

START, END = date(2023, 1, 1), date(2025, 12, 31)


def burnt(*days, evidence="seen", reason="failed"):
    return tuple(
        PartReplaced("switch-1", "power_switch", day, reason, "burnt", evidence, "us", f"v{i}")
        for i, day in enumerate(days)
    )


def history(replaced=(), performed=()):
    return FailureHistory(
        "GU-1", START, END, (component("switch-1", "power_switch"),), replaced=replaced, performed=performed
    )


CLEANED = tuple(done("condenser_clean", START + timedelta(days=d), "done", "light") for d in range(85, 700, 85))
LATE = (date(2025, 7, 1), date(2025, 9, 1), date(2025, 11, 1))


def test_three_burnt_while_the_condenser_was_long_uncleaned_name_the_condenser():
    (found,) = root_causes_of(history(burnt(*LATE), CLEANED), defaults(), END)

    assert found.tier in ("probable", "confirmed")
    assert found.causes[0].cause == "condenser_fouled"
    assert "3 failures" in found.explanation


@pytest.mark.parametrize("days", [(), (LATE[0],), (LATE[0], LATE[0])])
def test_one_failure_never_flags(days):
    assert root_causes_of(history(burnt(*days), CLEANED), defaults(), END) == ()


def test_one_failure_never_flags_however_likely_its_cause():
    """In a fleet where a dirty condenser burns every second switch one failure would do; still it is one failure."""
    default = default_setting("power_switch")
    sure = replace(default, rate=0.0001, priors=(0.5, *default.priors[1:]))
    known = Baselines({"power_switch": sure})
    once = history((*burnt(LATE[0]), *burnt(LATE[1], reason="precaution")))
    twice = history(burnt(*LATE[:2]))
    assert attribution_of(once, failures_of(once, "power_switch", END), sure).chance < 0.5

    assert root_causes_of(once, known, END) == ()
    assert unlikely_by_chance(unpacked([packed(once, everything=True)]), known, END.toordinal()) == []
    assert root_causes_of(twice, known, END) != ()


def test_what_is_expected_after_the_remedy_is_less_than_what_was():
    """With the cause gone the unit's own rate is what is left of three failures in three years."""
    (found,) = root_causes_of(history(burnt(*LATE), CLEANED), defaults(), END)
    (alike,) = root_causes_of(history(burnt(*LATE)), defaults(), END)

    assert 0.1 < alike.expected_failures_next_year < found.expected_failures_next_year < 0.5


def test_precautions_are_no_failures():
    assert root_causes_of(history(burnt(*LATE, reason="precaution"), CLEANED), defaults(), END) == ()


def test_what_is_dated_before_the_unit_is_left_out_and_told():
    (found,) = root_causes_of(history(burnt(date(2020, 1, 1), *LATE), CLEANED), defaults(), END)

    assert "1 replacement dated outside" in found.explanation
    assert len(found.events) == 3


def test_reported_failures_weigh_less_and_are_told():
    days = (*LATE, date(2025, 12, 1), date(2025, 12, 20))
    (seen,) = root_causes_of(history(burnt(*days), CLEANED), defaults(), END)
    (shown,) = root_causes_of(history(burnt(*days, evidence="reported"), CLEANED), defaults(), END)

    assert shown.probability_of_chance > seen.probability_of_chance
    assert "reported, not seen" in shown.explanation


def test_a_new_failure_changes_the_key_of_the_evidence():
    (few,) = root_causes_of(history(burnt(*LATE), CLEANED), defaults(), LATE[2])
    (more,) = root_causes_of(history(burnt(*LATE, date(2025, 12, 1)), CLEANED), defaults(), END)

    assert few.evidence_key != more.evidence_key


def test_an_empty_record_and_ten_thousand_visits_are_borne():
    many = burnt(*(START + timedelta(days=i % 1000) for i in range(10_000)))

    assert root_causes_of(FailureHistory("GU-2", END, START), defaults(), START) == ()
    assert root_causes_of(history(many), defaults(), END)[0].tier == "strong"


def test_a_fleet_of_healthy_units_is_learnt_without_naming_any():
    fleet = [history(burnt(LATE[0]) if i % 3 == 0 else (), CLEANED) for i in range(60)]
    learned = learned_of(fleet, END)

    assert all(root_causes_of(each, learned, END) == () for each in fleet)


def test_what_happened_later_changes_nothing_told_before():
    """A blocked condenser found after the day asked for must not colour that day's answer."""
    later = (done("condenser_clean", date(2025, 12, 15), "done", "clean"),)

    known = root_causes_of(history(burnt(*LATE), CLEANED), defaults(), LATE[2])
    assert root_causes_of(history(burnt(*LATE), CLEANED + later), defaults(), LATE[2]) == known
