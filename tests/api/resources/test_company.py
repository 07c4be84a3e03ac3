"""/v1/company: what is printed on lists and documents, and the hours that a plan lays work into."""

from datetime import date

import pytest

FACTS = {
    "name": "Coldline Service", "address": "1 Depot Road\nDenver", "phone": "303 555 0100",
    "email": "office@example.org", "licence": "Licence MC-4711", "hours_per_day": 7.5,
    "latitude": 39.7, "longitude": -105.0, "day_starts_at": "07:30",
    "time_zone": "America/Denver", "road_factor": 1.4, "travel_speed_kmh": 45, "minutes_at_door": 5,
}  # fmt: skip
PRINTED = ("Coldline Service", "1 Depot Road Denver", "303 555 0100, office@example.org", "Licence MC-4711")
PLAN = {"from": "2026-06-15", "weeks": 13}
PLANS = "/v1/onboarding-plans?dry_run=true"


def test_nothing_is_known_of_the_company_until_an_owner_records_it(shop):
    empty = shop.get("/v1/company")
    made = shop.patch("/v1/company", FACTS, 0)
    changed = shop.patch("/v1/company", {"email": None}, 1)

    assert empty == dict.fromkeys(FACTS) | {"capacity": {"technicians": 0, "hours_per_day": 0.0}, "version": 0}
    assert made | FACTS == made
    assert (made["version"], changed["version"], changed["email"], changed["name"]) == (1, 2, None, FACTS["name"])
    assert [entry["action"] for entry in shop.get("/v1/audit?resource=company&key=company")["items"]] == ["changed"] * 2


def test_a_stale_change_is_refused(shop):
    assert shop.ask("PATCH", "/v1/company", FACTS, If_Match='"1"').status_code == 412
    shop.patch("/v1/company", FACTS, 0)
    assert shop.ask("PATCH", "/v1/company", FACTS, If_Match='"0"').status_code == 412
    assert shop.ask("PATCH", "/v1/company", FACTS).status_code == 428


@pytest.mark.parametrize(("role", "reads", "writes"), [("technician", 200, 403), ("dispatcher", 200, 403)])
def test_only_the_owner_changes_it(shop, role, reads, writes):
    assert shop.ask("GET", "/v1/company", role=role).status_code == reads
    assert shop.ask("PATCH", "/v1/company", FACTS, role=role, If_Match='"0"').status_code == writes


def test_a_technician_has_hours_of_their_own_or_those_of_the_company(shop):
    shop.unit()
    for code, more in (("tobin", {"hours_per_day": 4}), ("gone", {"left_on": "2026-06-09"}), ("last", {})):
        shop.post("/v1/technicians", {"code": code, "name": code, **more})
    unknown = shop.get("/v1/company")["capacity"]
    known = shop.patch("/v1/company", {"hours_per_day": 7.5}, 0)["capacity"]

    assert unknown == {"technicians": 1, "hours_per_day": 4.0}
    assert known == {"technicians": 3, "hours_per_day": 19.0}  # rhea 7.5, tobin 4, last 7.5


def test_a_plan_without_hours_takes_those_of_its_first_day(shop):
    shop.unit(installed_on="2013-05-04")
    shop.post("/v1/technicians", {"code": "tobin", "name": "Tobin", "left_on": "2026-06-15"})
    refused = shop.ask("POST", PLANS, PLAN)
    shop.patch("/v1/company", {"hours_per_day": 7.5}, 0)
    usual = shop.ask("POST", PLANS, PLAN).json

    assert refused.status_code == 422
    assert [fault["field"] for fault in refused.json["errors"]] == ["hours_per_day"]
    assert usual["hours_per_day"] == 7.5
    assert usual == shop.ask("POST", PLANS, PLAN | {"hours_per_day": 7.5}).json
    assert shop.ask("POST", PLANS, PLAN | {"from": "2026-06-14"}).json["hours_per_day"] == 15


def test_it_is_printed_on_the_list_and_in_a_summary(shop):
    shop.unit()
    shop.patch("/v1/company", FACTS, 0)
    page = shop.ask("GET", "/v1/pm-list?format=html").text
    summary = shop.get("/v1/customers/lantern/service-summaries/2026")

    assert ", ".join(PRINTED) in page
    assert summary["company"] == {name: FACTS[name] for name in ("name", "address", "phone", "email", "licence")}


def test_a_change_of_the_company_changes_no_figure_of_a_year(shop):
    shop.unit()
    before = shop.get("/v1/customers/lantern/service-summaries/2026")
    shop.patch("/v1/company", FACTS, 0)
    after = shop.get("/v1/customers/lantern/service-summaries/2026")

    assert before | {"company": after["company"]} == after
    assert date.fromisoformat(after["first_day"]) == date(2026, 1, 1)
