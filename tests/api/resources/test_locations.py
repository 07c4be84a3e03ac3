"""Dated locations: a move changes nothing before it, for one customer or the other, by either clock."""

from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from service.schemas.locations import LocationSchema
from service.usecases.record import locations
from tests.api.resources.bodies_of_schemas import body_of, paths_in, paths_of
from tests.api.resources.following import Followed, audited, export, imported, record_of, stocked, take_in

ZONES = {"quay": "America/Denver", "pier": "Pacific/Auckland", "dock": "America/New_York", "wharf": "Asia/Kathmandu"}
CUSTOMERS = {"quay": "lantern", "pier": "heron", "dock": "lantern", "wharf": "otter"}
FIRST = "quay"
UNSHRUNK = (Phase.explicit, Phase.reuse, Phase.generate)  # each step is a request


def stock(shop) -> None:
    """A unit at the first of four sites of three customers in four time zones."""
    for code in sorted(set(CUSTOMERS.values())):
        shop.post("/v1/customers", {"code": code, "name": code.title()})
    for code, zone in ZONES.items():
        shop.post("/v1/sites", {"code": code, "name": code, "customer": CUSTOMERS[code], "time_zone": zone})
    shop.post("/v1/units", {"tag": "GU-1", "site": FIRST, "installed_on": "2024-01-01", "registered_on": "2024-01-01"})


@pytest.fixture
def two(shop) -> Any:
    """A unit that can be moved."""
    stock(shop)
    return shop


def move(shop, site: str, day: str, reason: str = "move", unit: str = "GU-1") -> list[dict[str, Any]]:
    return shop.post(f"/v1/units/{unit}/locations", {"site": site, "from": day, "reason": reason})["items"]


def visit(shop, at: str, **more: Any) -> dict[str, Any]:
    number = len(shop.walk("/v1/visits")) + 1
    body = {"id": str(UUID(int=number)), "unit": "GU-1", "kind": "maintenance", "arrived_at": at}
    return shop.post("/v1/visits", body | more)


def of_customer(shop, customer: str) -> list[str]:
    return [found["arrived_at"] for found in shop.walk(f"/v1/visits?customer={customer}")]


def summary(shop, customer: str, year: int) -> Any:
    return shop.get(f"/v1/customers/{customer}/service-summaries/{year}")


def test_a_visit_keeps_site_customer_and_clock(two) -> None:
    visit(two, "2026-03-01T05:00:00Z")  # 28 February in Denver
    before = summary(two, "lantern", 2026)
    move(two, "pier", "2026-05-01", "loaner")
    after = visit(two, "2026-05-31T20:00:00Z")["visit"]  # 1 June in Auckland

    assert (after["site"], after["customer"], after["arrived_at"]) == ("pier", "heron", "2026-06-01T08:00:00+12:00")
    assert of_customer(two, "lantern") == ["2026-02-28T22:00:00-07:00"]
    assert of_customer(two, "heron") == ["2026-06-01T08:00:00+12:00"]
    assert [v["arrived_at"] for v in two.walk("/v1/visits?site=quay")] == ["2026-02-28T22:00:00-07:00"]
    assert two.get("/v1/units/GU-1")["site"] == "pier"
    theirs, ours = summary(two, "lantern", 2026)["units"], summary(two, "heron", 2026)["units"]
    assert [(u["site"], u["moved_in_on"], u["moved_out_on"]) for u in theirs] == [("quay", None, "2026-04-30")]
    assert [(u["site"], u["moved_in_on"], u["moved_out_on"]) for u in ours] == [("pier", "2026-05-01", None)]
    assert theirs[0]["visits"] == before["units"][0]["visits"]
    assert [line["on"] for line in ours[0]["visits"]] == ["2026-06-01"]


def test_the_history_shows_moves_each_event_by_its_own_clock(two) -> None:
    visit(two, "2026-03-01T05:00:00Z")
    move(two, "pier", "2026-05-01", "swap")
    events = {event["event"]: event for event in two.walk("/v1/units/GU-1/history")}

    assert events["unit_moved"]["at"] == "2026-05-01T00:00:00+12:00"
    assert events["unit_moved"]["recorded"] == {"from_site": "quay", "to_site": "pier", "reason": "swap"}
    assert events["unit_installed"]["recorded"]["site"] == "quay"
    assert events["visit"]["at"] == "2026-02-28T22:00:00-07:00"


