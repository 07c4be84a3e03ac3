"""Visits over HTTP: each fact has its place, what cannot be is refused, the same post twice is one visit."""

import json
from itertools import permutations

import pytest

ID = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"
KEY = {"Idempotency_Key": "job 4711"}


def entered(shown):
    """A record from the API with its quantities as entered, and without empty fields."""
    if isinstance(shown, dict):
        return shown.get("entered") or {name: entered(part) for name, part in shown.items() if part not in (None, [])}
    return [entered(part) for part in shown] if isinstance(shown, list) else shown


def covers(shown, given) -> bool:
    """Whether everything given is in the answer, whatever else is."""
    if isinstance(given, dict):
        return all(covers(shown[name], part) for name, part in given.items())
    if isinstance(given, list):
        return len(shown) == len(given) and all(map(covers, shown, given))
    return shown == given


@pytest.fixture
def posted(shop):
    """The answer to the contract's visit."""
    shop.unit()
    return shop.post("/v1/visits", shop.example("visit"), role="technician")


def test_the_visit_of_the_contract_is_reported_as_it_was_given(shop, posted) -> None:
    shown = shop.get(f"/v1/visits/{ID}")

    assert covers(entered(shown), shop.example("visit"))
    assert covers(entered(posted["visit"]), shop.example("visit"))
    assert (shown["posted_by"], shown["posted_at"]) == ("the technician", "2026-06-09T15:00:00-06:00")


def test_the_answer_leads_to_the_visit(shop) -> None:
    shop.unit()
    answer = shop.ask("POST", "/v1/visits", shop.example("visit"))
    read = shop.ask("GET", answer.headers["Location"])

    assert (answer.status_code, answer.headers["ETag"]) == (201, read.headers["ETag"])
    assert read.json["id"] == ID


def test_what_failed_is_kept_apart_from_what_was_replaced_as_a_precaution(posted) -> None:
    fan, contactor, _ = posted["visit"]["replacements"]

    assert (fan["reason"], fan["condition"], fan["evidence"], fan["by"]) == ("failed", "seized", "seen", "us")
    assert (contactor["reason"], contactor["condition"], contactor["by"]) == ("precaution", "worn", "us")


def test_what_we_saw_is_kept_apart_from_what_was_reported_of_others(posted) -> None:
    thermostat = posted["visit"]["replacements"][2]

    assert (thermostat["evidence"], thermostat["by"], thermostat["on"]) == ("reported", "others", "2026-05-20")


def test_as_found_is_kept_apart_from_as_left(posted) -> None:
    found = [(reading["when"], reading["value"]["entered"]) for reading in posted["visit"]["readings"]]

    assert found[:2] == [("as_found", "47 degF"), ("as_left", "38 degF")]


def test_a_unit_left_recovering_is_followed_up_the_next_day_at_the_site(shop, posted) -> None:
    due = {item["task"]: item for item in posted["due_items"]}["follow_up"]

    assert posted["visit"]["outcome"] == "recovering"
    assert (due["due_on"], due["basis"], due["status"]) == ("2026-06-10", "follow_up", "due_soon")
    assert "recovering" in due["why"]
    assert shop.due()["follow_up"] == due


# Three months are 91 days, a third of them 30, half of these 15 as it was found blocked: 9 + 15 = 24 June, a Wednesday.
def test_a_condenser_blocked_after_years_at_a_greasy_site_keeps_its_month(shop, posted) -> None:
    due = shop.due()["condenser_clean"]

    assert (due["due_on"], due["basis"], due["interval"]) == ("2026-07-09", "interval", "1 month")
    assert "blocked after" in due["why"]


def test_a_condenser_blocked_after_a_month_at_a_greasy_site_comes_round_sooner_by_steps(shop, posted) -> None:
    shop.patch("/v1/tasks/condenser_clean", {"rule": "stepped"}, 0)
    shop.visit("2026-05-10", tasks=[{"task": "condenser_clean", "result": "done"}])

    due = shop.due()["condenser_clean"]

    assert (due["due_on"], due["basis"], due["last_done_on"]) == ("2026-06-24", "condition", "2026-06-09")
    assert "blocked" in due["why"]
    assert "greasy" in due["why"]


