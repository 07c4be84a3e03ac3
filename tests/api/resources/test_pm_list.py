"""The day's list over HTTP: which day it is where, how far ahead, whose, in which form, in parts."""

import csv
import io
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from icalendar import Calendar

from tests.api.resources.burnt_switches import DAYS, burn_switches

# A unit registered with nothing known of it is due on the day of its registration: a handy way to place due dates.
PLAIN = {"installed_on": None, "components": [], "trunks": []}
NOW = datetime(2026, 6, 9, 21, 0, tzinfo=UTC)


def items(shop, query=""):
    return [item for stop in shop.get(f"/v1/pm-list?{query}")["stops"] for item in stop["items"]]


def statuses(shop, query=""):
    return {(item["unit"], item["status"]) for item in items(shop, query)}


@pytest.fixture
def fleet(shop):
    """Units due on 8, 9, 10 and 16 June at a site of rhea's in Denver, one due on the 9th at a site of nobody's."""
    shop.unit("GU-0", **PLAIN, registered_on="2026-06-09", retired_on="2026-06-09")
    shop.now = NOW.replace(day=7)  # the lists of past days go by the closed days that were known then
    shop.patch("/v1/sites/lantern-quay", {"technician": "rhea", "closed_weekdays": []}, 1)
    shop.now = NOW
    shop.post("/v1/sites", shop.example("site", code="pier", name="Pier", closed_weekdays=[]))
    for tag, day in (("GU-1", "2026-06-08"), ("GU-2", "2026-06-09")):
        shop.unit(tag, **PLAIN, registered_on=day)
    shop.unit("GU-3", **PLAIN, registered_on="2026-06-09", site="pier")
    for tag, day in (("GU-4", 10), ("GU-5", 16)):
        shop.now = NOW.replace(day=day)
        shop.unit(tag, **PLAIN)
    shop.now = NOW
    return shop


def test_what_is_overdue_and_due_today_is_on_the_list(fleet) -> None:
    assert statuses(fleet) == {("GU-1", "overdue"), ("GU-2", "due_today"), ("GU-3", "due_today")}


@pytest.mark.parametrize(("horizon", "soon"), [(1, {"GU-4"}), (6, {"GU-4"}), (7, {"GU-4", "GU-5"})])
def test_the_horizon_adds_what_is_due_soon(fleet, horizon, soon) -> None:
    found = {unit for unit, status in statuses(fleet, f"horizon_days={horizon}") if status == "due_soon"}

    assert found == soon


def test_items_are_gathered_into_stops(fleet) -> None:
    stops = fleet.get("/v1/pm-list")["stops"]

    assert [(stop["site"], {item["unit"] for item in stop["items"]}) for stop in stops] == [
        ("lantern-quay", {"GU-1", "GU-2"}),
        ("pier", {"GU-3"}),
    ]
    assert [stop["minutes"] for stop in stops] == [sum(item["minutes"] for item in stop["items"]) for stop in stops]


def test_an_item_reports_all_that_the_van_needs(fleet) -> None:
    stop = fleet.get("/v1/pm-list?technician=rhea")["stops"][0]
    item = next(item for item in stop["items"] if (item["unit"], item["task"]) == ("GU-1", "pump_check"))

    assert (item["due_on"], item["days_overdue"], item["basis"]) == ("2026-06-08", 1, "first_visit")
    assert "registered" in item["why"]
    assert item["bring"]
    assert any("lock out" in caution for caution in item["cautions"])
    assert (stop["access"], stop["phone"], stop["technician"], stop["today"]) == ("...", "...", "rhea", "2026-06-09")


def test_the_counts_are_those_of_the_items(fleet) -> None:
    pulled = fleet.get("/v1/pm-list?horizon_days=7")
    found = [item for stop in pulled["stops"] for item in stop["items"]]

    assert pulled["counts"] == {
        **{
            word: sum(item["status"] == word for item in found)
            for word in ("overdue", "due_today", "due_soon", "scheduled")
        },
        "stops": 2,
        "minutes": sum(item["minutes"] for item in found),
    }