def test_a_year_that_is_over_is_the_same_after_a_move(two) -> None:
    two.now = two.now.replace(year=2025)
    visit(two, "2025-03-01T05:00:00Z", tasks=[{"task": "pump_check", "result": "done"}], advice="Look again.")
    two.now = two.now.replace(year=2026)
    as_of = "2026-06-09T20:00:00Z"
    paths = ["/v1/customers/lantern/service-summaries/2025", "/v1/fleet-years/2025"]
    before = [two.get(f"{path}?as_of={as_of}") for path in paths]
    move(two, "pier", "2026-05-01")

    assert [two.get(f"{path}?as_of={as_of}") for path in paths] == before
    assert summary(two, "heron", 2025)["units"] == []
    assert "2025-03" not in str(summary(two, "heron", 2026))
    assert "Look again" not in str(summary(two, "heron", 2026))


def test_a_year_begins_with_the_unit_that_stood_there_first(two) -> None:
    """GU-1 went and came back, and is named before GU-2, which was there all year."""
    two.post("/v1/units", {"tag": "GU-2", "site": FIRST, "registered_on": "2024-01-01"})
    elsewhere = next(site for site in ZONES if CUSTOMERS[site] != CUSTOMERS[FIRST])
    for site, day in ((elsewhere, "2026-02-01"), (FIRST, "2026-04-01")):
        move(two, site, day)

    year = summary(two, CUSTOMERS[FIRST], 2026)

    assert [(unit["tag"], unit["moved_in_on"]) for unit in year["units"]] == [
        ("GU-1", None), ("GU-1", "2026-04-01"), ("GU-2", None),
    ]  # fmt: skip
    assert (year["first_day"], year["last_day"]) == ("2026-01-01", "2026-06-09")
    assert summary(two, CUSTOMERS[elsewhere], 2026)["first_day"] == "2026-02-01"


def test_a_location_to_come_takes_effect_on_its_day(two) -> None:
    move(two, "pier", "2026-06-12")
    begins = datetime(2026, 6, 11, 12, tzinfo=ZoneInfo("UTC"))  # midnight in Auckland

    assert two.get("/v1/units/GU-1")["site"] == "quay"
    assert locations.begin(two.database, begins - timedelta(seconds=1)) == 0
    two.now = begins
    assert visit(two, "2026-06-11T12:00:00Z")["visit"]["site"] == "pier"  # though no tick has come by
    assert (locations.begin(two.database, begins), locations.begin(two.database, begins)) == (1, 0)
    assert two.get("/v1/units/GU-1")["site"] == "pier"
    assert {item["customer"] for stop in two.get("/v1/pm-list?horizon_days=90")["stops"] for item in [stop]} == {
        "heron"
    }


def test_the_list_of_a_day_to_come_has_the_unit_where_it_will_stand(two) -> None:
    """On 9 June it is known that the unit stands at the pier, which somebody else serves, from the 12th to the 19th."""
    for code, site in (("rhea", "quay"), ("tobin", "pier")):
        two.post("/v1/technicians", {"code": code, "name": code.title()})
        two.patch(f"/v1/sites/{site}", {"technician": code}, 1)
    visit(two, "2026-06-09T15:00:00Z", tasks=[{"task": "pump_check", "result": "done"}])
    move(two, "pier", "2026-06-12")
    move(two, "quay", "2026-06-20")
    plan = {"site": "pier", "unit": "GU-1", "task": "pump_check", "technician": "rhea", "day": "2026-06-13"}
    two.post("/v1/assignments", plan)
    where = {day: two.get(f"/v1/pm-list?on=2026-06-{day}")["stops"] for day in (11, 12, 13, 19, 20)}
    pump = next(each for stop in where[13] for each in stop["items"] if each["task"] == "pump_check")

    assert {day: {(stop["site"], stop["time_zone"]) for stop in stops} for day, stops in where.items()} == {
        day: {("quay" if day in (11, 20) else "pier", ZONES["quay" if day in (11, 20) else "pier"])} for day in where
    }
    assert {day: stops[0]["technician"] for day, stops in where.items() if day != 13} == {
        11: "rhea", 12: "tobin", 19: "tobin", 20: "rhea",
    }  # fmt: skip
    assert pump["due_on"] == "2026-09-09"


