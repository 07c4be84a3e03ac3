"""A unit whose sticker was changed is still found by its former tag, everywhere, and its history is one."""

from typing import Any

import pytest

from tests.api.resources.following import audited, export, take_in

PART = {"component": "switch-1", "kind": "power_switch", "reason": "failed", "condition": "burnt", "evidence": "seen"}


@pytest.fixture
def renamed(shop) -> Any:
    """GU-0007 with a visit, a call, settings and a pause, now GU-0107."""
    shop.unit()
    shop.visit("2026-06-01", tasks=[{"task": "pump_check", "result": "done"}], replacements=[PART])
    call = {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c01", "received_at": "2026-06-09T18:00:00Z"}
    shop.post("/v1/calls", call | {"unit": "GU-0007", "symptom": "warm_pour"})
    set_to(shop, "GU-0007", "2 months")
    shop.post("/v1/units/GU-0007/pauses", {"from": "2026-07-01", "until": "2026-07-31", "reason": "season"})
    shop.patch("/v1/units/GU-0007", {"tag": "GU-0107"}, shop.get("/v1/units/GU-0007")["version"])
    return shop


def set_to(shop, tag: str, interval: str) -> None:
    path = f"/v1/units/{tag}/tasks/pump_check"
    version = shop.ask("GET", path).headers["ETag"]
    assert shop.ask("PATCH", path, {"interval": interval}, If_Match=version).status_code == 200


def test_every_question_by_the_former_tag_has_the_answer_of_the_present_one(renamed) -> None:
    paths = ("", "/due", "/history", "/condition", "/locations", "/pauses", "/tasks")
    for path in paths:
        former, present = (renamed.get(f"/v1/units/{tag}{path}") for tag in ("GU-0007", "GU-0107"))
        assert former == present, path
    for path in ("/v1/visits?unit=", "/v1/calls?unit=", "/v1/root-causes?unit=", "/v1/units?tag="):
        former, present = (renamed.walk(path + tag) for tag in ("GU-0007", "GU-0107"))
        assert former == present, path
    assert renamed.get("/v1/units/GU-0007")["tag"] == "GU-0107"
    assert [visit["unit"] for visit in renamed.walk("/v1/visits?unit=GU-0007")] == ["GU-0107"]
    assert renamed.ask("GET", "/v1/units/GU-0008").status_code == 404


def test_what_is_posted_under_the_former_tag_is_of_the_unit(renamed) -> None:
    made = renamed.visit("2026-06-08", unit="GU-0007", tasks=[{"task": "pump_check", "result": "done"}])
    pump = next(item for item in renamed.get("/v1/units/GU-0107/due")["items"] if item["task"] == "pump_check")

    assert made["visit"]["unit"] == "GU-0107"
    assert (pump["last_done_on"], pump["interval"]) == ("2026-06-08", "2 months")


def test_the_history_says_when_the_tag_was_changed(renamed) -> None:
    renamed.patch("/v1/units/GU-0107", {"tag": "GU-0207"}, renamed.get("/v1/units/GU-0107")["version"])
    found = [each["recorded"] for each in renamed.walk("/v1/units/GU-0007/history") if each["event"] == "tag_changed"]
    entry = audited(renamed, "unit", "GU-0207")

    assert {(each["from_tag"], each["to_tag"], each["by"]) for each in found} == {
        ("GU-0007", "GU-0107", "the owner"),
        ("GU-0107", "GU-0207", "the owner"),
    }
    assert (entry["before"]["tag"], entry["after"]["tag"]) == ("GU-0107", "GU-0207")


def test_settings_of_the_time_before_still_judge_it(renamed) -> None:
    year = "/v1/customers/lantern/service-summaries/2026"
    before = renamed.get(year)["units"][0]["pm"]
    set_to(renamed, "GU-0107", "3 months")
    log = history(renamed)

    assert [(change.before.get("interval"), change.after.get("interval")) for change in log.setting_changes] == [
        (None, "2 months"),
        ("2 months", "3 months"),
    ]
    assert renamed.get(year)["units"][0]["pm"].keys() == before.keys()


def event_names(shop) -> list[str]:
    return [each["event"] for each in shop.walk("/v1/units/GU-0007/history")]


def history(shop) -> Any:
    with shop.database.reading() as store:
        return store.log_of("GU-0007")


def test_a_tag_by_which_another_unit_is_found_is_refused(renamed) -> None:
    new = renamed.example("unit", tag="GU-0007")
    taken = renamed.ask("POST", "/v1/units", new)
    renamed.post("/v1/units", new | {"tag": "GU-0008"})
    version = f'"{renamed.get("/v1/units/GU-0008")["version"]}"'
    answers = [renamed.ask("PATCH", "/v1/units/GU-0008", {"tag": t}, If_Match=version) for t in ("GU-0007", "GU-0107")]

    assert [taken.status_code, *(each.status_code for each in answers)] == [409, 409, 409]
    assert "GU-0107" in taken.text


def test_a_unit_may_take_its_former_tag_again(renamed) -> None:
    renamed.patch("/v1/units/GU-0107", {"tag": "GU-0007"}, renamed.get("/v1/units/GU-0107")["version"])

    assert {renamed.get(f"/v1/units/{tag}")["tag"] for tag in ("GU-0007", "GU-0107")} == {"GU-0007"}


def test_former_tags_are_exported_and_imported(renamed) -> None:
    now, exported, before = renamed.now, export(renamed), event_names(renamed)
    assert take_in(renamed, exported)["added"] == {}
    renamed.empty()
    renamed.now = now
    take_in(renamed, exported)

    assert event_names(renamed) == before
    assert export(renamed) == exported


def test_a_file_from_before_the_change_does_not_take_it_back(shop) -> None:
    shop.unit()
    former = export(shop)
    shop.patch("/v1/units/GU-0007", {"tag": "GU-0107"}, 1)

    assert take_in(shop, former)["changed"] == {}
    assert shop.get("/v1/units/GU-0007")["tag"] == "GU-0107"
