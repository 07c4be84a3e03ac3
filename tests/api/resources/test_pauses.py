"""Pauses of units, closures and ends of sites and customers, over HTTP: what is due, listed, shown and refused."""

from datetime import UTC, datetime
from typing import Any

import pytest

from tests.api.resources.burnt_switches import burn_switches

PAUSES, CLOSURES = "/v1/units/GU-0007/pauses", "/v1/sites/lantern-quay/closures"
NAMED = {"pause": PAUSES, "closure": CLOSURES}
SUMMER = {"from": "2026-06-01", "until": "2026-08-31", "reason": "switched off for the summer"}
DONE = [{"task": "pump_check", "result": "done"}]


def listed(shop, query: str = "", tag: str = "GU-0007") -> set[str]:
    """The tasks of a unit on the PM list."""
    found = shop.get(f"/v1/pm-list?{query}")
    return {item["task"] for stop in found["stops"] for item in stop["items"] if item["unit"] == tag}


def on(shop, day: str, hour: int = 18) -> None:
    """Put the clock to an hour UTC of a day."""
    shop.now = datetime.fromisoformat(f"{day}T{hour:02}:00:00").replace(tzinfo=UTC)


@pytest.fixture
def checked(shop):
    """A pump that was checked on 15 April, so that its next check is due on 15 July."""
    shop.unit()
    shop.visit("2026-04-15", tasks=DONE)
    assert shop.due()["pump_check"]["due_on"] == "2026-07-15"
    return shop


@pytest.mark.parametrize(
    ("of", "sentence"), [("pause", "The unit is out of service"), ("closure", "The site is closed")]
)
def test_what_falls_due_in_a_pause_is_due_on_the_day_of_return_and_says_so(checked, of: str, sentence: str) -> None:
    checked.post(NAMED[of], SUMMER)
    found = checked.due()["pump_check"]

    assert found["due_on"] == "2026-09-01"  # a Tuesday; the example's site is closed on Mondays
    assert (
        f" {sentence} from 2026-06-01 until 2026-08-31, so it is due on 2026-09-01, the day of return." in found["why"]
    )


def test_the_return_waits_for_an_open_day_and_for_the_next_pause_to_end(checked) -> None:
    checked.post(PAUSES, SUMMER | {"until": "2026-07-31"})
    checked.post(CLOSURES, SUMMER | {"from": "2026-08-01", "until": "2026-08-30"})
    found = checked.due()["pump_check"]

    assert found["due_on"] == "2026-09-01"
    assert found["why"].endswith("until 2026-07-31, so it is due on 2026-09-01, the first open day after.")


def test_a_closed_weekday_does_not_bring_the_date_back_into_a_pause(checked) -> None:
    checked.patch("/v1/sites/lantern-quay", {"closed_weekdays": ["wednesday"]}, 1)  # 15 July 2026 is one
    assert checked.due()["pump_check"]["due_on"] == "2026-07-14"
    checked.post(PAUSES, SUMMER | {"until": "2026-07-14"})

    assert checked.due()["pump_check"]["due_on"] == "2026-07-16"


def test_nothing_is_due_in_an_open_pause_until_it_ends(checked) -> None:
    checked.post(PAUSES, SUMMER | {"until": None})
    on(checked, "2026-07-20")
    assert (checked.due(), listed(checked, "horizon_days=90")) == ({}, set())

    checked.patch(f"{PAUSES}/1", {"until": "2026-07-31"}, 1)
    assert checked.due()["pump_check"]["due_on"] == "2026-08-01"
    assert "pump_check" not in listed(checked)
    on(checked, "2026-08-01")
    assert "pump_check" in listed(checked)


