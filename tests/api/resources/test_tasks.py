"""The catalogue of tasks over HTTP, for all units and for one."""

import pytest
from dateutil.relativedelta import relativedelta as after  # calendar arithmetic by a library of its own

CODES = [
    "condenser_clean", "condenser_deep_clean", "glycol_strength_check", "glycol_change", "bath_level_check",
    "pump_check", "strainer_clean", "electrical_check", "trunk_check", "controller_check", "follow_up",
]  # fmt: skip
INSTALLED = "2023-05-02"
ALL, ONE = "/v1/tasks/pump_check", "/v1/units/GU-0007/tasks/pump_check"


def moved(day: str, **span) -> str:
    from datetime import date

    return (date.fromisoformat(day) + after(**span)).isoformat()


def test_the_catalogue_holds_the_tasks_of_the_contract(stocked) -> None:
    tasks = stocked.get("/v1/tasks")["items"]

    assert {task["code"] for task in tasks} >= set(CODES)
    assert all(task["source"] and task["cautions"] and task["bring"] and task["minutes"] for task in tasks)


# Each task names the source of its interval; these two are printed in Foodservice Equipment Reports (condenser:
# every 3 months) and in the condenser check list after ASHRAE/ACCA Standard 180 (control system: every 6 months).
@pytest.mark.parametrize(("code", "interval"), [("condenser_clean", "3 months"), ("controller_check", "6 months")])
def test_a_task_starts_with_the_published_interval(stocked, code, interval) -> None:
    assert stocked.get(f"/v1/tasks/{code}")["interval"] == interval


def test_an_edited_interval_moves_the_due_dates_of_the_fleet(shop) -> None:
    shop.unit("GU-1", care_from=INSTALLED)
    shop.unit("GU-2", installed_on="2024-01-31", care_from="2024-01-31")
    shown = shop.patch(ALL, {"interval": "4 months", "note": "ours run long"}, 0)

    assert (shown["interval"], shown["edited"], shown["note"]) == ("4 months", ["interval", "note"], "ours run long")
    assert shop.due("GU-1")["pump_check"]["due_on"] == moved(INSTALLED, months=4)
    assert shop.due("GU-2")["pump_check"]["due_on"] == moved("2024-01-31", months=4)


def test_a_setting_of_one_unit_is_its_own(shop) -> None:
    shop.unit("GU-1", care_from=INSTALLED)
    shop.unit(care_from=INSTALLED)
    shown = shop.patch(ONE, {"interval": "45 days"}, 0)

    assert (shown["unit"], shown["interval"]) == ("GU-0007", "45 days")
    assert shop.due()["pump_check"]["due_on"] == moved(INSTALLED, days=45)
    assert shop.due("GU-1")["pump_check"]["due_on"] == moved(INSTALLED, months=3)
    assert shop.get("/v1/tasks/pump_check")["edited"] == []


def test_a_setting_of_one_unit_outranks_the_catalogue(shop) -> None:
    shop.unit(care_from=INSTALLED)
    shop.patch(ONE, {"interval": "45 days"}, 0)
    shop.patch(ALL, {"interval": "4 months", "minutes": 25}, 0)
    shown = shop.get(ONE)

    assert (shown["interval"], shown["minutes"]) == ("45 days", 25)
    assert shop.due()["pump_check"]["due_on"] == moved(INSTALLED, days=45)


@pytest.mark.parametrize("path", [ALL, ONE])
def test_a_task_that_does_not_apply_is_not_due(shop, path) -> None:
    shop.unit()
    shop.patch(path, {"applies": False}, 0)
    assert "pump_check" not in shop.due()
    shop.patch(path, {"applies": True}, 1)

    assert "pump_check" in shop.due()