def test_a_list_can_be_pulled_for_one_technician(fleet) -> None:
    assert {stop["site"] for stop in fleet.get("/v1/pm-list?technician=rhea")["stops"]} == {"lantern-quay"}
    assert fleet.ask("GET", "/v1/pm-list?technician=nobody").json["errors"][0]["field"] == "technician"


@pytest.mark.parametrize(("on", "units"), [("2026-06-07", ""), ("2026-06-08", "1"), ("2026-06-16", "12345")])
def test_a_list_can_be_pulled_for_another_day(fleet, on, units) -> None:
    assert {unit for unit, _ in statuses(fleet, f"on={on}")} == {f"GU-{n}" for n in units}


def test_a_units_own_minutes_are_on_its_items_only(fleet) -> None:
    fleet.patch("/v1/units/GU-1/tasks/pump_check", {"minutes": 99, "bring": ["a hat"]}, 0)
    found = {item["unit"]: (item["minutes"], item["bring"]) for item in items(fleet) if item["task"] == "pump_check"}

    assert found["GU-1"] == (99, ["a hat"])
    assert found["GU-2"][0] != 99


def test_parts_of_the_list_meet_every_item_once_while_work_is_done(fleet) -> None:
    whole = [(item["unit"], item["task"]) for item in items(fleet, "horizon_days=7")]
    page, met = fleet.get("/v1/pm-list?horizon_days=7&limit=4"), []
    while True:
        met += [(item["unit"], item["task"]) for stop in page["stops"] for item in stop["items"]]
        done = {"task": met[0][1], "result": "done"}
        fleet.visit("2026-06-09", unit=met[0][0], tasks=[done])  # what was met goes away behind the reader
        if page["next"] is None:
            break
        page = fleet.get(page["next"])

    assert sorted(met) == sorted(whole)


def test_a_page_holds_whole_sites_and_the_counts_of_the_whole_list(fleet) -> None:
    whole = fleet.get("/v1/pm-list?horizon_days=7")
    first = fleet.get("/v1/pm-list?horizon_days=7&limit=1")
    second = fleet.get(first["next"])

    assert [len(page["stops"]) for page in (first, second)] == [1, 1]
    assert first["stops"] + second["stops"] == whole["stops"]
    assert first["counts"] == second["counts"] == whole["counts"]
    assert second["next"] is None


# What is at stake


def service(shop, unit, outcome, day="2026-06-08", **more):
    return shop.visit(day, unit=unit, kind="service_call", outcome=outcome, **more)["visit"]


def classes(shop, query=""):
    """(unit, class) of what is no PM, in the order of the list."""
    return [(item["unit"], item["class"]) for item in items(shop, query) if item["class"] != "pm"]


def called(shop, **changes):
    body = {"id": str(uuid4()), "received_at": "2026-06-09T14:00:00Z", "symptom": "warm_pour"}
    return shop.post("/v1/calls", body | changes)


def test_a_unit_left_down_stands_first_and_gives_its_stop_the_class(fleet) -> None:
    service(fleet, "GU-3", "down")
    stops = fleet.get("/v1/pm-list")["stops"]

    assert [(stop["site"], stop["class"]) for stop in stops] == [("pier", "down"), ("lantern-quay", "pm")]
    assert (stops[0]["items"][0]["task"], stops[0]["items"][0]["class"]) == ("follow_up", "down")


def test_the_list_follows_what_is_at_stake(fleet) -> None:
    service(fleet, "GU-1", "recovering")
    service(fleet, "GU-2", "waiting_for_parts", parts_promised_on="2026-06-09")
    call = called(fleet, unit="GU-4", urgency="this_week")
    assert classes(fleet) == [("GU-4", "call"), ("GU-2", "parts"), ("GU-1", "follow_up")]
    assert [item["call"] for item in items(fleet)][:2] == [call["id"], None]

    service(fleet, "GU-3", "down")
    assert classes(fleet)[0] == ("GU-3", "down")


