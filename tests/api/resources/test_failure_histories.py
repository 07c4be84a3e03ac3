"""The history that the search for root causes reads, of visits that came in over HTTP."""

from datetime import date

import pytest

from service.domain.root_causes.history import history_of, may_have_failed_twice

BURNT = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}
HEARD = BURNT | {"component": "pump-1", "evidence": "reported", "on": "2023-01-05", "by": "others"}
AMPS = {"quantity": "current", "component": "pump-1", "value": "6.1 A", "when": "as_left"}


@pytest.fixture
def shown(shop):
    """A unit with two visits that count and one that was voided."""
    shop.unit()
    shop.visit("2026-05-02", replacements=[BURNT], readings=[AMPS], outcome="running")
    shop.visit("2026-06-01", replacements=[HEARD], tasks=[{"task": "condenser_clean", "result": "done"}])
    lost = shop.visit(
        "2026-06-02", replacements=[BURNT], readings=[AMPS], tasks=[{"task": "pump_check", "result": "done"}]
    )
    path = f"/v1/visits/{lost['visit']['id']}/void"
    assert shop.ask("POST", path, {"reason": "another unit"}, If_Match='"1"').status_code == 200
    return shop


def log_of(shop):
    with shop.database.reading() as store:
        place = store.units.place("GU-0007")
        return store.unit_logs.get(place.id, place.log_version)


def history(shop, day=date(2026, 6, 9)):
    return history_of(log_of(shop), day)


def test_replacements_stand_in_order_with_their_kind_and_a_voided_visit_does_not_count(shown) -> None:
    events = [(e.kind, str(e.on), e.condition, e.evidence, e.by) for e in history(shown).replaced]

    assert events == [
        ("pump", "2023-01-05", "burnt", "reported", "others"),
        ("power_switch", "2026-05-02", "burnt", "seen", "us"),
    ]


def test_readings_and_tasks_stand_on_their_days(shown) -> None:
    found = history(shown)

    assert [(t.reading.quantity, t.reading.component, t.reading.value.value, t.as_found) for t in found.readings] == [
        ("current", "pump-1", 6.1, False)
    ]
    assert [(t.task, str(t.on)) for t in found.performed] == [("condenser_clean", "2026-06-01")]


def test_the_nameplate_is_in_si(shown) -> None:
    found = history(shown)
    switch = found.components[0]

    assert (found.supply_voltage, found.target_strength) == (115.0, 0.35)
    assert (switch.kind, switch.feeds, switch.rated_current.value, switch.rating) == (
        "power_switch",
        ("pump-1",),
        20.0,
        "resistive",
    )


def test_a_part_replaced_before_the_installation_starts_the_history(shown) -> None:
    found = history(shown)

    assert (str(found.start), str(found.end)) == ("2023-01-05", "2026-06-09")


def test_a_history_up_to_an_earlier_day_knows_nothing_later(shown) -> None:
    found = history(shown, date(2026, 5, 2))

    assert ([e.kind for e in found.replaced], found.performed) == (["pump", "power_switch"], ())
    assert str(found.end) == "2026-05-02"
    assert history(shown, date(2026, 5, 1)).readings == ()


def test_a_unit_without_visits_has_an_empty_history(shop) -> None:
    shop.unit(installed_on=None, components=[])
    found = history(shop, date(2020, 1, 1))

    assert (found.start, found.end, found.replaced) == (date(2020, 1, 1), date(2020, 1, 1), ())


@pytest.mark.parametrize(
    ("more", "twice"),
    [
        ([("2026-06-05", BURNT)], True),
        ([("2026-05-02", BURNT)], False),
        ([("2026-06-05", BURNT | {"reason": "precaution", "condition": "worn"})], False),
        ([("2026-06-05", BURNT | {"reason": "precaution"})], True),
        ([("2026-06-05", BURNT | {"reason": "unknown"})], True),
        ([("2026-06-05", BURNT | {"reason": "unknown", "condition": "worn"})], True),
        ([("2026-06-05", BURNT | {"reason": "unknown", "condition": "good"})], False),
        ([("2026-06-05", BURNT | {"component": "switch-2", "kind": "power_switch"})], True),
        ([("2026-06-05", BURNT | {"component": "pump-1"})], True),
        ([("2026-06-05", BURNT | {"component": "fan-9", "kind": "condenser_fan"})], False),
    ],
)
def test_parts_of_one_kind_may_have_failed_on_two_days(shown, more, twice) -> None:
    for day, part in more:
        shown.visit(day, replacements=[part])

    assert may_have_failed_twice(log_of(shown)) is twice


@pytest.mark.parametrize("installed", ["2012-03-01", "2026-04-01"])
def test_years_before_our_care_are_not_watched(shop, installed) -> None:
    """Two units with the same visits are judged alike, however long before our care they were installed."""
    shop.unit(installed_on=installed, care_from="2026-04-20")
    for day in ("2026-05-02", "2026-05-30"):
        shop.visit(day, replacements=[BURNT])

    assert history(shop).start == date(2026, 4, 20)


def test_work_reported_from_before_our_care_is_known(shop) -> None:
    shop.unit(care_from="2026-04-20", last_done=[{"task": "condenser_clean", "on": "2026-02"}])
    (reported,) = history(shop).performed

    assert (reported.task, reported.on, reported.by) == ("condenser_clean", date(2026, 2, 1), "others")