@pytest.mark.parametrize(
    ("field", "value"),
    [("interval", "2 months"), ("minutes", 5), ("bring", ["a hat"]), ("applies", False), ("note", "x")],
)
def test_null_goes_back_to_the_default(shop, field, value) -> None:
    before = shop.get(ALL)
    assert shop.patch(ALL, {field: value}, 0)[field] == value

    assert shop.patch(ALL, {field: None}, 1) == before | {"version": 2}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"interval": "5 years"}, "interval"),
        ({"interval": 90}, "interval"),
        ({"interval": "90"}, "interval"),
        ({"interval": "0 days"}, "interval"),
        ({"shortest": "12 months"}, "interval"),
        ({"minutes": 0}, "minutes"),
        ({"minutes": "30"}, "minutes"),
        ({"minutes": 30.5}, "minutes"),
        ({"applies": "no"}, "applies"),
        ({"bring": "a hat"}, "bring"),
        ({"cautions": []}, "cautions"),
        ({"code": "polish"}, "code"),
    ],
    ids=str,
)
@pytest.mark.parametrize("path", [ALL, ONE])
def test_a_setting_that_cannot_be_is_refused_and_nothing_is_stored(stocked, path, change, field) -> None:
    before = stocked.counted()
    refused = stocked.ask("PATCH", path, change, If_Match='"0"')

    assert refused.status_code == 422, refused.text
    assert [fault["field"] for fault in refused.json["errors"]] == [field]
    assert stocked.counted() == before


def test_a_follow_up_has_no_interval_to_set(stocked) -> None:
    assert stocked.ask("PATCH", "/v1/tasks/follow_up", {"interval": "1 day"}, If_Match='"0"').status_code == 422


def test_a_catalogue_that_would_not_fit_a_unit_of_its_own_setting_is_refused(shop) -> None:
    shop.unit()
    shop.patch(ONE, {"interval": "45 days"}, 0)
    refused = shop.ask("PATCH", ALL, {"shortest": "2 months"}, If_Match='"0"')

    assert (refused.status_code, "GU-0007" in refused.json["detail"]) == (409, True)


@pytest.mark.parametrize("path", [ALL, ONE])
def test_a_setting_needs_the_version_last_read(shop, path) -> None:
    shop.unit()
    read = shop.ask("GET", path)

    assert read.headers["ETag"] == '"0"'
    assert shop.ask("GET", path, If_None_Match='"0"').status_code == 304
    assert shop.ask("PATCH", path, {"minutes": 5}).status_code == 428
    assert shop.ask("PATCH", path, {"minutes": 5}, If_Match='"0"').headers["ETag"] == '"1"'
    assert shop.ask("PATCH", path, {"minutes": 6}, If_Match='"0"').status_code == 412


def test_a_unit_reports_every_task_as_it_applies_there(shop) -> None:
    shop.unit()
    shop.patch(ONE, {"minutes": 5}, 0)
    shown = {task["code"]: task for task in shop.get("/v1/units/GU-0007/tasks")["items"]}

    assert set(shown) >= set(CODES)
    assert (shown["pump_check"]["minutes"], shown["pump_check"]["edited"]) == (5, ["minutes"])
    assert shown["condenser_clean"]["edited"] == []


def test_settings_are_in_the_audit_trail(shop) -> None:
    shop.unit()
    shop.patch(ALL, {"interval": "4 months"}, 0)
    shop.patch(ONE, {"minutes": 5}, 0)
    of_unit, of_all = (shop.get(f"/v1/audit?resource={resource}")["items"][0] for resource in ("unit_task", "task"))

    assert (of_all["before"], of_all["after"]) == ({}, {"interval": "4 months"})
    assert (of_unit["key"], of_unit["after"]) == ("GU-0007/pump_check", {"minutes": 5})


@pytest.mark.parametrize("path", ["/v1/tasks/polish", "/v1/units/GU-0007/tasks/polish"])
def test_a_task_that_is_not_there_is_not_found(stocked, path) -> None:

    assert stocked.ask("GET", path).status_code == 404
    assert stocked.ask("PATCH", path, {"minutes": 5}, If_Match='"0"').status_code == 404