def test_the_due_items_go_along(two) -> None:
    move(two, "dock", "2026-06-01")
    (stop,) = two.get("/v1/pm-list?horizon_days=90")["stops"]

    assert stop["site"] == "dock"


def test_a_change_of_the_site_is_a_location_from_today(two) -> None:
    two.patch("/v1/units/GU-1", {"site": "dock"}, 1)
    found = two.get("/v1/units/GU-1/locations")["items"]

    assert [(each["site"], each["from"], each["until"]) for each in found] == [
        ("quay", None, "2026-06-09"),
        ("dock", "2026-06-09", None),
    ]
    assert found[1]["recorded_by"] == "the owner"


def test_a_location_from_the_same_day_takes_the_place_of_the_former(two) -> None:
    move(two, "dock", "2026-06-01")
    assert [each["site"] for each in move(two, "pier", "2026-06-01")] == ["quay", "pier"]
    assert [each["site"] for each in move(two, "quay", "2026-06-01")] == ["quay"]
    assert two.get("/v1/units/GU-1")["site"] == "quay"


@pytest.mark.parametrize(
    ("body", "field", "message"),
    [
        ({"site": "nowhere", "from": "2026-06-01"}, "site", "there is no site"),
        ({"site": "quay", "from": "2026-06-01"}, "site", "is where the unit stands"),
        ({"site": "pier", "from": "2023-12-31"}, "from", "installation on 2024-01-01"),
        ({"site": "pier"}, "from", "Missing"),
    ],
)
def test_a_location_that_cannot_be_true_is_refused(two, body: dict[str, Any], field: str, message: str) -> None:
    answer = two.ask("POST", "/v1/units/GU-1/locations", body)

    assert answer.status_code == 422
    (fault,) = answer.json["errors"]
    assert fault["field"] == field
    assert message in fault["message"]


def test_no_field_of_a_location_is_lost(shop) -> None:
    followed, schema = Followed(), LocationSchema()
    given = body_of(schema, {"site": "other-quay", "from": "2026-06-01"}, 0)
    assert set(paths_of(schema)) == paths_in(given)

    stocked(shop)
    before = export(shop)
    found = shop.post("/v1/units/GU-0007/locations", given)["items"][-1]
    followed.look("answer", schema, given, found)
    followed.look("audit", schema, given, audited(shop, "location", "GU-0007/2026-06-01")["after"])
    after = export(shop)
    line = record_of(after, record="location", site="other-quay")
    followed.look("export", schema, given, line)
    imported(shop, before)
    take_in(shop, after)
    followed.look("import", schema, given, shop.get("/v1/units/GU-0007/locations")["items"][-1])
    assert take_in(shop, after)["added"] == {}

    assert followed.lost == {}


def test_importing_again_changes_nothing_where_a_location_took_the_place_of_another(two) -> None:
    for customer in ("lantern", "heron"):
        two.patch(f"/v1/customers/{customer}", {"care_from": "2024-02-01"}, 1)
    move(two, "pier", "2026-05-01")
    move(two, "dock", "2026-05-01")
    exported = export(two)

    assert take_in(two, exported)["added"] == {}
    assert export(two) == exported