def test_an_open_call_stands_on_todays_list_until_it_is_answered(fleet) -> None:
    promised = {"from": "2026-06-20T16:00:00Z", "until": "2026-06-20T18:00:00Z"}
    call = called(fleet, unit="GU-5", promised=promised, words="all foam", by={"name": "Ida", "phone": "555"})
    (item,) = (item for item in items(fleet) if item["class"] == "call")
    assert (item["unit"], item["due_on"], item["status"], item["minutes"]) == ("GU-5", "2026-06-20", "scheduled", 60)
    assert item["why"] == (
        'Called on 2026-06-09 08:00 by Ida 555: warm pour. "all foam" Urgency: today. '
        "Promised for 2026-06-20 10:00 to 2026-06-20 12:00."
    )
    fleet.patch(f"/v1/calls/{call['id']}", {"technician": "rhea"}, 1)
    assert classes(fleet) == [("GU-5", "call")]
    fleet.visit("2026-06-09", unit="GU-5", calls=[call["id"]])
    assert classes(fleet) == []


def test_a_call_is_due_by_its_urgency_and_stands_on_every_days_list(fleet) -> None:
    """Its day, 7 and 30 days: common practice, no source."""
    due = {"now": "2026-06-09", "today": "2026-06-09", "this_week": "2026-06-16", "can_wait": "2026-07-09"}
    urgency = {called(fleet, site="pier", urgency=word)["id"]: word for word in due}
    overdue = {"06-09": 0, "06-10": 2, "06-16": 2, "06-17": 3, "07-09": 3, "07-10": 4}  # of the four by the day
    for day, late in overdue.items():
        found = [item for item in items(fleet, f"on=2026-{day}") if item["class"] == "call"]
        assert [urgency[item["call"]] for item in found] == list(due)
        assert [item["due_on"] for item in found] == list(due.values())
        assert [item["status"] == "overdue" for item in found] == [n < late for n in range(4)]


def test_a_promised_window_prevails_over_the_urgency_of_a_call(fleet) -> None:
    for until in ("2026-06-13T05:00:00Z", "2026-08-01T15:00:00Z"):  # the 12th, 23:00, and the 1st in Denver
        promised = {"from": "2026-06-12T18:00:00Z", "until": until}
        for urgency in ("now", "this_week", "can_wait"):
            called(fleet, site="pier", urgency=urgency, promised=promised)

    assert sorted(item["due_on"] for item in items(fleet) if item["call"]) == ["2026-06-12"] * 3 + ["2026-08-01"] * 3


def test_a_call_that_can_wait_is_due_with_the_follow_up_of_its_unit(fleet) -> None:
    service(fleet, "GU-4", "down", day="2026-06-09")
    called(fleet, unit="GU-4", urgency="can_wait")
    (item,) = (item for item in items(fleet, "horizon_days=1") if item["call"])

    assert (item["class"], item["includes"], item["due_on"]) == ("down", ["follow_up"], "2026-06-10")


def test_a_call_without_a_site_goes_by_the_clock_of_the_company(fleet) -> None:
    called(fleet, received_at="2026-06-09T15:00:00Z")
    made = called(fleet, received_at="2026-06-09T15:30:00Z")
    fleet.visit("", unit="GU-1", arrived_at="2026-06-09T17:00:00Z", calls=[made["id"]])
    evening = NOW.replace(day=10, hour=4, minute=30)  # 22:30 on the 9th in Denver

    def seen():
        (stop,) = (stop for stop in fleet.get("/v1/pm-list")["stops"] if stop["site"] is None)
        (item,) = stop["items"]
        (event,) = (each for each in fleet.walk("/v1/units/GU-1/history") if each["event"] == "call")
        at = event["recorded"]["received_at"]
        return stop["today"], stop["time_zone"], item["due_on"], item["status"], item["why"][:30], at

    fleet.now = evening
    assert seen() == (
        "2026-06-10", "UTC", "2026-06-09", "overdue", "Called on 2026-06-09 15:00 UTC", "2026-06-09T15:30:00+00:00"
    )  # fmt: skip
    fleet.patch("/v1/company", {"time_zone": "America/Denver"}, 0)
    denver = "2026-06-09T09:30:00-06:00"
    assert seen() == (
        "2026-06-09", "America/Denver", "2026-06-09", "due_today", "Called on 2026-06-09 09:00: wa", denver
    )  # fmt: skip
    assert fleet.get(f"/v1/calls/{made['id']}")["received_at"] == denver
    fleet.now = evening + timedelta(minutes=90)  # midnight
    assert seen()[3] == "overdue"