def test_the_answer_reports_all_that_is_now_due_at_the_unit(shop, posted) -> None:
    assert {item["task"]: item for item in posted["due_items"]} == shop.due()
    days = [item["due_on"] for item in posted["due_items"]]
    assert days == sorted(days)


def test_a_follow_up_that_found_it_running_ends_the_matter(shop, posted) -> None:
    shop.now = shop.now.replace(day=10)
    shop.visit("2026-06-10", kind="follow_up", outcome="running", tasks=[{"task": "follow_up", "result": "done"}])

    assert "follow_up" not in shop.due()


@pytest.mark.parametrize(("outcome", "follows"), [("down", True), ("waiting_for_parts", True), ("running", False)])
def test_only_an_unwell_unit_is_followed_up(shop, outcome, follows) -> None:
    shop.unit()
    shop.visit("2026-06-09", outcome=outcome)

    assert ("follow_up" in shop.due()) == follows


def test_a_visit_by_others_is_kept_as_reported_and_leaves_our_follow_up(shop, posted) -> None:
    others = {"by": "others", "evidence": "reported", "firm": "Another firm", "outcome": "running"}
    swapped = {"component": "pump-1", "reason": "failed", "condition": "unknown", "evidence": "reported"}
    shown = shop.visit(
        "2026-06-09",
        arrived_at="2026-06-09T20:00:00Z",
        replacements=[swapped | {"on": "2026-06-05", "by": "others"}],
        **others,
    )["visit"]

    assert others.items() <= shown.items()
    assert "follow_up" in shop.due()


@pytest.mark.parametrize(
    ("units", "found", "strength"), [("si", (8.33333, "degC"), 24.5), ("us", (47, "degF"), 24.5)]
)  # 47 degF = (47 - 32) / 1.8 = 8.3333 degC; Brix is a scale of its own
def test_readings_are_reported_in_the_units_asked_for(shop, posted, units, found, strength) -> None:
    readings = shop.get(f"/v1/visits/{ID}?units={units}")["readings"]

    assert (readings[0]["value"]["value"], readings[0]["value"]["unit"]) == found
    assert readings[3]["value"]["value"] == strength


def wrong(**changes):
    return changes


