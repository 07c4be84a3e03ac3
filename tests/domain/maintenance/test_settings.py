"""How settings change a task of the catalogue."""

import pytest

from service.domain.errors import Invalid, NotFound
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.settings import Setting, changed_task, default_task, merged
from service.domain.maintenance.tasks import Interval, parse_interval

PUMP = default_task("pump_check")


def setting(**changes) -> Setting:
    return Setting("pump_check", changes, 1)


def test_a_default_is_the_catalogues() -> None:
    assert [default_task(task.code) for task in CATALOGUE] == list(CATALOGUE)


def test_a_task_that_is_not_in_the_catalogue_is_not_found() -> None:
    with pytest.raises(NotFound, match="polish"):
        default_task("polish")


@pytest.mark.parametrize("nothing", [None, Setting("pump_check"), setting(note="why")])
def test_nothing_set_leaves_the_task_as_it_is(nothing) -> None:
    assert changed_task(PUMP, nothing) == PUMP


def test_what_is_set_is_changed_and_nothing_else() -> None:
    changed = changed_task(PUMP, setting(interval="4 months", minutes=25, bring=["a hat"], applies=False))

    assert (changed.interval, changed.minutes, changed.bring) == (Interval(4, "month"), 25, ("a hat",))
    assert (changed.applies, changed.shortest, changed.cautions) == (False, PUMP.shortest, PUMP.cautions)


@pytest.mark.parametrize("changes", [{"interval": "5 years"}, {"shortest": "1 year"}, {"longest": "1 day"}])
def test_an_interval_outside_its_own_range_is_refused(changes) -> None:
    with pytest.raises(Invalid) as refusal:
        changed_task(PUMP, setting(**changes))

    assert refusal.value.faults[0].field == "interval"


def test_a_setting_grows_field_by_field_and_version_by_version() -> None:
    first = merged(Setting("pump_check"), {"interval": parse_interval("P4M"), "minutes": 25})
    second = merged(first, {"minutes": 30})

    assert (first.changes, first.version) == ({"interval": "4 months", "minutes": 25}, 1)
    assert (second.changes, second.version) == ({"interval": "4 months", "minutes": 30}, 2)


def test_a_field_set_to_null_is_no_longer_set() -> None:
    assert merged(setting(interval="4 months", minutes=25), {"interval": None}).changes == {"minutes": 25}


def test_a_setting_that_is_false_stays_set() -> None:
    assert merged(setting(), {"applies": False}).changes == {"applies": False}


def test_the_fleets_setting_and_the_units_are_applied_one_after_the_other() -> None:
    fleet = changed_task(PUMP, setting(interval="4 months", minutes=25))
    unit = changed_task(fleet, setting(interval="5 months"))

    assert (unit.interval, unit.minutes) == (Interval(5, "month"), 25)