def test_calls_without_a_known_unit_or_site_have_their_stop(fleet) -> None:
    called(fleet, site="pier")
    called(fleet, by={"phone": "555 0199"}, received_at="2026-06-09T15:00:00Z")
    called(fleet, received_at="2026-06-09T16:00:00Z")
    pulled = fleet.get("/v1/pm-list")

    assert [
        (stop["site"], stop["phone"], len([i for i in stop["items"] if i["call"]])) for stop in pulled["stops"]
    ] == [
        ("pier", "...", 1),
        (None, "555 0199", 2),
        ("lantern-quay", "...", 0),
    ]
    assert {item["unit"] for item in items(fleet) if item["call"]} == {None}
    assert pulled["stops"][1]["items"][0]["why"].startswith("Called on 2026-06-09 15:00 UTC by 555 0199: warm pour.")
    for form in FORMS:
        assert fleet.ask("GET", f"/v1/pm-list?format={form}").status_code == 200


def test_a_follow_up_is_listed_with_the_call_of_its_unit(fleet) -> None:
    service(fleet, "GU-4", "down")
    called(fleet, unit="GU-4")
    (item,) = (item for item in items(fleet) if item["class"] != "pm")

    assert (item["task"], item["class"], item["includes"]) == ("call", "down", ["follow_up"])


def test_tasks_contained_in_others_are_listed_once_and_done_with_them(fleet) -> None:
    listed = {item["task"]: item["includes"] for item in items(fleet) if item["unit"] == "GU-1"}
    assert listed["condenser_deep_clean"] == ["condenser_clean"]
    assert sorted(listed["glycol_change"]) == ["bath_level_check", "glycol_strength_check"]
    assert listed.keys().isdisjoint({"condenser_clean", "bath_level_check", "glycol_strength_check"})

    fleet.visit("2026-06-09", unit="GU-1", tasks=[{"task": "glycol_change", "result": "done"}])
    assert fleet.due("GU-1")["bath_level_check"]["last_done_on"] == "2026-06-09"


def test_a_strong_root_cause_that_can_burn_stands_on_the_list_until_decided(shop) -> None:
    shop.unit()
    burn_switches(shop)
    (cause,) = shop.walk("/v1/root-causes")
    assert cause["tier"] == "strong"
    assert classes(shop) == [("GU-0007", "root_cause")]
    (item,) = [each for each in items(shop) if each["class"] == "root_cause"]
    assert cause["explanation"].startswith(item["why"])
    assert "Next check" not in item["why"]  # it stands in root_causes of the stop
    for form in FORMS:
        assert shop.ask("GET", f"/v1/pm-list?format={form}").status_code == 200

    shop.patch(f"/v1/root-causes/{cause['id']}", {"state": "dismissed", "note": "x"}, cause["version"])
    assert classes(shop) == []


def test_burnt_switches_of_a_strong_root_cause_are_listed_though_nothing_explains_them(shop) -> None:
    """Common practice, no source: a burnt switch is a danger of fire and shock, whatever burnt it."""
    shop.unit()
    burn_switches(shop, ("2026-01-12", "2026-02-02", "2026-02-23", *DAYS[2:]), blocked=False)
    (cause,) = shop.walk("/v1/root-causes")

    assert (cause["tier"], cause["causes"][0]["cause"]) == ("strong", "unexplained")
    assert classes(shop) == [("GU-0007", "root_cause")]