READ = {"quantity": "bath_temperature", "value": "30 degF", "when": "as_found"}
PART = {"component": "pump-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}
IMPOSSIBLE = [
    ("readings.0.value", wrong(readings=[READ | {"value": 47}])),
    ("readings.0.value", wrong(readings=[READ | {"value": "47"}])),
    ("readings.0.value", wrong(readings=[READ | {"value": "47 psi"}])),
    ("readings.0.value", wrong(readings=[READ | {"value": "47 °"}])),
    ("readings.0.value", wrong(readings=[READ | {"value": {"value": 47}}])),
    ("readings.0.value", wrong(readings=[READ | {"value": "300 degF"}])),
    ("readings.0.value", wrong(readings=[READ | {"value": "-500 degF"}])),
    ("readings.0.value", wrong(readings=[READ | {"value": "1e9 degF"}])),
    ("readings.0.value", wrong(readings=[READ | {"value": None}])),
    ("readings.0.value", wrong(readings=[{"quantity": "bath_temperature", "when": "as_found"}])),
    ("readings.0.quantity", wrong(readings=[READ | {"quantity": "mood"}])),
    ("readings.0.when", wrong(readings=[READ | {"when": "sometimes"}])),
    ("readings.0.colour", wrong(readings=[READ | {"colour": "red"}])),
    ("readings.0.value", wrong(readings=[READ | {"quantity": "current", "component": "fan-1", "value": "-1.3 A"}])),
    ("readings.0.component", wrong(readings=[READ | {"quantity": "current", "value": "1.3 A"}])),
    ("readings.0.component", wrong(readings=[READ | {"component": "fan-2"}])),
    ("readings.0.tap", wrong(readings=[READ | {"quantity": "beer_temperature_at_tap"}])),
    ("readings.0.value", wrong(readings=[READ | {"quantity": "glycol_strength", "value": "101 mass%"}])),
    ("readings.0.sample_temperature", wrong(readings=[READ | {"sample_temperature": "20 degC"}])),
    ("readings.0.at", wrong(readings=[READ | {"at": "2026-06-01T12:00:00Z"}])),
    ("readings.0.at", wrong(readings=[READ | {"at": "2026-06-10T12:00:00Z"}])),
    ("readings.0", wrong(readings=["47 degF"])),
    ("readings", wrong(readings=READ)),
    ("left_at", wrong(left_at="2026-06-09T13:04:00-06:00")),
    ("left_at", wrong(left_at="2026-06-09T17:00:00-06:00")),
    ("arrived_at", wrong(arrived_at="2026-06-10T13:05:00-06:00", left_at=None)),
    ("arrived_at", wrong(arrived_at="2026-02-30T13:05:00-06:00")),
    ("arrived_at", wrong(arrived_at="2026-03-08T02:30:00")),
    ("arrived_at", wrong(arrived_at="2026-06-09")),
    ("arrived_at", wrong(arrived_at=1781031900)),
    ("complaint.reported_at", wrong(complaint={"symptom": "foaming", "reported_at": "2026-06-10T12:00:00Z"})),
    ("complaint.symptom", wrong(complaint={"words": "all foam"})),
    ("tasks.0.task", wrong(tasks=[{"task": "polish", "result": "done"}])),
    ("tasks.0.reason", wrong(tasks=[{"task": "pump_check", "result": "not_done"}])),
    ("tasks.1.task", wrong(tasks=[{"task": "pump_check", "result": "done"}] * 2)),
    ("tasks.0.as_found", wrong(tasks=[{"task": "condenser_clean", "result": "done", "as_found": "dirty"}])),
    ("replacements.0.component", wrong(replacements=[PART | {"component": "pump-9"}])),
    ("replacements.0.reason", wrong(replacements=[PART | {"reason": "because"}])),
    ("replacements.0.on", wrong(replacements=[PART | {"evidence": "reported"}])),
    ("replacements.0.on", wrong(replacements=[PART | {"by": "others"}])),
    ("replacements.0.on", wrong(replacements=[PART | {"on": "2026-06-31"}])),
    ("replacements.0.on", wrong(replacements=[PART | {"on": "2026-06-10"}])),
    (
        "replacements.0.on",
        wrong(
            replacements=[PART | {"on": "2026-06-05"}],
            arrived_at="2026-06-01T13:05:00-06:00",
            left_at="2026-06-01T14:05:00-06:00",
        ),
    ),
    ("observations.0.note", wrong(observations=[{"code": "other"}])),
    ("observations.0.component", wrong(observations=[{"code": "glycol_leak", "component": "pump-9"}])),
    ("evidence", wrong(by="others", technician=None)),
    ("technician", wrong(by="others", evidence="reported")),
    ("firm", wrong(firm="Another firm")),
    ("technician", wrong(technician="nobody")),
    ("unit", wrong(unit="GU-9999")),
    ("kind", wrong(kind="party")),
    ("outcome", wrong(outcome="fine")),
    ("id", wrong(id="4711")),
    ("posted_by", wrong(posted_by="me")),
    ("colour", wrong(colour="red")),
]


@pytest.mark.parametrize(
    ("field", "changes"), IMPOSSIBLE, ids=[f"{n} {field}" for n, (field, _) in enumerate(IMPOSSIBLE)]
)
def test_a_visit_that_cannot_be_is_refused_by_field_and_nothing_is_stored(stocked, field, changes) -> None:
    before = stocked.counted()
    plain = {"readings": [], "tasks": [], "replacements": [], "observations": [], "complaint": None}
    refused = stocked.ask("POST", "/v1/visits", stocked.example("visit", **plain | changes))

    assert (refused.status_code, refused.content_type) == (422, "application/problem+json"), refused.text
    assert [fault["field"] for fault in refused.json["errors"]] == [field]
    assert stocked.counted() == before


@pytest.mark.parametrize(
    ("changes", "value", "limits"),
    [
        (wrong(readings=[READ | {"value": "300 degF"}]), "300 degF", ["140 degF"]),
        (wrong(readings=[READ | {"value": 47}]), 47, ["degF", "degC"]),
        (wrong(replacements=[PART | {"component": "pump-9"}]), "pump-9", ["fan-1", "pump-1", "switch-1"]),
        (wrong(outcome="fine"), "fine", ["running", "recovering", "down", "waiting_for_parts"]),
        (wrong(left_at="2026-06-09T13:04:00-06:00"), "2026-06-09T19:04:00.000000Z", ["2026-06-09T19:05:00.000000Z"]),
    ],
)
def test_a_refusal_names_the_value_and_what_would_do(stocked, changes, value, limits) -> None:
    fault = stocked.ask("POST", "/v1/visits", stocked.example("visit", **changes)).json["errors"][0]

    assert fault["value"] == value
    assert all(limit in fault["message"] for limit in limits), fault["message"]


def test_a_visit_of_another_century_is_refused_by_its_year_and_by_the_installation(stocked) -> None:
    no_other_times = {"left_at": None, "complaint": None, "readings": [], "replacements": []}
    visit = stocked.example("visit", arrived_at="1926-06-09T13:05:00-06:00", **no_other_times)
    refused = stocked.ask("POST", "/v1/visits", visit)

    assert {fault["field"] for fault in refused.json["errors"]} == {"arrived_at", "unit"}


def test_every_fault_of_a_visit_is_reported_at_once(stocked) -> None:
    readings = [READ | {"value": "300 degF"}, READ, READ | {"quantity": "glycol_ph", "value": "15 pH"}]
    refused = stocked.ask("POST", "/v1/visits", stocked.example("visit", readings=readings, technician="nobody"))

    assert [fault["field"] for fault in refused.json["errors"]] == [
        "readings.0.value",
        "readings.2.value",
        "technician",
    ]


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b'{"unit": NaN}', 422),
        (b'{"readings": [{"value": {"value": Infinity, "unit": "degF"}}]}', 422),
        (b'{"readings": [{"value": {"value": 1e999, "unit": "degF"}}]}', 422),
        (b'{"unit": "GU-0007", "unit": "GU-0008"}', 422),
        (b'{"work": "\\u0000"}', 422),
        (b'{"work": "\\ud800"}', 422),
        (b'{"work": "\xff"}', 400),
        (b'{"work": ', 400),
        (b"", 400),
        (b"[]", 422),
        (b"null", 422),
        (b'"visit"', 422),
        (b'{"work": "' + b"x" * 200_001 + b'"}', 413),
    ],
    ids=lambda part: str(part)[:40],
)
def test_a_body_that_is_no_visit_at_all_is_a_problem_and_nothing_is_stored(stocked, body, status) -> None:
    before = stocked.counted()
    refused = stocked.ask("POST", "/v1/visits", body)

    assert (refused.status_code, refused.content_type) == (status, "application/problem+json"), refused.text
    assert stocked.counted() == before