def test_what_was_overdue_before_a_pause_is_listed_before_and_after_it(checked) -> None:
    checked.post(PAUSES, SUMMER | {"from": "2026-08-01"})
    found = {}
    for day in ("2026-07-31", "2026-08-01", "2026-08-31", "2026-09-01"):
        on(checked, day)
        found[day] = "pump_check" in listed(checked)
    on(checked, "2026-08-25")

    assert found == {"2026-07-31": True, "2026-08-01": False, "2026-08-31": False, "2026-09-01": True}
    assert ("pump_check" in listed(checked, "horizon_days=6"), "pump_check" in listed(checked, "horizon_days=7")) == (
        False,
        True,
    )
    assert checked.due()["pump_check"]["due_on"] == "2026-07-15"


def test_a_visit_in_a_pause_counts(checked) -> None:
    checked.post(PAUSES, SUMMER)
    on(checked, "2026-07-02")
    checked.visit("2026-07-01", tasks=DONE)

    assert checked.due()["pump_check"]["due_on"] == "2026-10-01"


def test_a_pause_that_was_withdrawn_counts_no_more_and_stays_on_record(checked) -> None:
    checked.post(PAUSES, SUMMER)
    checked.patch(f"{PAUSES}/1", {"withdrawn": True, "reason": "the wrong unit"}, 1)

    assert checked.due()["pump_check"]["due_on"] == "2026-07-15"
    assert [(each["number"], each["withdrawn"]) for each in checked.get(PAUSES)["items"]] == [(1, True)]
    assert "pause_began" not in {event["event"] for event in checked.get("/v1/units/GU-0007/history")["items"]}
    checked.post(PAUSES, SUMMER)  # overlaps nothing
    assert checked.patch(f"{PAUSES}/1", {"reason": "x"}, 2)["withdrawn"] is True
    assert checked.ask("PATCH", f"{PAUSES}/1", {"withdrawn": False}, If_Match='"3"').status_code == 409


@pytest.mark.parametrize("of", NAMED)
@pytest.mark.parametrize(
    ("first", "until", "good"),
    [
        ("2026-05-01", "2026-05-31", True),
        ("2026-05-01", "2026-06-01", False),
        ("2026-07-01", "2026-07-02", False),
        ("2026-08-31", "2026-10-01", False),
        ("2026-09-01", "2026-10-01", True),
        ("2026-01-01", "2027-01-01", False),
    ],
)
def test_pauses_of_one_unit_do_not_overlap(checked, of: str, first: str, until: str, good: bool) -> None:
    checked.post(NAMED[of], SUMMER)
    answer = checked.ask("POST", NAMED[of], SUMMER | {"from": first, "until": until})

    assert answer.status_code == (201 if good else 409)
    if not good:
        overlapped = "overlaps number 1, 2026-06-01 until 2026-08-31 (switched off for the summer)."
        assert answer.json["detail"] == f"{first} until {until} {overlapped}"


def test_an_open_pause_overlaps_all_that_comes(checked) -> None:
    checked.post(PAUSES, SUMMER | {"until": None})
    answers = [
        checked.ask("POST", PAUSES, SUMMER | {"from": day, "until": until}).status_code
        for day, until in (("2026-05-01", "2026-05-31"), ("2030-01-01", "2030-01-02"), ("2026-01-01", None))
    ]

    assert answers == [201, 409, 409]


@pytest.mark.parametrize(
    ("path", "body", "field"),
    [
        (PAUSES, SUMMER | {"until": "2026-05-31"}, "until"),
        (PAUSES, {"until": None, "reason": "x"}, "from"),
        (PAUSES, {"from": "2026-06-01"}, "reason"),
        (CLOSURES, SUMMER | {"until": None}, "until"),
        (CLOSURES, {"from": "2026-06-01", "reason": "x"}, "until"),
        ("/v1/customers", {"code": "q", "name": "Q", "care_from": "2026-05-02", "ended_on": "2026-05-01"}, "ended_on"),
    ],
)
def test_what_cannot_be_is_refused_by_field(checked, path: str, body: dict[str, Any], field: str) -> None:
    answer = checked.ask("POST", path, body)

    assert answer.status_code == 422
    assert [fault["field"] for fault in answer.json["errors"]] == [field]