def test_a_follow_up_visit_needs_an_outcome(fleet) -> None:
    body = {"id": str(uuid4()), "unit": "GU-1", "kind": "follow_up", "arrived_at": "2026-06-09T18:00:00Z"}
    refused = fleet.ask("POST", "/v1/visits", body)
    assert (refused.status_code, refused.json["errors"][0]["field"]) == (422, "outcome")

    visit = service(fleet, "GU-1", "running")
    named = fleet.ask(
        "PATCH", f"/v1/visits/{visit['id']}", {"outcome": None, "kind": "follow_up", "why": "x"}, If_Match="*"
    )
    assert named.status_code == 422


def test_beyond_the_horizon_a_date_is_scheduled(fleet) -> None:
    fleet.patch("/v1/units/GU-1/tasks/pump_check", {"interval": "1 month"}, 0)
    fleet.visit("2026-06-09", unit="GU-1", tasks=[{"task": "pump_check", "result": "done"}])

    assert fleet.due("GU-1")["pump_check"]["status"] == "scheduled"
    soon = fleet.get("/v1/units/GU-1/due?horizon_days=60")["items"]
    assert {item["task"]: item["status"] for item in soon}["pump_check"] == "due_soon"


# The past, as it was known


def test_a_past_day_is_answered_from_what_was_known_then(fleet) -> None:
    call = called(fleet, unit="GU-4")
    voided = service(fleet, "GU-2", "down")
    before = fleet.get("/v1/pm-list")["stops"]
    fleet.now = NOW.replace(day=12)
    fleet.visit("2026-06-12", unit="GU-4", calls=[call["id"]])
    fleet.ask("POST", f"/v1/visits/{voided['id']}/void", {"reason": "x"}, If_Match='"1"')
    fleet.visit("2026-06-09", unit="GU-1", tasks=[{"task": "pump_check", "result": "done"}])  # recorded late
    fleet.patch("/v1/tasks/trunk_check", {"minutes": 77}, 0)
    assert classes(fleet) == []

    assert fleet.get("/v1/pm-list?on=2026-06-09")["stops"] == before
    assert classes(fleet, "on=2026-06-11") == [("GU-2", "down"), ("GU-4", "call")]
    assert items(fleet, "on=2026-06-09&technician=rhea") == [
        i for s in before if s["site"] == "lantern-quay" for i in s["items"]
    ]


@pytest.mark.parametrize(("office", "known"), [(None, 2), ("America/Denver", 3), ("Pacific/Auckland", 1)])
def test_the_calls_of_a_past_day_go_by_the_end_of_the_day_at_each_site(shop, office, known) -> None:
    for resource in ("customer", "technician", "site"):
        shop.post(f"/v1/{resource}s", shop.example(resource))
    shop.post("/v1/sites", shop.example("site", code="bay", time_zone="Pacific/Auckland"))
    for hour in (11, 23, 29):  # by 12:00 UTC the day is over in Auckland, at 30:00 in Denver
        shop.now = datetime(2026, 6, 8, tzinfo=UTC) + timedelta(hours=hour)
        for site in ("bay", None, "lantern-quay"):
            called(shop, site=site, received_at="2026-06-08T10:00:00Z")
    shop.now = NOW.replace(day=12)
    shop.patch("/v1/company", {"time_zone": office}, 0)

    stops = shop.get("/v1/pm-list?on=2026-06-08")["stops"]
    assert {stop["site"]: len(stop["items"]) for stop in stops} == {"bay": 1, None: known, "lantern-quay": 3}


# Forms

FORMS = {"json": "application/json", "csv": "text/csv", "ics": "text/calendar", "html": "text/html",
         "text": "text/plain"}  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_the_form_is_asked_for_by_accept_or_in_the_address(fleet, form) -> None:
    by_address = fleet.ask("GET", f"/v1/pm-list?format={form}", Accept="image/png")
    by_accept = fleet.ask("GET", "/v1/pm-list", Accept=FORMS[form])

    assert (by_address.status_code, by_accept.status_code) == (200, 200)
    assert by_address.mimetype == by_accept.mimetype == FORMS[form]
    assert by_address.data == by_accept.data
    assert "Accept" in by_accept.headers["Vary"]