def test_a_component_of_another_unit_is_refused(shop) -> None:
    shop.unit("GU-0001", components=[{"code": "pump-9", "kind": "pump"}])
    shop.unit("GU-0002")
    refused = shop.ask(
        "POST", "/v1/visits", shop.example("visit", unit="GU-0002", replacements=[PART | {"component": "pump-9"}])
    )

    assert refused.status_code == 422
    assert "GU-0002" in refused.json["errors"][0]["message"]


def test_a_visit_to_a_retired_unit_is_refused_but_a_late_one_is_not(shop) -> None:
    shop.unit()
    shop.patch("/v1/units/GU-0007", {"retired_on": "2026-06-01"}, 1)

    assert shop.ask("POST", "/v1/visits", shop.example("visit")).json["errors"][0]["field"] == "unit"
    assert shop.visit("2026-06-01")["due_items"] == []


# The same post again


def test_a_visit_posted_again_is_the_same_visit_with_the_same_answer(shop, posted) -> None:
    before = shop.counted()
    again = shop.ask("POST", "/v1/visits", shop.example("visit"), role="technician")

    assert (again.status_code, again.json) == (201, posted)
    assert shop.counted() == before


def test_the_order_of_names_and_blanks_make_no_other_body(shop, posted) -> None:
    turned = json.dumps(dict(reversed(shop.example("visit").items())), indent=3).encode()

    assert shop.post("/v1/visits", turned) == posted


