"""A failed item under warranty is pointed out in the history, and only where the record knows it."""

from datetime import UTC, date, datetime

import pytest

from service.domain.record.fleet import Component, Site, Unit
from service.domain.record.history import timeline
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Complaint, Item, RemovedItem, Replacement, Visit, Void

SITE = Site(code="quay", customer="lantern", name="Quay", time_zone="America/Denver")
UNIT = Unit(
    tag="GU-1", site="quay", registered_on=date(2025, 1, 1), components=(Component(code="fan-1", kind="condenser_fan"),)
)
UNTIL = date(2026, 6, 9)
NEW = Item(maker="Alder", model="F2", serial="F-1", source="the van", warranty_until=UNTIL)


def fan(reason: str = "failed", condition: str = "seized", **more) -> Replacement:
    return Replacement(component="fan-1", reason=reason, condition=condition, evidence="seen", **more)


def visit(on: str, part: Replacement, **more) -> Visit:
    arrived = datetime.fromisoformat(f"{on}T20:00:00+00:00")
    frame = {"id": on, "unit": "GU-1", "kind": "service_call", "posted_at": arrived, "posted_by": "rhea"}
    return Visit(**frame, arrived_at=arrived, time_zone="America/Denver", replacements=(part,), **more)


def remarks(*visits: Visit) -> dict[str, str]:
    log = UnitLog(unit=UNIT, site=SITE, all_visits=tuple(sorted(visits, key=lambda each: each.arrived_at)))
    return {each.visit.id: each.remark for each in timeline(log, limit=99) if each.visit and each.remark}


PUT_IN = visit("2025-06-10", fan("upgrade", item=NEW))


@pytest.mark.parametrize(("on", "within"), [("2026-06-09", True), ("2026-06-10", False)])
def test_the_last_day_of_the_warranty_counts(on: str, within: bool) -> None:
    expected = {on: "The removed item was under warranty until 2026-06-09."} if within else {}

    assert remarks(PUT_IN, visit(on, fan())) == expected


def test_a_failure_reported_within_the_warranty_counts_though_it_was_repaired_later() -> None:
    called = Complaint(symptom="noisy", reported_at=datetime(2026, 6, 10, 5, tzinfo=UTC))  # 23:00 on the 9th in Denver

    assert list(remarks(PUT_IN, visit("2026-06-12", fan(), complaint=called))) == ["2026-06-12"]


@pytest.mark.parametrize("reason", ["precaution", "upgrade", "unknown"])
def test_an_item_that_did_not_fail_is_not_pointed_out(reason: str) -> None:
    assert remarks(PUT_IN, visit("2026-01-10", fan(reason, "worn"))) == {}


def test_an_item_found_seized_had_failed_though_it_was_replaced_as_a_precaution() -> None:
    assert list(remarks(PUT_IN, visit("2026-01-10", fan("precaution")))) == ["2026-01-10"]


@pytest.mark.parametrize(
    "between",
    [
        visit("2025-09-01", fan()),  # another item, of which nothing is known
        visit("2025-09-01", fan(item=Item(serial="F-2"))),  # its warranty is not known
    ],
)
def test_nothing_is_pointed_out_where_the_warranty_of_the_item_is_not_known(between: Visit) -> None:
    assert "2026-01-10" not in remarks(PUT_IN, between, visit("2026-01-10", fan()))


@pytest.mark.parametrize(
    ("removed", "known"),
    [
        (RemovedItem(serial="F-1"), True),
        (RemovedItem(maker="Alder"), True),
        (RemovedItem(), True),
        (RemovedItem(serial="F-9"), False),
        (RemovedItem(maker="Alder", model="F3"), False),
    ],
)
def test_an_item_with_another_nameplate_is_not_the_one_put_in(removed: RemovedItem, known: bool) -> None:
    assert bool(remarks(PUT_IN, visit("2026-01-10", fan(removed_item=removed)))) is known


def test_a_replacement_that_was_recorded_later_counts_by_its_own_day() -> None:
    reported = visit("2026-05-01", fan(on="2025-08-01", by="others", item=Item(serial="F-2")))

    assert remarks(PUT_IN, visit("2026-01-10", fan()), reported) == {
        "2026-05-01": "The removed item was under warranty until 2026-06-09."
    }


def test_a_voided_visit_put_nothing_in() -> None:
    void = Void(reason="wrong unit", by="rhea", at=datetime(2025, 7, 1, tzinfo=UTC))
    voided = visit("2025-06-10", fan("upgrade", item=NEW), void=void)

    assert remarks(voided, visit("2026-01-10", fan())) == {}


@pytest.mark.parametrize(
    ("stated", "claimed"),
    [
        ("2025-08", True),
        ("2025-06-10/2025-07", True),
        ("2025-06-09/2025-07", False),
        ("2025", False),
        ("unknown", False),
    ],
)
def test_a_reported_failure_is_pointed_out_only_where_it_surely_came_after_the_fitting(
    stated: str, claimed: bool
) -> None:
    failed = fan(by="others", on=stated)
    expected = " The removed item was under warranty until 2026-06-09." if claimed else ""

    assert remarks(PUT_IN, visit("2025-12-01", failed))["2025-12-01"].partition(".")[2] == expected


def test_after_a_failure_that_was_perhaps_before_the_fitting_nobody_knows_which_item_is_there() -> None:
    doubtful = visit("2025-12-01", fan(by="others", on="2025", item=NEW))

    assert "2026-01-10" not in remarks(PUT_IN, doubtful, visit("2026-01-10", fan()))
