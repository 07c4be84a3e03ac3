import json
from dataclasses import replace

from service.rendering.pm_list.json_body import render

# The shape that the API promises.
STOP = [
    "class", "site", "site_name", "customer", "customer_name", "phone", "address", "access", "time_zone", "latitude",
    "longitude", "technician", "today", "arrives_at", "leaves_at", "travel_minutes", "minutes", "items", "root_causes",
]  # fmt: skip
ITEM = [
    "class", "call",
    "unit", "place", "maker", "model", "task", "task_name", "due_on", "days_overdue", "status", "basis", "why",
    "interval", "last_done_on", "minutes", "bring", "cautions", "includes", "technician",
    "assigned_day", "pulled_forward",
]  # fmt: skip


def test_has_the_promised_fields(day):
    body = json.loads(render(day))

    assert list(body) == ["horizon_days", "counts", "stops", "next", "day"]
    assert list(body["stops"][0]) == STOP
    assert list(body["stops"][0]["items"][0]) == ITEM


def test_counts_items_stops_and_minutes(day):
    expected = {"overdue": 1, "due_today": 2, "due_soon": 1, "scheduled": 0, "stops": 2, "minutes": 110}

    assert json.loads(render(day))["counts"] == expected


def test_shows_how_late_each_item_is(day):
    items = json.loads(render(day))["stops"][0]["items"]

    # 28 May to 9 June 2026 is 12 days, 9 to 14 June is 5
    assert [(item["days_overdue"], item["status"]) for item in items] == [
        (12, "overdue"),
        (0, "due_today"),
        (-5, "due_soon"),
    ]


def test_gives_each_item_its_own_task(day):
    items = json.loads(render(day))["stops"][0]["items"]

    assert [item["bring"] for item in items] == [
        ["soft brush", "vacuum"],
        ["ammeter", "vacuum"],
        ["soft brush", "vacuum"],
    ]
    assert items[1]["cautions"] == ["Wear gloves."]


def test_an_override_holds_at_its_unit_alone(listed, row, task):
    tasks = {("condenser_clean", ""): task(), ("condenser_clean", "GU-0008"): task(minutes=75, bring=("ladder",))}
    rows = (row(), row(unit="GU-0008", own='{"minutes":75}'), row(unit="GU-0009"))

    items = json.loads(render(replace(listed(rows), tasks=tasks)))["stops"][0]["items"]

    assert [item["minutes"] for item in items] == [30, 75, 30]
    assert [item["bring"] for item in items] == [["soft brush", "vacuum"], ["ladder"], ["soft brush", "vacuum"]]


def test_adds_up_the_minutes_of_a_stop(day):
    assert [stop["minutes"] for stop in json.loads(render(day))["stops"]] == [80, 30]


def test_is_null_for_what_is_not_known(day):
    ferry = json.loads(render(day))["stops"][1]

    assert [ferry[name] for name in ("phone", "address", "access", "latitude", "technician")] == [None] * 5


def test_writes_the_sites_today_as_a_date(day):
    assert json.loads(render(day))["stops"][0]["today"] == "2026-06-09"


def test_points_to_the_next_page(listed, row):
    assert json.loads(render(listed((row(),), next="/v1/pm-list?cursor=abc")))["next"] == "/v1/pm-list?cursor=abc"


def test_an_empty_list_counts_nothing(listed):
    body = json.loads(render(listed()))

    assert (body["stops"], set(body["counts"].values())) == ([], {0})


def test_keeps_whatever_was_typed_to_the_letter(hostile_list, hostile):
    stop = json.loads(render(hostile_list))["stops"][0]
    item = stop["items"][0]

    assert {stop[name] for name in ("site_name", "customer_name", "phone", "address", "access", "technician")} == {
        hostile
    }
    assert {item[name] for name in ("unit", "place", "maker", "model", "task_name", "why")} == {hostile}
    assert item["bring"] == item["cautions"] == [hostile]


def test_names_a_root_cause_of_a_stop_once_for_each_unit(failing):
    quay, ferry = json.loads(render(failing))["stops"]

    assert ferry["root_causes"] == []
    assert quay["root_causes"] == [
        {
            "id": 3, "unit": "GU-0007", "component_kind": "power_switch", "tier": "probable", "state": "open",
            "cause": "condenser_fouled", "next_check": "Read the amps.", "bring": ["brush", "clamp meter"],
            "text": "power switch keeps failing; probable cause: condenser fouled. Read the amps. "
            "Bring brush, clamp meter.",
        }
    ]  # fmt: skip