def test_the_first_answer_is_given_again_after_a_correction(shop, posted) -> None:
    shop.patch(f"/v1/visits/{ID}", {"outcome": "running", "why": "looked again"}, 1)

    assert shop.post("/v1/visits", shop.example("visit")) == posted


def test_an_id_that_comes_back_with_another_body_is_refused(shop, posted) -> None:
    refused = shop.ask("POST", "/v1/visits", shop.example("visit", work="Nothing"))

    assert (refused.status_code, refused.json["type"]) == (422, "/problems/key-reused")
    assert shop.get(f"/v1/visits/{ID}")["work"] == "Replaced ..."


def test_an_id_belongs_to_everyone(shop, posted) -> None:
    assert shop.post("/v1/visits", shop.example("visit"), role="other technician") == posted
    assert shop.ask("POST", "/v1/visits", shop.example("visit", work="x"), role="other technician").status_code == 422


def without_id(shop):
    body = shop.example("visit")
    del body["id"]
    return body


def test_a_visit_with_a_key_needs_no_id_and_is_made_once(shop) -> None:
    shop.unit()
    first, again = (shop.ask("POST", "/v1/visits", without_id(shop), **KEY) for _ in range(2))

    assert first.json == again.json
    assert first.headers["Location"] == again.headers["Location"] == f"/v1/visits/{first.json['visit']['id']}"
    assert shop.counted()["visit"] == 1


def test_a_key_that_comes_back_with_another_body_is_refused(shop) -> None:
    shop.unit()
    shop.post("/v1/visits", without_id(shop), **KEY)

    assert (
        shop.ask("POST", "/v1/visits", without_id(shop) | {"work": "x"}, **KEY).json["type"] == "/problems/key-reused"
    )


def test_a_key_belongs_to_its_caller(shop) -> None:
    shop.unit()
    mine = shop.post("/v1/visits", without_id(shop), role="technician", **KEY)
    theirs = shop.post("/v1/visits", without_id(shop), role="other technician", **KEY)

    assert mine["visit"]["id"] != theirs["visit"]["id"]


def test_a_visit_with_an_id_and_a_key_is_one_visit_by_either(shop, posted) -> None:
    assert shop.post("/v1/visits", shop.example("visit"), **KEY)["visit"]["id"] == ID
    assert shop.counted()["visit"] == 1


def test_a_visit_needs_an_id_or_a_key(shop) -> None:
    shop.unit()

    assert shop.ask("POST", "/v1/visits", without_id(shop)).json["errors"][0]["field"] == "id"


@pytest.mark.parametrize("key", [" ", "x" * 256, "caf\xe9", "a\tb"])
def test_a_key_is_printable_and_short(stocked, key) -> None:

    assert stocked.ask("POST", "/v1/visits", without_id(stocked), Idempotency_Key=key).status_code == 422


def test_an_id_may_be_written_in_capitals_everywhere(shop) -> None:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit", id=ID.upper()))

    assert shop.get(f"/v1/visits/{ID.upper()}")["id"] == ID
    assert shop.patch(f"/v1/visits/{ID.upper()}", {"why": "x", "work": "y"}, 1)["visit"]["id"] == ID


# Late and out of order

STORY = [
    ("2026-05-01", {"tasks": [{"task": "condenser_clean", "result": "done", "as_found": "heavy"}]}),
    ("2026-05-20", {"tasks": [{"task": "condenser_clean", "result": "done", "as_found": "clean"}], "outcome": "down"}),
    ("2026-06-08", {"tasks": [{"task": "pump_check", "result": "not_done", "reason": "no key"}], "outcome": "running"}),
]


@pytest.mark.parametrize("order", list(permutations(range(3))), ids=str)
def test_late_posts_give_the_due_items_that_posts_in_order_give(shop, order) -> None:
    for tag, shown in (("GU-1", range(3)), ("GU-2", order)):
        shop.unit(tag)
        for n in shown:
            shop.visit(STORY[n][0], unit=tag, **STORY[n][1])
    in_order, as_posted = (shop.due(tag) for tag in ("GU-1", "GU-2"))

    assert "follow_up" not in in_order
    assert [item | {"unit": ""} for item in as_posted.values()] == [item | {"unit": ""} for item in in_order.values()]


