"""The record that the search for root causes reads, of visits that came in over HTTP."""

from datetime import date

import pytest

BURNT = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}
HEARD = BURNT | {"component": "pump-1", "evidence": "reported", "on": "2023-01-05", "by": "others"}
AMPS = {"quantity": "current", "component": "pump-1", "value": "6.1 A", "when": "as_left"}


@pytest.fixture
def told(shop):
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


def record(shop, as_of=date(2026, 6, 9)):
    with shop.book.reading() as store:
        unit_id = store.units.place("GU-0007").id
        return dict(store.unit_records.of(unit_id, unit_id, as_of=as_of))[unit_id]


def test_replacements_stand_in_order_with_their_kind_and_a_voided_visit_does_not_count(told) -> None:
    events = [(e.kind, str(e.day), e.condition, e.evidence, e.by) for e in record(told).replacements]

    assert events == [
        ("pump", "2023-01-05", "burnt", "reported", "others"),
        ("power_switch", "2026-05-02", "burnt", "seen", "us"),
    ]


def test_readings_and_tasks_stand_on_their_days(told) -> None:
    found = record(told)

    assert [(r.quantity, r.component, r.value, r.as_found) for r in found.readings] == [
        ("current", "pump-1", 6.1, False)
    ]
    assert [(t.task, str(t.day)) for t in found.tasks] == [("condenser_clean", "2026-06-01")]


def test_the_nameplate_is_in_si(told) -> None:
    found = record(told)
    switch = found.components[0]

    assert (found.supply_voltage, found.target_strength) == (115.0, 0.35)
    assert (switch.kind, switch.feeds, switch.rated_current, switch.rating) == (
        "power_switch",
        ("pump-1",),
        20.0,
        "resistive",
    )


def test_a_part_replaced_before_the_installation_starts_the_record(told) -> None:
    found = record(told)

    assert (str(found.start), str(found.end)) == ("2023-01-05", "2026-06-09")


def test_a_record_of_an_earlier_day_knows_nothing_later(told) -> None:
    found = record(told, date(2026, 5, 2))

    assert ([e.kind for e in found.replacements], found.tasks) == (["pump", "power_switch"], ())
    assert str(found.end) == "2026-05-02"


def test_a_unit_without_a_record_has_an_empty_one(shop) -> None:
    shop.unit(installed_on=None, components=[])
    found = record(shop, date(2020, 1, 1))

    assert (found.start, found.end, found.replacements) == (date(2020, 1, 1), date(2020, 1, 1), ())