@pytest.mark.parametrize(
    ("accept", "form"),
    [
        ("*/*", "json"),
        ("text/html,application/xml;q=0.9,*/*;q=0.8", "html"),
        ("text/csv;q=0.5, text/calendar", "ics"),
        ("text/plain", "text"),
    ],
)
def test_the_best_form_that_is_accepted_is_given(fleet, accept, form) -> None:
    assert fleet.ask("GET", "/v1/pm-list", Accept=accept).mimetype == FORMS[form]


def test_people_are_named_where_people_read(fleet) -> None:
    for form in ("html", "text"):
        shown = fleet.ask("GET", f"/v1/pm-list?format={form}").text
        assert "Rhea" in shown
        assert "rhea" not in shown
    assert fleet.get("/v1/pm-list")["stops"][0]["technician"] == "rhea"


def test_a_form_that_is_not_offered_is_refused(fleet) -> None:
    assert fleet.ask("GET", "/v1/pm-list", Accept="image/png").status_code == 406
    assert fleet.ask("GET", "/v1/pm-list?format=pdf").status_code == 422


def test_every_form_reports_the_same_items(fleet) -> None:
    wanted = sorted((item["unit"], item["due_on"]) for item in items(fleet))
    rows = csv.DictReader(io.StringIO(fleet.ask("GET", "/v1/pm-list?format=csv").data.decode("utf-8-sig")))
    calendar = Calendar.from_ical(fleet.ask("GET", "/v1/pm-list?format=ics").data)
    page = fleet.ask("GET", "/v1/pm-list?format=html").text

    assert sorted((row["unit"], row["due_on"]) for row in rows) == wanted
    assert len(calendar.walk("VEVENT")) == len(wanted)
    assert all(unit in page for unit, _ in wanted)


def test_a_calendar_program_subscribes_with_a_password_and_finds_the_same_uids(fleet) -> None:
    client = fleet.app.test_client()
    answers = [client.get("/v1/pm-list?format=ics", auth=("any", fleet.tokens["technician"])) for _ in range(2)]
    uids = [{str(event["UID"]) for event in Calendar.from_ical(answer.data).walk("VEVENT")} for answer in answers]

    assert uids[0] == uids[1]
    assert len(uids[0]) == len(items(fleet))


@pytest.mark.parametrize("form", FORMS)
def test_a_table_is_saved_as_a_file(fleet, form) -> None:
    shown = fleet.ask("GET", f"/v1/pm-list?format={form}").headers.get("Content-Disposition")

    assert shown == ('attachment; filename="pm-list.csv"' if form == "csv" else None)


def test_a_name_that_is_a_formula_stays_a_text_in_csv(shop) -> None:
    shop.unit(maker='=HYPERLINK("http://example.org")')
    rows = csv.DictReader(io.StringIO(shop.ask("GET", "/v1/pm-list?format=csv").data.decode("utf-8-sig")))

    assert {row["maker"][0] for row in rows} == {"'"}


def test_a_name_that_is_markup_stays_a_text_in_html(shop) -> None:
    shop.unit(maker="<script>alert(1)</script>")

    assert "<script>" not in shop.ask("GET", "/v1/pm-list?format=html").text


@pytest.mark.parametrize(
    "query", ["on=2026-02-30", "horizon_days=-1", "horizon_days=367", "limit=0", "cursor=x", "x=1"]
)
def test_a_list_is_asked_for_in_its_own_words(stocked, query) -> None:
    assert stocked.ask("GET", f"/v1/pm-list?{query}").status_code == 422


# Which day it is where. Offsets are those of the IANA data for 2026: Denver goes from -07:00 to -06:00 on 8 March at
# 02:00 and back on 1 November at 02:00; Auckland is at +12:00 in June.