def test_a_visit_of_last_week_is_posted_today(shop) -> None:
    shop.unit()
    shown = shop.visit("2026-06-02", tasks=[{"task": "pump_check", "result": "done"}])

    assert shown["visit"]["posted_at"].startswith("2026-06-09")
    assert shop.due()["pump_check"]["last_done_on"] == "2026-06-02"
    assert shop.due()["pump_check"]["due_on"] == "2026-09-02"  # three months by the calendar, a Wednesday


# The list


def story(shop):
    shop.unit("GU-1")
    shop.unit("GU-2")
    for day in range(1, 6):
        shop.visit(f"2026-06-0{day}", unit=f"GU-{1 + day % 2}", technician="rhea" if day < 3 else None)


@pytest.mark.parametrize(
    ("query", "days"),
    [
        ("", "54321"),
        ("unit=GU-1", "42"),
        ("site=lantern-quay", "54321"),
        ("customer=lantern", "54321"),
        ("customer=nobody", ""),
        ("technician=rhea", "21"),
        ("since=2026-06-04", "54"),
        ("until=2026-06-02", "21"),
        ("since=2026-06-02&until=2026-06-04&unit=GU-1", "42"),
    ],
)
def test_the_list_of_visits_is_newest_first_and_narrowed(shop, query, days) -> None:
    story(shop)
    found = shop.walk(f"/v1/visits?limit=2&{query}")

    assert "".join(visit["arrived_at"][9] for visit in found) == days


def test_a_walk_meets_every_visit_once_while_others_are_posted(shop) -> None:
    story(shop)
    known = {visit["id"] for visit in shop.walk("/v1/visits")}
    page = shop.get("/v1/visits?limit=2")
    met = [visit["id"] for visit in page["items"]]
    shop.visit("2026-06-09", unit="GU-1")
    while page["next"]:
        page = shop.get(page["next"])
        met += [visit["id"] for visit in page["items"]]

    assert sorted(met) == sorted(known)


def test_visits_of_the_same_instant_are_all_met(shop) -> None:
    shop.unit()
    made = {shop.visit("2026-06-01")["visit"]["id"] for _ in range(5)}

    assert {visit["id"] for visit in shop.walk("/v1/visits?limit=2")} == made


@pytest.mark.parametrize("query", ["units=metric", "since=2026-13-01", "limit=x", "cursor=x"])
def test_a_list_is_asked_for_in_its_own_words(stocked, query) -> None:
    assert stocked.ask("GET", f"/v1/visits?{query}").status_code == 422


def test_a_known_visit_is_not_sent_again(shop, posted) -> None:
    assert shop.ask("GET", f"/v1/visits/{ID}", If_None_Match='"1"').status_code == 304


def test_a_visit_that_is_not_there_is_not_found(stocked) -> None:
    assert stocked.ask("GET", f"/v1/visits/{ID}").status_code == 404


def test_a_refusal_names_at_once_what_cannot_be_read_what_is_not_recorded_and_what_cannot_be_true(shop) -> None:
    shop.unit()

    def refused(**changes):
        body = {"unit": "GU-0007", "kind": "follow_up", "arrived_at": "2026-06-09T12:00:00Z", "technician": "brum"}
        answer = shop.ask("POST", "/v1/visits", body | changes)
        assert answer.status_code == 422
        return {each["field"] for each in answer.json["errors"]}

    assert refused(outcome="runing") == {"id", "outcome", "technician"}
    assert refused(unit="GU-9999", outcome="running") == {"id", "unit", "technician"}
    assert refused(unit="GU-9999", outcome="runing", kind="x") == {"id", "unit", "technician", "outcome", "kind"}
    found = refused(calls=["0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c99"], left_at="2026-06-09T11:00:00Z")
    assert found == {"id", "outcome", "technician", "calls.0", "left_at"}
