"""Candidates from one unit's history."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.attribution import attribution_of
from service.domain.root_causes.baselines import Baselines, default_setting, defaults
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.failures import failures_of
from service.domain.root_causes.figures import packed, unlikely_by_chance, unpacked
from service.domain.root_causes.history import FailureHistory
from service.schemas.root_causes import RemarksSchema
from tests.simulation.values import component, done, learned_of, taken

START, END = date(2023, 1, 1), date(2025, 12, 31)


def burnt(*days, evidence="seen", reason="failed", condition="burnt"):
    return tuple(
        PartReplaced("switch-1", "power_switch", day, reason, condition, evidence, "us", f"v{i}")
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

    assert found.tier in ("probable", "strong")
    assert found.causes[0].cause == "condenser_fouled"
    assert [event.day for event in found.events] == list(LATE)


def test_a_switch_whose_rating_nobody_recorded_may_be_too_small():
    """Five burnt in three years, the condenser clean: with a plate that bears the load nothing says why."""
    days = tuple(START + timedelta(days=n) for n in range(90, 1000, 200))
    clean = tuple(done("condenser_clean", START + timedelta(days=n), "done", "clean") for n in range(30, 1090, 30))
    unit = history(burnt(*days), clean)
    amps = (taken("current", "switch-1", 10.0, "current", days[0]),)
    large, small = ((component("switch-1", "power_switch", (), rated, "ac_only"),) for rated in (20.0, 10.0))
    (found,) = root_causes_of(replace(unit, readings=amps), defaults(), END)
    (seen,) = root_causes_of(replace(unit, readings=amps, components=small), defaults(), END)

    assert (found.causes[0].cause, found.causes[0].measured) == ("switch_undersized", False)
    assert (found.exposed_share, {event.present for event in found.events}) == (None, {None})  # nobody saw it
    assert (seen.exposed_share, {event.present for event in seen.events}) == (1.0, {1.0})
    assert root_causes_of(replace(unit, readings=amps, components=large), defaults(), END) == ()


@pytest.mark.parametrize(("condition", "counts"), [("worn", 0.6), ("good", None), ("burnt", 1.0)])
def test_what_was_replaced_for_a_reason_that_nobody_knows_counts_in_part(condition, counts):
    """The weight is judged; what was found burnt had failed, whatever the reason."""
    unit = history((*burnt(LATE[0]), *burnt(LATE[1], reason="unknown", condition=condition)))
    failures = failures_of(unit, "power_switch", END)

    assert failures.count == pytest.approx(1.0 + (counts or 0.0))
    assert failures.failure_days == (1 if counts is None else 2)


def test_the_remarks_on_a_reason_that_nobody_knows_can_be_imported_again():
    unknown = burnt(LATE[0], reason="unknown", condition="discoloured")
    (found,) = root_causes_of(history((*unknown, *burnt(*LATE[1:])), CLEANED), defaults(), END)

    assert found.remarks["unknown_why"] == 1
    assert RemarksSchema().validate(dict(found.remarks)) == {}


@pytest.mark.parametrize("days", [(), (LATE[0],), (LATE[0], LATE[0])])
def test_one_failure_never_flags(days):
    assert root_causes_of(history(burnt(*days), CLEANED), defaults(), END) == ()


def test_one_failure_never_flags_however_likely_its_cause():
    """In a fleet where a dirty condenser burns every second switch one failure would do; still it is one failure."""
    default = default_setting("power_switch")
    sure = replace(default, rate=0.0001, priors=(0.5, *default.priors[1:]))
    known = Baselines({"power_switch": sure})
    once = history((*burnt(LATE[0]), *burnt(LATE[1], reason="precaution", condition="worn")))
    twice = history(burnt(*LATE[:2]))
    assert attribution_of(once, failures_of(once, "power_switch", END), sure).chance < 0.5

    assert root_causes_of(once, known, END) == ()
    assert unlikely_by_chance(unpacked([packed(once, everything=True)]), known, END.toordinal()) == []
    assert root_causes_of(twice, known, END) != ()


def test_what_is_expected_after_the_remedy_is_less_than_what_was():
    """With the cause gone the unit's own rate is what is left of four failures in three years."""
    days = (*LATE, date(2025, 12, 1))
    (found,) = root_causes_of(history(burnt(*days), CLEANED), defaults(), END)
    (alike,) = root_causes_of(history(burnt(*days)), defaults(), END)

    assert 0.1 < alike.expected_failures_next_year < found.expected_failures_next_year < 0.5


def test_precautions_are_no_failures_unless_the_part_was_found_burnt():
    """Burnt is burnt, whichever reason was ticked: common practice, no source."""
    worn = history(burnt(*LATE, reason="precaution", condition="worn"), CLEANED)
    failed, mixed = burnt(*LATE), (*burnt(*LATE[:1]), *burnt(*LATE[1:], reason="precaution"))

    assert root_causes_of(worn, defaults(), END) == ()
    (as_failed,), (found,) = (root_causes_of(history(each, CLEANED), defaults(), END) for each in (failed, mixed))
    assert found.probability_of_chance == as_failed.probability_of_chance


def test_what_is_dated_before_the_unit_is_left_out_and_counted():
    (found,) = root_causes_of(history(burnt(date(2020, 1, 1), *LATE), CLEANED), defaults(), END)

    assert found.remarks["left_out"] == 1
    assert len(found.events) == 3