def due_at(shop, instant, zone="America/Denver", day="2026-06-01"):
    """The status of a unit due on a day at a site in a zone, as the list shows it at an instant."""
    if shop.counted()["unit"] == 0:
        shop.now = datetime(2026, 12, 31, tzinfo=UTC)
        shop.unit("GU-1", **PLAIN, registered_on=day)
        shop.patch("/v1/sites/lantern-quay", {"closed_weekdays": [], "time_zone": zone}, 1)
    shop.now = datetime.fromisoformat(instant)
    found = {item["status"] for item in items(shop, "horizon_days=1")}
    return found.pop() if found else None


@pytest.mark.parametrize(
    ("zone", "day", "begins", "ends"),
    [
        ("America/Denver", "2026-06-09", "2026-06-09T06:00:00+00:00", "2026-06-10T06:00:00+00:00"),
        ("America/Denver", "2026-03-08", "2026-03-08T07:00:00+00:00", "2026-03-09T06:00:00+00:00"),  # 23 hours
        ("America/Denver", "2026-11-01", "2026-11-01T06:00:00+00:00", "2026-11-02T07:00:00+00:00"),  # 25 hours
        ("Pacific/Auckland", "2026-06-09", "2026-06-08T12:00:00+00:00", "2026-06-09T12:00:00+00:00"),
        ("Pacific/Kiritimati", "2026-06-09", "2026-06-08T10:00:00+00:00", "2026-06-09T10:00:00+00:00"),
        ("Etc/UTC", "2026-06-09", "2026-06-09T00:00:00+00:00", "2026-06-10T00:00:00+00:00"),
    ],
)
def test_today_is_the_sites_own(shop, zone, day, begins, ends) -> None:
    moment = timedelta(seconds=1)
    instants = [datetime.fromisoformat(begins) - moment, datetime.fromisoformat(begins)]
    instants += [datetime.fromisoformat(ends) - moment, datetime.fromisoformat(ends)]

    found = [due_at(shop, instant.isoformat(), zone, day) for instant in instants]
    assert found == ["due_soon", "due_today", "due_today", "overdue"]


def test_each_stop_has_its_own_today(shop) -> None:
    shop.unit("GU-1")
    shop.post("/v1/sites", shop.example("site", code="bay", time_zone="Pacific/Auckland"))
    shop.unit("GU-2", site="bay")
    stops = shop.get("/v1/pm-list")["stops"]

    assert {stop["site"]: stop["today"] for stop in stops} == {"lantern-quay": "2026-06-09", "bay": "2026-06-10"}


@pytest.mark.parametrize(
    ("arrived", "follow_up"),
    [
        ("2026-03-07T23:30:00-07:00", "2026-03-08"),
        ("2026-03-08T23:30:00-06:00", "2026-03-09"),
        ("2026-11-01T01:30:00-06:00", "2026-11-02"),
        ("2026-11-01T01:30:00-07:00", "2026-11-02"),
        ("2026-10-31T23:30:00-06:00", "2026-11-01"),
        ("2026-06-10T05:30:00Z", "2026-06-10"),  # 23:30 on the 9th in Denver
    ],
)
def test_the_follow_up_is_due_the_next_day_at_the_site_also_when_the_clocks_change(shop, arrived, follow_up) -> None:
    shop.now = datetime(2026, 12, 31, tzinfo=UTC)
    shop.unit()
    shop.patch("/v1/sites/lantern-quay", {"closed_weekdays": []}, 1)
    shop.visit("", arrived_at=arrived, outcome="down")

    assert shop.due()["follow_up"]["due_on"] == follow_up


def test_a_time_zone_put_right_puts_the_days_right(shop) -> None:
    shop.unit()
    shop.visit("", arrived_at="2026-06-09T13:00:00Z", outcome="down")  # the 10th in Auckland
    shop.patch("/v1/sites/lantern-quay", {"time_zone": "Pacific/Auckland"}, 1)

    assert shop.due()["follow_up"]["due_on"] == "2026-06-11"