def test_a_root_cause_shows_a_customer_no_evidence_from_elsewhere(two) -> None:
    part = {"component": "switch-1", "kind": "power_switch", "reason": "failed", "condition": "burnt"}
    for day in ("2026-01-12", "2026-02-16", "2026-03-23", "2026-04-27", "2026-06-01"):
        two.now = datetime.fromisoformat(f"{day}T20:00:00+00:00")
        if day == "2026-06-01":
            move(two, "pier", "2026-05-15")
        visit(two, f"{day}T18:00:00Z", kind="service_call", replacements=[part | {"evidence": "seen"}])
    (theirs,) = summary(two, "lantern", 2026)["units"]
    (ours,) = summary(two, "heron", 2026)["units"]

    assert [line["on"] for line in theirs["replacements"]] == ["2026-01-12", "2026-02-16", "2026-03-23", "2026-04-27"]
    assert [line["on"] for line in ours["replacements"]] == ["2026-06-02"]
    assert not [line["on"] for line in theirs["replacements"] if line["on"] in str(ours)]
    assert "2026-06-0" not in str(theirs["root_causes"][0]["failed"])


# --- an independent model: a unit's locations and visits as plain lists, from the guide -------------------------------

STEP = st.one_of(
    st.tuples(st.just("move"), st.sampled_from(sorted(ZONES)), st.integers(-500, 20)),
    st.tuples(st.just("visit"), st.integers(-500 * 24, 0)),
    st.tuples(st.just("void"), st.integers(0, 9)),
    st.tuples(st.just("correct"), st.integers(0, 9), st.integers(-500 * 24, 0)),
    st.tuples(st.just("wait"), st.integers(1, 200)),
)


class Model:
    """Where a unit stood and when it was visited: what the guide says of moves and no more."""

    def __init__(self) -> None:
        self.moved: dict[date, str] = {}
        self.visits: dict[str, tuple[datetime, bool]] = {}

    def site_at(self, at: datetime) -> str:
        found = FIRST
        for day, site in sorted(self.moved.items()):
            if datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(ZONES[site])) <= at:
                found = site
        return found

    def rows(self, customer: str, year: int) -> list[tuple[str, str, str]]:
        """(id, site, day) of a customer's visits of a year that count."""
        found = []
        for key, (at, void) in self.visits.items():
            site = self.site_at(at)
            day = at.astimezone(ZoneInfo(ZONES[site])).date()
            if not void and CUSTOMERS[site] == customer and day.year == year:
                found.append((key, site, day.isoformat()))
        return sorted(found)


def play(shop, model: Model, step: tuple[Any, ...]) -> None:
    kind, *rest = step
    shop.now += timedelta(seconds=1)  # an import takes two changes of one instant with one text for one
    if kind == "wait":
        shop.now += timedelta(hours=rest[0])
        locations.begin(shop.database, shop.now)
    elif kind == "move":
        day = (shop.now + timedelta(days=rest[1])).date()
        body = {"site": rest[0], "from": day.isoformat()}
        if shop.ask("POST", "/v1/units/GU-1/locations", body).status_code == 201:
            model.moved[day] = rest[0]
    elif kind == "visit":
        at = shop.now + timedelta(hours=rest[0])
        found = visit(shop, at.strftime("%Y-%m-%dT%H:%M:%SZ"))["visit"]
        model.visits[found["id"]] = (at, False)
    elif model.visits:
        key = sorted(model.visits)[rest[0] % len(model.visits)]
        version = shop.get(f"/v1/visits/{key}")["version"]
        if model.visits[key][1]:
            return
        if kind == "void":
            assert (
                shop.ask("POST", f"/v1/visits/{key}/void", {"reason": "x"}, If_Match=f'"{version}"').status_code == 200
            )
            model.visits[key] = (model.visits[key][0], True)
        else:
            at = shop.now + timedelta(hours=rest[1])
            shop.patch(f"/v1/visits/{key}", {"why": "x", "arrived_at": at.strftime("%Y-%m-%dT%H:%M:%SZ")}, version)
            model.visits[key] = (at, False)


