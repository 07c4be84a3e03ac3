"""The rule of a task over HTTP: for all units, for one, with what its readings and the fleet show."""

from datetime import timedelta

import pytest

from service.usecases.maintenance import learning
from tests.api.resources.following import export, imported, record_of

CLEAN, LEVEL = "/v1/tasks/condenser_clean", "/v1/tasks/bath_level_check"


def level(shop, day, value, *, done=False):
    tasks = [{"task": "bath_level_check", "result": "done"}] if done else []
    shop.visit(day, tasks=tasks, readings=[{"quantity": "bath_level", "value": value, "when": "as_found"}])


def falling(shop, tag="GU-0007"):
    shop.unit(tag)
    for day, value in (("2026-02-02", "100 %"), ("2026-03-02", "97 %"), ("2026-04-02", "94 %"), ("2026-05-02", "91 %")):
        level(shop, day, value, done=day == "2026-05-02")


def forecast(shop):
    return next(each for each in shop.get("/v1/units/GU-0007/condition")["forecasts"] if each["of"] == "bath_level")


def test_the_default_is_what_was_found_and_learned_where_it_was_simulated(shop) -> None:
    """`python -m tests.simulation intervals`: by `learned` fewer needless cleanings and no more failures."""
    shown = {task["code"]: task for task in shop.get("/v1/tasks")["items"]}
    assert {code for code, task in shown.items() if task["rule"] != "stepped"} == {"condenser_clean"}
    assert shown["condenser_clean"]["rule"] == "learned"
    assert shown["bath_level_check"]["figure"] == "bath_level"
    assert shown["pump_check"]["figure"] is None


def test_by_condition_a_task_is_due_on_the_day_of_the_forecast(shop) -> None:
    falling(shop)
    before = shop.due()["bath_level_check"]
    shop.patch(LEVEL, {"rule": "condition"}, 0)
    item, found = shop.due()["bath_level_check"], forecast(shop)

    assert (before["due_on"], before["basis"]) == ("2026-08-02", "interval")
    assert (item["due_on"], item["basis"]) == (found["low"], "condition")
    assert found["sentence"] in item["why"]


def test_another_reading_moves_it_at_once_whatever_was_done(shop) -> None:
    falling(shop)
    shop.patch(LEVEL, {"rule": "condition"}, 0)
    level(shop, "2026-06-01", "76 %")
    level(shop, "2026-06-05", "75 %")
    assert forecast(shop)["state"] == "crossed"
    assert shop.due()["bath_level_check"]["due_on"] == "2026-06-05"


def test_one_unit_may_have_a_rule_of_its_own(shop) -> None:
    falling(shop)
    shop.patch("/v1/units/GU-0007/tasks/bath_level_check", {"rule": "condition"}, 0)
    own = shop.due()["bath_level_check"]
    shop.patch("/v1/units/GU-0007/tasks/bath_level_check", {"rule": None}, 1)

    assert own["due_on"] == forecast(shop)["low"]
    assert shop.due()["bath_level_check"]["due_on"] == "2026-08-02"


@pytest.mark.parametrize(
    ("task", "rule"), [("pump_check", "condition"), ("pump_check", "learned"), ("trunk_check", "off")]
)
def test_a_rule_that_does_not_suit_is_refused_by_name(shop, task, rule) -> None:
    answer = shop.ask("PATCH", f"/v1/tasks/{task}", {"rule": rule}, If_Match='"0"')
    assert answer.status_code == 422
    assert answer.json["errors"][0]["field"] == "rule"


def test_an_interval_is_learned_and_its_level_set(shop) -> None:
    shop.unit(installed_on="2025-12-02")
    done = [{"task": "condenser_clean", "result": "done", "as_found": "heavy"}]
    shop.visit("2026-03-02", tasks=done)
    shop.patch(CLEAN, {"rule": "learned"}, 0)
    soon = shop.due()["condenser_clean"]
    shop.patch(CLEAN, {"heavy_chance": 0.5}, 1)
    later = shop.due()["condenser_clean"]

    assert "learned from 1 grade of this unit and what is usual" in soon["why"]
    assert soon["due_on"] < later["due_on"]


