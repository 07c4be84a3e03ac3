"""The work at a unit that was moved: lists of past days, closures, calls and assignments go by where it stood."""

from datetime import UTC, datetime
from typing import Any

import pytest

from service.usecases.maintenance.refreshing import refresh_range
from tests.api.resources.following import export, take_in
from tests.api.resources.test_locations import move, stock, visit

CALL = {
    "received_at": "2026-06-09T18:00:00Z", "unit": "GU-1", "symptom": "warm_pour", "words": "warm", "urgency": "today"
}  # fmt: skip


@pytest.fixture
def two(shop) -> Any:
    """A unit that can be moved."""
    stock(shop)
    return shop


def stops(shop, query: str = "") -> list[tuple[str, str, list[str]]]:
    found = shop.get(f"/v1/pm-list?horizon_days=0{query}")["stops"]
    return [(stop["site"], stop["customer"], sorted(each["task"] for each in stop["items"])) for stop in found]


def due_on(shop) -> str:
    return str(shop.due("GU-1")["condenser_clean"]["due_on"])


def test_the_list_of_a_past_day_has_the_unit_where_it_stood(two) -> None:
    on = "&on=2026-06-08"
    before = stops(two, on)
    assert [site for site, _, _ in before] == ["quay"]
    two.now = datetime(2026, 6, 9, 22, tzinfo=UTC)
    move(two, "dock", "2026-06-09")
    assert stops(two, on) == before
    move(two, "pier", "2026-06-01")  # recorded later: nobody knew it on that day
    assert stops(two, on) == before
    assert [site for site, _, _ in stops(two)] == ["dock"]


def test_a_call_stands_in_the_list_of_a_past_day_where_its_unit_was_known_to_be(two) -> None:
    call = two.post("/v1/calls", {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c0a", **CALL})
    two.now = datetime(2026, 6, 12, 22, tzinfo=UTC)
    on = "&on=2026-06-09"
    before = [(site, tasks) for site, _, tasks in stops(two, on) if "call" in tasks]
    assert [site for site, _ in before] == ["quay"]
    move(two, "dock", "2026-06-08")
    assert two.get(f"/v1/calls/{call['id']}")["site"] == "dock"
    assert [(site, tasks) for site, _, tasks in stops(two, on) if "call" in tasks] == before


def test_a_closure_counts_while_the_unit_stands_at_the_site(two) -> None:
    """Three months after 2026-03-05 is 2026-06-05, in the closure of the first site: due on the day of return."""
    two.now = datetime(2026, 3, 5, 21, tzinfo=UTC)
    visit(two, "2026-03-05T20:00:00Z", tasks=[{"task": "condenser_clean", "result": "done"}])
    two.post("/v1/sites/quay/closures", {"from": "2026-06-01", "until": "2026-06-20", "reason": "season"})
    two.post("/v1/sites/dock/closures", {"from": "2026-05-01", "until": "2026-05-31", "reason": "season"})
    assert due_on(two) == "2026-06-21"
    move(two, "dock", "2026-06-10")
    assert due_on(two) == "2026-06-10"
    two.patch("/v1/sites/quay/closures/1", {"until": "2026-06-08"}, 1)

    assert due_on(two) == "2026-06-09"


def test_the_bulk_refresh_agrees_with_the_log(two) -> None:
    visit(two, "2026-03-05T20:00:00Z", tasks=[{"task": "condenser_clean", "result": "done"}])
    two.post("/v1/sites/quay/closures", {"from": "2026-06-01", "until": "2026-06-20", "reason": "season"})
    move(two, "dock", "2026-06-10")
    before = two.get("/v1/units/GU-1/due")
    assert refresh_range(two.database, 1, 1_000_000_000) == 1

    assert two.get("/v1/units/GU-1/due") == before


def test_a_call_is_at_the_site_at_which_the_unit_stood(two) -> None:
    call = two.post("/v1/calls", CALL | {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c01"})
    two.now = datetime(2026, 6, 10, 21, tzinfo=UTC)
    move(two, "dock", "2026-06-10")
    (first, second) = stops(two)
    refused = two.ask("POST", "/v1/visits", {
        "id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c02", "unit": "GU-1", "kind": "service_call",
        "arrived_at": "2026-06-10T20:00:00Z", "calls": [call["id"]],
    })  # fmt: skip

    assert (first[0], first[2]) == ("quay", ["call"])
    assert second[0] == "dock"
    assert "is a call for the site quay" in refused.text
    move(two, "dock", "2026-06-09")  # so it stood there when it was called for
    assert two.get(f"/v1/calls/{call['id']}")["site"] == "dock"


def test_an_assignment_is_for_the_site_at_which_the_unit_stands_on_its_day(two) -> None:
    two.post("/v1/technicians", {"code": "rhea", "name": "Rhea"})
    given = {"unit": "GU-1", "technician": "rhea"}
    move(two, "dock", "2026-06-12")
    two.post("/v1/assignments", given | {"site": "quay", "day": "2026-06-10"})
    two.post("/v1/assignments", given | {"site": "dock", "day": "2026-06-12"})
    refused = two.ask("POST", "/v1/assignments", given | {"site": "pier", "day": "2026-06-12"})
    assert "does not stand at the site" in refused.text

    exported = export(two)
    two.empty()
    two.now = datetime(2026, 6, 20, 21, tzinfo=UTC)  # when the unit stands at the dock, and both days are over
    take_in(two, exported)
    assert [(each["site"], each["day"]) for each in two.walk("/v1/assignments")] == [
        ("quay", "2026-06-10"),
        ("dock", "2026-06-12"),
    ]


def test_a_call_answered_before_a_move_was_recorded_stays_answered_and_with_its_customer(two) -> None:
    call = two.post("/v1/calls", CALL | {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c01", "words": "all warm in the bar"})
    two.now = datetime(2026, 6, 10, 21, tzinfo=UTC)
    answered = visit(two, "2026-06-10T20:00:00Z", kind="service_call", outcome="running", calls=[call["id"]])["visit"]
    assert "warm_pour" in str(two.get("/v1/customers/lantern/service-summaries/2026")["units"])
    move(two, "wharf", "2026-06-10")  # 2026-06-09T18:15Z, after the call
    two.patch(f"/v1/visits/{answered['id']}", {"why": "forgotten", "advice": "Clean it."}, 1)
    now, exported, before = two.now, export(two), two.get(f"/v1/visits/{answered['id']}")

    assert (before["customer"], before["calls"]) == ("otter", [call["id"]])
    assert "warm" not in str(two.get("/v1/customers/otter/service-summaries/2026")["units"])
    two.empty()
    two.now = now
    take_in(two, exported)
    assert two.get(f"/v1/calls/{call['id']}")["state"] == "answered"
    assert export(two) == exported
