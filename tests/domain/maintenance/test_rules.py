"""Due dates by each rule: the calendar alone, stepped, learned from grades, and by a forecast."""

from dataclasses import replace
from datetime import date

import pytest

from service.domain.errors import Invalid
from service.domain.maintenance.due import due_items
from service.domain.maintenance.foreseen import Foreseen, Reached
from service.domain.maintenance.fouling import Fouling, outlook
from service.domain.maintenance.settings import Setting, changed_task, default_task
from service.domain.record.care import NOTHING_KNOWN, Care, Planned
from service.domain.record.unit_log import Performed

CLEAN = default_task("condenser_clean")
INSTALLED = date(2025, 12, 2)
DONE = (
    Performed("condenser_clean", date(2026, 3, 2), "done", "heavy", None),
    Performed("condenser_clean", date(2026, 6, 1), "done", "heavy", None),
)
SAID = "10 % chance of reaching it by then."


def due(rule, *performed, reached=None, closed=(), fouling=None, **changes):
    (item,) = due_items(
        tasks=(replace(CLEAN, rule=rule, **changes),),
        performed=performed or DONE,
        installed_on=INSTALLED,
        registered_on=INSTALLED,
        surroundings=None,
        closed_weekdays=frozenset(closed),
        latest=None,
        foreseen=Foreseen(fouling or {}, {"condenser_split_excess": reached} if reached else {}),
    )
    return item


def reached(on, read_on="2026-06-01", *, crossed=False):
    return Reached(on and date.fromisoformat(on), date.fromisoformat(read_on), crossed, SAID)


def test_by_the_calendar_grades_change_nothing() -> None:
    item = due("calendar")
    assert (item.due_on, item.basis, item.interval) == (date(2026, 9, 1), "interval", "3 months")


def test_stepped_is_as_before() -> None:
    assert due("stepped").due_on < due("calendar").due_on
    assert due("stepped").basis == "condition"


def test_learned_ends_where_the_chance_of_heavy_is_reached() -> None:
    item = due("learned")
    ahead = outlook([(90, "heavy"), (91, "heavy")], Fouling(182.0))
    days = (item.due_on - date(2026, 6, 1)).days
    assert ahead.chance(days) <= 0.15 < ahead.chance(days + 1)
    assert item.why.endswith(
        f"; interval {days} days instead of 3 months: by then 15% chance of heavy fouling or worse, learned from "
        "2 grades of this unit and what is usual."
    )


def test_learned_goes_by_the_level_that_the_owner_sets_and_by_the_fleet() -> None:
    usual = due("learned").due_on
    assert due("learned", heavy_chance=0.4).due_on > usual
    slow = {"condenser_clean/": Fouling(500.0, 0.3, 0.35, 40, 160)}
    item = due("learned", fouling=slow)
    assert item.due_on > usual
    assert "learned from 2 grades of this unit and 160 grades of 40 units." in item.why


def test_by_condition_it_is_due_on_the_day_of_the_forecast() -> None:
    item = due("condition", reached=reached("2026-08-11"))
    assert (item.due_on, item.basis) == (date(2026, 8, 11), "condition")
    assert item.why.endswith(f" By its condition: {SAID}")


@pytest.mark.parametrize("on", [None, "2027-05-01"])
def test_it_is_never_later_than_the_longest_interval(on) -> None:
    item = due("condition", reached=reached(on))
    assert item.due_on == date(2026, 12, 1)  # 6 months after it was done


def test_it_is_not_before_the_day_after_the_reading_unless_it_is_crossed() -> None:
    assert due("condition", reached=reached("2026-06-01", "2026-07-01")).due_on == date(2026, 7, 2)
    assert due("condition", reached=reached("2026-07-01", "2026-07-01", crossed=True)).due_on == date(2026, 7, 1)


def test_a_forecast_from_before_it_was_done_does_not_count() -> None:
    assert due("condition", reached=reached("2026-08-11", "2026-05-20")) == due("condition")
    assert due("condition").due_on == due("stepped").due_on