def test_a_change_needs_the_version_that_was_read(checked) -> None:
    checked.post(PAUSES, SUMMER)

    assert checked.ask("PATCH", f"{PAUSES}/1", {"until": "2026-07-01"}).status_code == 428
    assert checked.ask("PATCH", f"{PAUSES}/1", {"until": "2026-07-01"}, If_Match='"2"').status_code == 412
    assert checked.ask("PATCH", f"{PAUSES}/2", {"until": "2026-07-01"}, If_Match='"1"').status_code == 404
    assert checked.ask("PATCH", f"{PAUSES}/{2**64}", {}, If_Match='"1"').status_code == 404
    assert checked.ask("GET", "/v1/units/GU-9/pauses").status_code == 404
    assert checked.ask("POST", PAUSES, SUMMER, role="technician").status_code == 403
    assert checked.ask("GET", f"{PAUSES}/1", role="technician").status_code == 200


def test_the_list_comes_in_pages(checked) -> None:
    for year in (2027, 2028, 2029):
        checked.post(CLOSURES, {"from": f"{year}-01-01", "until": f"{year}-03-31", "reason": "season"})

    assert [each["from"][:4] for each in checked.walk(f"{CLOSURES}?limit=1")] == ["2027", "2028", "2029"]


def test_the_history_has_the_days_of_pauses_closures_and_ends(checked) -> None:
    checked.post(PAUSES, SUMMER)
    checked.post(CLOSURES, SUMMER | {"from": "2026-11-01", "until": "2027-03-31"})
    checked.patch("/v1/sites/lantern-quay", {"ended_on": "2027-06-30"}, 1)
    checked.patch("/v1/customers/lantern", {"ended_on": "2027-07-31"}, 1)
    found = {each["event"]: each["at"][:10] for each in checked.get("/v1/units/GU-0007/history")["items"]}

    wanted = {
        "pause_began": "2026-06-01",
        "pause_ended": "2026-08-31",
        "closure_began": "2026-11-01",
        "closure_ended": "2027-03-31",
        "site_ended": "2027-06-30",
        "customer_ended": "2027-07-31",
    }
    assert wanted.items() <= found.items()


ENDS = {
    "customer": ("/v1/customers/lantern", "ended_on"),
    "site": ("/v1/sites/lantern-quay", "ended_on"),
    "unit": ("/v1/units/GU-0007", "retired_on"),
}


@pytest.mark.parametrize("of", ENDS)
def test_from_an_end_on_nothing_is_due_by_the_day_at_the_site(checked, of: str) -> None:
    path, field = ENDS[of]
    checked.visit("2026-06-01", tasks=[{"task": "electrical_check", "result": "done"}])  # due in a year
    checked.patch(path, {field: "2026-08-01"}, 1)  # ahead
    assert checked.due()["pump_check"]["due_on"] == "2026-07-15"
    assert "electrical_check" not in checked.due()
    on(checked, "2026-07-31")
    assert "pump_check" in listed(checked)
    on(checked, "2026-08-01", hour=5)  # 23:00 on 31 July in Denver
    assert "pump_check" in listed(checked)
    assert "GU-0007" in {unit["tag"] for unit in checked.get("/v1/units")["items"]}
    on(checked, "2026-08-01", hour=6)
    assert (listed(checked), checked.due()) == (set(), {})
    assert ("GU-0007" in {unit["tag"] for unit in checked.get("/v1/units")["items"]}) is (of != "unit")
    assert "BEGIN:VEVENT" not in checked.ask("GET", "/v1/pm-list?format=ics&horizon_days=90").text

    checked.patch(path, {field: None}, 2)
    assert "pump_check" in listed(checked)
    assert "electrical_check" in checked.due()