def fouled(shop, count):
    """Units whose condensers are heavily fouled after a month."""
    done = [{"task": "condenser_clean", "result": "done", "as_found": "heavy"}]
    for number in range(count):
        shop.unit(f"GU-{number + 10}", installed_on="2026-01-02")
        for day in ("2026-02-02", "2026-03-02", "2026-04-02"):
            shop.visit(day, unit=f"GU-{number + 10}", tasks=done)


def test_what_the_fleet_shows_is_learned_once_a_day_and_moves_due_dates(shop) -> None:
    fouled(shop, 8)
    shop.unit(installed_on="2026-03-01")
    shop.visit("2026-06-01", tasks=[{"task": "condenser_clean", "result": "done", "as_found": "blocked"}])
    shop.patch(CLEAN, {"rule": "learned"}, 0)
    before = shop.due()["condenser_clean"]["due_on"]

    assert learning.learn_of_the_day(shop.database, shop.now)
    assert not learning.learn_of_the_day(shop.database, shop.now)
    shop.patch(CLEAN, {"note": "refresh"}, 1)
    item = shop.due()["condenser_clean"]
    assert item["due_on"] < before
    assert "25 grades of 9 units" in item["why"]
    # nothing new is put in force while nothing has changed
    assert not learning.learn_of_the_day(shop.database, shop.now + timedelta(days=1))


def test_rules_and_what_was_learned_survive_an_export(shop) -> None:
    fouled(shop, 3)
    falling(shop)
    shop.patch(CLEAN, {"rule": "learned", "heavy_chance": 0.3}, 0)
    shop.patch(LEVEL, {"rule": "condition"}, 0)
    learning.learn_of_the_day(shop.database, shop.now)
    shop.patch(CLEAN, {"note": "refresh"}, 1)
    before = [shop.due(tag) for tag in ("GU-10", "GU-0007")]
    found = forecast(shop)
    kept = record_of(exported := export(shop), record="learned")
    imported(shop, exported)

    assert {name: each["grades"] for name, each in kept["fouling"].items()} == {"condenser_clean/greasy": 9}
    assert "9 grades of 3 units" in before[0]["condenser_clean"]["why"]
    assert [shop.due(tag) for tag in ("GU-10", "GU-0007")] == before
    assert forecast(shop) == found


def test_a_past_cleaning_is_judged_by_what_the_fleet_had_shown_when_its_day_began(shop) -> None:
    shop.patch(CLEAN, {"rule": "learned"}, 0)
    fouled(shop, 8)

    def lines():
        found = shop.get("/v1/customers/lantern/service-summaries/2026")
        return [line for unit in found["units"] for line in unit["pm_lines"] if line["task"] == "condenser_clean"]

    before = lines()
    assert learning.learn_of_the_day(shop.database, shop.now)
    assert [line for line in lines() if line["done_on"]] == [line for line in before if line["done_on"]]
    assert "what is usual" in before[-1]["why"]


def test_the_list_of_a_past_day_goes_by_the_rule_of_that_day(shop) -> None:
    falling(shop)
    shop.patch(LEVEL, {"rule": "condition"}, 0)
    due_on = shop.due()["bath_level_check"]["due_on"]
    shop.patch("/v1/tasks/glycol_change", {"applies": False}, 0)  # it would stand for the smaller task
    shop.now += timedelta(days=10)
    listed = shop.get(f"/v1/pm-list?on={shop.now.date() - timedelta(days=1)}&horizon_days=60")
    items = [item for stop in listed["stops"] for item in stop["items"] if item["task"] == "bath_level_check"]
    assert [item["due_on"] for item in items] == [due_on]
