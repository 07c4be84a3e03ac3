"""The order of the list, and what is listed once; the ranks are judged, no source."""

from datetime import date
from itertools import permutations

from service.domain.maintenance.list_order import (
    Entry,
    class_of,
    into_stops,
    key_of_call,
    key_of_item,
    listed_once,
)

TODAY = date(2026, 6, 9)


def entry(site: int, unit: int, item: str, due_on: str = "2026-06-09", outcome=None, **changes) -> Entry:
    work = class_of(item, outcome)
    key = key_of_item(work, item, due_on, "90 days", TODAY.toordinal())
    return Entry(site, unit, item, key, due_on, 10, work, "a")._replace(**changes)


def call(site: int, unit: int, item: str, urgency: str = "today", received_at: str = "2026-06-09T10") -> Entry:
    return Entry(site, unit, item, key_of_call(urgency, received_at), "2026-06-09", 60, "call", "a")


def order(*entries: Entry) -> list[list[str]]:
    return [[each.item for each in stop] for stop in into_stops(reversed(entries), lambda *_: ({}, {}))]


def test_of_equals_the_code_of_the_site_and_the_tag_of_the_unit_decide() -> None:
    entries = [entry(1, 1, "trunk_check"), entry(1, 2, "trunk_check"), entry(2, 3, "trunk_check")]
    entries += [entry(3, 4, "pump_check", "2026-01-01"), entry(1, 5, "pump_check", "2026-06-08")]
    entries += [entry(2, 6, "pump_check", "2026-06-08")]
    asked = []

    def names(sites, units):
        asked.append((sorted(sites), sorted(units)))
        return {1: "quay", 2: "pier"}, {1: "GU-9", 2: "GU-8"}

    stops = into_stops(entries, names)
    assert asked == [([1, 2], [1, 2])]
    assert [[each.unit_id for each in stop] for stop in stops] == [[4], [6, 3], [5, 2, 1]]


def test_what_is_most_at_stake_comes_first_and_a_stop_has_the_class_of_its_worst_item() -> None:
    assert order(
        entry(9, 1, "follow_up", outcome="down"),
        call(8, 2, "c1", "now"),
        entry(7, 3, "follow_up", outcome="waiting_for_parts"),
        entry(6, 4, "follow_up", outcome="recovering"),
        entry(5, 5, "condenser_clean", "2020-01-01"),
        entry(9, 6, "trunk_check"),
    ) == [["follow_up", "trunk_check"], ["c1"], ["follow_up"], ["follow_up"], ["condenser_clean"]]


def test_calls_go_by_urgency_and_then_by_when_they_were_received() -> None:
    calls = [
        call(4, 0, "a", "now", "2026-06-09T12"),
        call(3, 0, "b", "today", "2026-06-09T10"),
        call(2, 0, "c", "today", "2026-06-09T11"),
        call(1, 0, "d", "can_wait", "2026-06-01T10"),
    ]

    assert order(*calls) == [["a"], ["b"], ["c"], ["d"]]


def test_pm_goes_by_urgency_and_share_of_the_interval_overrun_what_is_due_first() -> None:
    assert order(
        entry(5, 1, "condenser_clean", "2026-05-01"),
        entry(4, 2, "condenser_clean", "2026-05-20"),
        entry(3, 3, "pump_check", "2020-01-01"),
        entry(2, 4, "controller_check", "2026-06-09"),
        entry(1, 5, "condenser_clean", "2026-06-10"),  # not due
    ) == [["condenser_clean"], ["condenser_clean"], ["pump_check"], ["controller_check"], ["condenser_clean"]]
    thirty = key_of_item("pm", "pump_check", "2026-06-08", "30 days", TODAY.toordinal())
    ninety = key_of_item("pm", "pump_check", "2026-06-07", "90 days", TODAY.toordinal())
    assert thirty < ninety  # 1/30 against 2/90


def test_a_task_contained_in_another_is_listed_once() -> None:
    found = listed_once(
        [entry(1, 1, code) for code in (
            "condenser_clean", "condenser_deep_clean", "glycol_change", "glycol_strength_check", "bath_level_check",
        )]
    )  # fmt: skip

    assert {each.item: set(each.includes) for each in found} == {
        "condenser_deep_clean": {"condenser_clean"},
        "glycol_change": {"glycol_strength_check", "bath_level_check"},
    }
    assert sum(each.minutes for each in found) == 20
    assert found[0].key == entry(1, 1, "condenser_clean").key  # the worse of the two


def test_what_is_contained_is_in_one_order_however_the_rows_come() -> None:
    codes = ("glycol_change", "glycol_strength_check", "bath_level_check")
    (found,) = {listed_once([entry(1, 1, code) for code in each])[0].includes for each in permutations(codes)}

    assert found == ("bath_level_check", "glycol_strength_check")


def test_a_follow_up_is_contained_in_the_first_call_of_its_unit() -> None:
    follow_up = entry(1, 1, "follow_up", outcome="down")
    found = listed_once([call(1, 1, "later", received_at="2026-06-09T11"), call(1, 1, "first"), follow_up])

    assert [(each.item, each.work, each.includes) for each in found] == [
        ("later", "call", ()),
        ("first", "down", ("follow_up",)),
    ]