def agrees(shop, model: Model) -> None:
    """Lists, history and summaries say what the model says."""
    history = {
        event["visit"]: (event["recorded"]["site"], event["at"][:10])
        for event in shop.walk("/v1/units/GU-1/history")
        if event["event"] == "visit" and not event["void"]
    }
    assert shop.get("/v1/units/GU-1")["site"] == model.site_at(shop.now)
    for customer in set(CUSTOMERS.values()):
        listed = shop.walk(f"/v1/visits?customer={customer}")
        for year in (2024, 2025, 2026):
            expected = model.rows(customer, year)
            rows = [
                (each["id"], each["site"], each["arrived_at"][:10])
                for each in listed
                if each["void"] is None and each["arrived_at"][:4] == str(year)
            ]
            assert sorted(rows) == expected
            assert [(key, *history[key]) for key, _, _ in expected] == expected
            units = summary(shop, customer, year)["units"]
            assert sorted((v["id"], v["on"]) for u in units for v in u["visits"]) == [(k, on) for k, _, on in expected]
            assert sum(k["ours"] for u in units for k in u["visits_by_kind"]) == len(expected)
    for year in (2025, 2026):
        fleet = {line["code"]: line["visits"] for line in shop.get(f"/v1/fleet-years/{year}")["customers"]}
        assert {code: count for code, count in fleet.items() if count} == {
            code: len(model.rows(code, year)) for code in set(CUSTOMERS.values()) if model.rows(code, year)
        }


def answers(shop) -> list[Any]:
    paths = ["/v1/visits", "/v1/units/GU-1/history", "/v1/units/GU-1/due", "/v1/units/GU-1/locations"]
    years = [f"/v1/customers/{c}/service-summaries/{y}" for c in sorted(set(CUSTOMERS.values())) for y in (2025, 2026)]
    return [unversioned(shop.get(path)) for path in (*paths, *years, "/v1/fleet-years/2026")]


def unversioned(value: Any) -> Any:
    """JSON without what says when a record was stored in its own database, and how often it was changed there."""
    if isinstance(value, dict):
        return {name: unversioned(each) for name, each in value.items() if name not in ("version", "posted_at")}
    return [unversioned(each) for each in value] if isinstance(value, list) else value


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], phases=UNSHRUNK)
@given(steps=st.lists(STEP, min_size=3, max_size=12))
def test_lists_history_and_summaries_agree_with_a_model(two, steps: list[tuple[Any, ...]]) -> None:
    two.empty()
    stock(two)
    model = Model()
    for step in steps:
        play(two, model, step)
    agrees(two, model)
    now, exported, before = two.now, export(two), answers(two)
    two.empty()
    two.now = now
    take_in(two, exported)
    agrees(two, model)
    assert answers(two) == before
    assert export(two) == exported


def test_a_unit_of_today_that_was_moved_west_is_exported_and_imported_and_changed(shop) -> None:
    """Where it was registered it is tomorrow already: 09:00 on the 10th in Auckland is 15:00 on the 9th in Denver."""
    shop.unit()
    shop.post("/v1/sites", shop.example("site", code="lock", time_zone="Pacific/Auckland"))
    shop.post("/v1/units", {"tag": "GU-9", "site": "lock"})
    unit = shop.get("/v1/units/GU-9")
    shop.patch("/v1/units/GU-9", {"site": "lantern-quay"}, unit["version"])
    shop.patch("/v1/units/GU-9", {"maker": "Kelm"}, shop.get("/v1/units/GU-9")["version"])
    before, exported = shop.get("/v1/units/GU-9"), export(shop)
    imported(shop, exported)

    assert before["registered_on"] == "2026-06-10"
    assert export(shop) == exported
    after = shop.ask("POST", "/v1/units", {"tag": "GU-10", "site": "lantern-quay", "installed_on": "2026-06-10"})
    assert after.json["errors"][0]["message"] == "lies in the future; it is 2026-06-09 at the site"


def test_a_promise_of_the_day_of_the_visit_is_kept_where_the_unit_was_in_a_zone_with_the_next_day(two) -> None:
    """Promised on 8 June in Denver for that day; the move recorded later puts the visit on 9 June in Auckland."""
    promise = {"outcome": "waiting_for_parts", "parts_promised_on": "2026-06-08"}
    made = visit(two, "2026-06-08T18:00:00Z", **promise)["visit"]
    move(two, "pier", "2026-06-01")
    now, lines = two.now, export(two)
    two.empty()
    two.now = now
    take_in(two, lines)

    assert two.get(f"/v1/visits/{made['id']}")["parts_promised_on"] == "2026-06-08"
    assert export(two) == lines