def test_reported_failures_weigh_less_and_are_counted():
    days = (*LATE, date(2025, 12, 1), date(2025, 12, 20))
    (seen,) = root_causes_of(history(burnt(*days), CLEANED), defaults(), END)
    (shown,) = root_causes_of(history(burnt(*days, evidence="reported"), CLEANED), defaults(), END)

    assert shown.probability_of_chance > seen.probability_of_chance
    assert shown.remarks["reported"] == 5


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


def fans(condition):
    days = [START + timedelta(days=n) for n in (60, 200, 400, 560, 730, 900)]
    seized = [PartReplaced("fan-1", "condenser_fan", day, "failed", condition, "seen", "us", f"v{day}") for day in days]
    return FailureHistory("GU-1", START, START + timedelta(days=960), (component("fan-1", "condenser_fan"),),
                          replaced=tuple(seized), performed=CLEANED)  # fmt: skip


@pytest.mark.parametrize("condition", ["seized", "burnt", "noisy", "unknown"])
def test_what_an_unknown_cause_leaves_is_not_known(condition):
    """Six fans in 29 months are no chance, however they were found."""
    (found,) = root_causes_of(fans(condition), defaults(), END)

    assert found.tier in ("probable", "strong")


def test_a_measured_fault_is_believed_with_the_failures_that_it_made():
    """98 V on a plate of 115 V, two compressors and two controllers: NEMA MG 1 bears 10 %."""
    parts = [("compressor", 200), ("temperature_controller", 420), ("compressor", 600), ("temperature_controller", 800)]
    replaced = tuple(
        PartReplaced(f"{kind}-1", kind, START + timedelta(days=day), "failed", "unknown", "seen", "us", f"v{day}")
        for kind, day in parts
    )
    places = tuple(component(f"{kind}-1", kind) for kind in ("compressor", "temperature_controller"))
    volts = tuple(taken("supply_voltage", None, 98.0, "voltage", START + timedelta(days=n)) for n in (210, 610))
    unit = FailureHistory(
        "GU-1", START, START + timedelta(days=850), places, supply_voltage=115.0, replaced=replaced, readings=volts
    )

    found = root_causes_of(unit, defaults(), END)
    assert [(each.component_kind, each.causes[0].cause, each.causes[0].measured) for each in found] == [
        ("compressor", "low_voltage", True),
        ("temperature_controller", "low_voltage", True),
    ]
    alone = root_causes_of(replace(unit, replaced=replaced[::2]), defaults(), END)
    assert found[0].probability_of_chance < alone[0].probability_of_chance  # different kinds support each other


def test_a_hot_terminal_is_the_fault_of_its_own_switch():
    """93 degC beside 43 degC at its like: NETA MTS table 100.18, over 15 K is a major deficiency."""
    places = (component("switch-1", "power_switch"), component("switch-2", "power_switch"))
    read = tuple(
        taken("terminal_temperature", code, kelvin, "temperature", START + timedelta(days=n))
        for n in (100, 400, 700)
        for code, kelvin in (("switch-1", 366.0), ("switch-2", 316.0))
    )
    unit = replace(history(burnt(*LATE), CLEANED), components=places, readings=read)
    other = replace(unit, replaced=tuple(replace(each, component="switch-2") for each in unit.replaced))

    def loose(which):
        (found,) = root_causes_of(which, defaults(), END)
        return next(share.probability for share in found.causes if share.cause == "loose_terminal")

    assert loose(unit) > 20 * loose(other)


def test_a_condenser_found_blocked_counts_though_nobody_cleaned_it():
    looks = tuple(
        done("condenser_clean", START + timedelta(days=n), "not_done", "blocked") for n in range(30, 1000, 90)
    )
    (found,) = root_causes_of(history(burnt(*LATE), looks), defaults(), END)

    assert found.causes[0].cause == "condenser_fouled"
    assert found.causes[0].measured


def test_a_root_cause_weakens_while_nothing_fails():
    """Six switches in a year and a half, then none: a cause that acted, and probably acts no more."""
    days = tuple(START + timedelta(days=n) for n in range(30, 560, 100))

    def tier(years):
        unit = replace(history(burnt(*days), CLEANED), end=days[-1] + timedelta(days=round(365 * years)))
        return [(each.tier, each.quiet.days) for each in root_causes_of(unit, defaults(), unit.end)]

    assert [tier(years) for years in (0.1, 0.5, 2.0)] == [[("strong", 36)], [("watch", 182)], []]


@pytest.mark.parametrize(
    ("days", "condition", "expected"),
    [((100, 200), "burnt", 2.0), ((100, 110), "burnt", 1.5), ((100, 200), "good", 1.4), ((100, 110), "good", 1.2)],
)
def test_what_was_new_and_what_was_found_good_counts_less(days, condition, expected):
    """The second fails or is found so; weights of .5 within 14 days and of .4 are judged, no source."""
    each = [
        PartReplaced("pump-1", "pump", START + timedelta(days=day), "failed", how, "seen", "us", "v")
        for day, how in zip(days, ("burnt", condition), strict=True)
    ]
    other = PartReplaced("pump-2", "pump", each[1].on - timedelta(days=3), "precaution", "worn", "seen", "us", "v")
    history = FailureHistory("GU-1", START, END, replaced=(*each, other))

    assert failures_of(history, "pump", END).count == pytest.approx(expected)