def test_closed_days_move_it_as_any_date() -> None:
    item = due("condition", reached=reached("2026-08-11"), closed={1})  # a Tuesday
    assert item.due_on == date(2026, 8, 10)


@pytest.mark.parametrize(
    ("code", "rule"), [("pump_check", "learned"), ("pump_check", "condition"), ("strainer_clean", "condition")]
)
def test_a_rule_that_does_not_suit_the_task_is_refused(code, rule) -> None:
    with pytest.raises(Invalid, match=f"rule: {code}"):
        changed_task(default_task(code), Setting(code, {"rule": rule}))


def never_done(rule, *, installed_on=INSTALLED, closed=(), care=NOTHING_KNOWN, on=None, read_on="2026-06-05", **more):
    (item,) = due_items(
        tasks=(replace(CLEAN, rule=rule),),
        performed=(),
        installed_on=installed_on,
        registered_on=INSTALLED,
        surroundings=None,
        closed_weekdays=frozenset(closed),
        latest=None,
        care=care,
        foreseen=Foreseen({}, {"condenser_split_excess": reached(on, read_on, **more)}),
    )
    return item


@pytest.mark.parametrize("installed_on", [INSTALLED, None], ids=["installed then", "registered then"])
def test_without_a_record_of_it_each_reading_does_not_move_the_outer_limit(installed_on) -> None:
    days = ("2026-03-01", "2026-05-30")
    dates = {never_done("condition", installed_on=installed_on, read_on=day).due_on for day in days}
    assert dates == {date(2026, 6, 2)}  # 6 months after the installation or registration


def test_closed_days_do_not_move_it_back_to_the_day_of_the_reading() -> None:
    # Read on a Friday, to be due on the Saturday; closed at the weekend.
    assert due("condition", reached=reached("2026-07-04", "2026-07-03"), closed={5, 6}).due_on == date(2026, 7, 6)


def test_an_onboarding_plan_does_not_put_off_what_has_reached_its_limit() -> None:
    plan = Care(planned={"condenser_clean": Planned(on=date(2026, 8, 3), since=date(2026, 3, 2))})
    assert never_done("condition", care=plan, on="2026-05-20", read_on="2026-05-11").due_on == date(2026, 8, 3)
    assert never_done("condition", care=plan, read_on="2026-05-11", crossed=True).due_on == date(2026, 5, 11)


def test_what_is_found_years_after_the_installation_is_no_time_to_heavy() -> None:
    """Nobody knows whether it was cleaned before the records began; the next grade counts from this cleaning."""
    first = Performed("condenser_clean", date(2026, 6, 1), "done", "heavy", None)
    old, new = (
        due_items(
            tasks=(replace(CLEAN, rule="learned"),),
            performed=(first,),
            installed_on=installed_on,
            registered_on=INSTALLED,
            surroundings=None,
            closed_weekdays=frozenset(),
            latest=None,
        )[0]
        for installed_on in (date(2015, 6, 1), date(2026, 3, 1))
    )
    assert "learned" not in old.why
    assert old.due_on == date(2026, 9, 1)  # three months, as the catalogue has it
    assert "learned from 1 grade of this unit" in new.why
    assert new.due_on < old.due_on


@pytest.mark.parametrize(("surroundings", "due_on"), [(None, date(2026, 4, 15)), ("greasy", date(2026, 2, 15))])
def test_until_something_is_graded_the_interval_is_that_of_the_task(surroundings, due_on) -> None:
    """Three months, in a greasy kitchen one, whatever the fleet shows: nothing is known of this unit."""
    cleaned = Performed("condenser_clean", date(2026, 1, 15), "done", None, None)
    fleet = Foreseen({f"condenser_clean/{surroundings or ''}": Fouling(40.0, units=9, grades=30)})
    (item,) = due_items(
        tasks=(replace(CLEAN, rule="learned"),),
        performed=(cleaned,),
        installed_on=date(2025, 12, 1),
        registered_on=INSTALLED,
        surroundings=surroundings,
        closed_weekdays=frozenset(),
        latest=None,
        foreseen=fleet,
    )
    assert item.due_on == due_on
    assert item.basis == "interval"