@pytest.mark.parametrize(("end", "due"), [("2026-07-15", False), ("2026-07-16", True)])
def test_what_would_fall_due_on_the_day_of_the_end_does_not(checked, end: str, due: bool) -> None:
    checked.patch("/v1/sites/lantern-quay", {"ended_on": end}, 1)

    assert ("pump_check" in checked.due()) is due


def test_a_visit_before_the_retirement_that_lies_ahead_is_taken(checked) -> None:
    checked.patch("/v1/units/GU-0007", {"retired_on": "2026-12-31"}, 1)
    on(checked, "2026-07-15")
    answer = checked.visit("2026-07-15", tasks=DONE)

    assert {item["task"]: item["due_on"] for item in answer["due_items"]}["pump_check"] == "2026-10-15"


def test_a_root_cause_that_can_hurt_is_listed_only_while_the_unit_is_in_our_care_and_in_service(shop) -> None:
    shop.unit()
    burn_switches(shop)
    shop.patch("/v1/units/GU-0007", {"retired_on": "2026-06-20"}, shop.get("/v1/units/GU-0007")["version"])
    shop.post(PAUSES, {"from": "2026-06-12", "until": "2026-06-15", "reason": "off"})
    found = {}
    for day in ("2026-06-11", "2026-06-12", "2026-06-15", "2026-06-16", "2026-06-20"):
        on(shop, day)
        found[day[-2:]] = "root_cause" in listed(shop)

    assert found == {"11": True, "12": False, "15": False, "16": True, "20": False}


def test_days_in_service_leave_out_a_pause(checked) -> None:
    """Cleaned on 1 March, off from 1 April to 31 May: seen again on 9 June after 100 days, 39 of them in service."""
    checked.visit("2026-03-01", tasks=[{"task": "condenser_clean", "result": "done"}])
    checked.post(PAUSES, {"from": "2026-04-01", "until": "2026-05-31", "reason": "off"})
    checked.visit("2026-06-09", tasks=[{"task": "condenser_clean", "result": "done", "as_found": "light"}])

    assert "lightly fouled after 39 days" in checked.due()["condenser_clean"]["why"]


def test_on_time_is_judged_by_the_day_of_return(checked) -> None:
    checked.post(PAUSES, SUMMER)
    on(checked, "2026-09-03")
    checked.visit("2026-09-01", tasks=DONE)
    lines = checked.get("/v1/customers/lantern/service-summaries/2026")["units"][0]["pm_lines"]
    (line,) = [each for each in lines if each["task"] == "pump_check" and each["done_on"] == "2026-09-01"]

    assert (line["due_on"], line["state"]) == ("2026-09-01", "on_time")


def test_a_task_done_in_an_open_pause_or_ahead_of_an_end_is_on_time(checked) -> None:
    checked.post(PAUSES, SUMMER | {"until": None})
    checked.patch("/v1/sites/lantern-quay", {"ended_on": "2026-08-10"}, 1)
    on(checked, "2026-08-01")
    checked.visit("2026-08-01", tasks=DONE)  # would have been due on 15 July
    checked.visit("2026-08-01", tasks=[{"task": "glycol_change", "result": "done"}])
    lines = checked.get("/v1/customers/lantern/service-summaries/2026")["units"][0]["pm_lines"]
    (line,) = [each for each in lines if each["task"] == "pump_check" and each["done_on"] == "2026-08-01"]

    assert line["state"] == "on_time"


def test_the_list_of_a_past_day_knows_the_pauses_that_were_planned_then(checked) -> None:
    on(checked, "2026-07-10")
    assert "pump_check" in listed(checked, "horizon_days=7")
    checked.post(PAUSES, SUMMER | {"from": "2026-07-14"})
    assert "pump_check" not in listed(checked, "horizon_days=7")
    on(checked, "2026-07-12")
    assert "pump_check" not in listed(checked, "on=2026-07-10&horizon_days=7")
