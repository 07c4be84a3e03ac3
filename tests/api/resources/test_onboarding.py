"""POST /v1/onboarding-plans: shown first, then accepted."""

ASKED = {"from": "2026-06-15", "weeks": 13, "hours_per_day": 16}
PATH = "/v1/onboarding-plans"


def test_a_plan_is_shown_and_then_accepted(shop):
    shop.unit(installed_on="2013-05-04")
    shown = shop.ask("POST", f"{PATH}?dry_run=true", ASKED)
    before = shop.due()
    accepted = shop.ask("POST", PATH, ASKED)

    assert (shown.status_code, accepted.status_code) == (200, 201)
    assert shown.json | {"accepted": True} == accepted.json
    assert shown.json["hours_per_day"] == 16
    assert {item["basis"] for item in before.values()} == {"first_visit"}
    days = {item["task"]: day["day"] for day in shown.json["days"] for stop in day["stops"] for item in stop["items"]}
    assert {task: item["due_on"] for task, item in shop.due().items()} == days
    assert "The onboarding plan from 2026-06-15 lays it on" in shop.due()["pump_check"]["why"]
    (entry,) = shop.get("/v1/audit?resource=onboarding_plan")["items"]
    assert (entry["action"], entry["key"]) == ("created", "2026-06-15")


def test_what_does_not_fit_is_refused(shop):
    shop.unit(installed_on="2013-05-04")
    refused = shop.ask("POST", PATH, ASKED | {"weeks": 1, "hours_per_day": 0.5})

    assert refused.status_code == 422
    assert refused.json["errors"][0]["field"] == "hours_per_day"
    assert "do not fit into 1 week; give more" in refused.json["errors"][0]["message"]


def test_a_plan_that_ends_after_the_last_year_is_refused(shop):
    refused = shop.ask("POST", PATH, ASKED | {"from": "2200-11-30"})

    assert (refused.status_code, refused.json["errors"][0]["field"]) == (422, "weeks")
    assert "would end on 2201-02-28" in refused.json["errors"][0]["message"]
    last = ASKED | {"from": "2200-12-25", "weeks": 1}  # up to 31 December
    assert shop.ask("POST", PATH, last).status_code == 201


def test_a_plan_begins_today_at_the_earliest(shop):
    shop.unit()
    for day, fields in (("2026-06-08", {"from", "hours_per_day"}), ("2026-06-09", {"hours_per_day"})):
        refused = shop.ask("POST", "/v1/onboarding-plans", {"from": day, "weeks": 1})
        assert {fault["field"] for fault in refused.json["errors"]} == fields


def test_overdue_work_of_our_own_record_is_named_before_the_plan_is_accepted(shop):
    """Three months after 3 January it is the 3rd of April; after care_from it is due from then on and is spread."""
    shop.unit(installed_on="2013-05-04")
    shop.visit("2026-01-03", technician="rhea", tasks=[{"task": "pump_check", "result": "done"}])
    (note,) = shop.ask("POST", f"{PATH}?dry_run=true", ASKED).json["notes"]

    assert note.startswith("1 task is overdue by our own record (0.3 h): done in our care before, so the dates stay")
    assert "on the list of 2026-06-15" in note
    shop.visit("2026-01-04", tasks=[{"task": "trunk_check", "result": "done"}])
    (note,) = shop.ask("POST", f"{PATH}?dry_run=true", ASKED).json["notes"]
    assert note.startswith("2 tasks are overdue")
    for version, (care_from, notes) in enumerate((("2026-01-03", 1), ("2026-06-09", 0)), start=1):
        shop.patch("/v1/customers/lantern", {"care_from": care_from}, version)
        assert len(shop.ask("POST", f"{PATH}?dry_run=true", ASKED).json["notes"]) == notes


def test_no_day_of_the_plan_lies_in_a_closure_or_after_the_end(shop):
    """The site is closed for three weeks; one unit is retired a day after them, without room for all of its work."""
    for tag in ("GU-0007", "GU-0008"):
        shop.unit(tag, installed_on="2013-05-04")
    shop.patch("/v1/units/GU-0008", {"retired_on": "2026-07-07"}, version=1)
    closed = {"from": "2026-06-15", "until": "2026-07-05", "reason": "works"}
    shop.post(f"/v1/sites/{shop.get('/v1/units/GU-0007')['site']}/closures", closed)

    days = shop.ask("POST", PATH, ASKED | {"hours_per_day": 5}).json["days"]

    laid = {(item["unit"], day["day"]) for day in days for stop in day["stops"] for item in stop["items"]}
    assert min(day for _, day in laid) >= "2026-07-06"
    assert {day for tag, day in laid if tag == "GU-0008"} == {"2026-07-06"}
    assert {tag for tag, _ in laid} == {"GU-0007", "GU-0008"}
    assert {item["due_on"] for item in shop.due().values()} == {day for tag, day in laid if tag == "GU-0007"}
