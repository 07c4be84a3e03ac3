"""Corrected and voided visits: the former text stays, with who and why, and what follows from it is put right."""

import pytest

ID = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"
PATH = f"/v1/visits/{ID}"


@pytest.fixture
def posted(shop):
    """The contract's visit."""
    shop.unit()
    return shop.post("/v1/visits", shop.example("visit"), role="technician")["visit"]


def test_a_correction_keeps_the_former_text_and_says_who_and_why(shop, posted) -> None:
    shop.patch(PATH, {"outcome": "running", "why": "wrong line"}, 1, role="dispatcher")
    shown = shop.get(PATH)
    (made,) = shown["corrections"]

    assert (shown["outcome"], shown["version"]) == ("running", 2)
    assert (made["number"], made["by"], made["why"]) == (1, "the dispatcher", "wrong line")
    assert made["at"] == "2026-06-09T15:00:00-06:00"
    assert made["former"]["outcome"] == "recovering"
    assert made["former"]["readings"][0]["value"] == "47 degF"


def test_each_correction_keeps_the_text_before_it(shop, posted) -> None:
    for version, text in enumerate(("first", "second", "third"), 1):
        shop.patch(PATH, {"work": text, "why": "typo"}, version)
    shown = shop.get(PATH)

    assert [made["former"]["work"] for made in shown["corrections"]] == ["Replaced ...", "first", "second"]
    assert shown["work"] == "third"


def test_a_correction_changes_what_it_names_and_nothing_else(shop, posted) -> None:
    shop.patch(PATH, {"advice": None, "readings": posted["readings"][:1], "why": "typo"}, 1)
    shown = shop.get(PATH)
    del shown["corrections"]

    assert shown == posted | {"advice": None, "readings": posted["readings"][:1], "version": 2}


def test_a_correction_moves_the_due_dates(shop, posted) -> None:
    tasks = [{"task": "condenser_clean", "result": "done", "as_found": "clean"}]
    shown = shop.patch(PATH, {"tasks": tasks, "outcome": "running", "why": "wrong line"}, 1)

    # a third of three months, 30 days, as it was not found blocked: 9 July, a Thursday
    assert shop.due()["condenser_clean"]["due_on"] == "2026-07-09"
    assert "follow_up" not in shop.due()
    assert {item["task"]: item for item in shown["due_items"]} == shop.due()


def test_a_task_that_a_correction_takes_back_was_never_done(shop, posted) -> None:
    shop.patch(PATH, {"tasks": [], "why": "other unit"}, 1)

    assert shop.due()["condenser_clean"]["last_done_on"] is None


def test_a_correction_of_the_day_counts_from_the_right_day(shop, posted) -> None:
    shop.patch(
        PATH,
        {"arrived_at": "2026-06-08T13:05:00-06:00", "left_at": "2026-06-08T14:00:00-06:00", "why": "the day before",
         "readings": [], "complaint": None},
        1,
    )  # fmt: skip

    assert shop.due()["condenser_clean"]["last_done_on"] == "2026-06-08"
    assert shop.due()["follow_up"]["due_on"] == "2026-06-09"


@pytest.mark.parametrize("body", [{"outcome": "running"}, {"outcome": "running", "why": ""}, {"why": None}])
def test_a_correction_says_why(shop, posted, body) -> None:
    refused = shop.ask("PATCH", PATH, body, If_Match='"1"')

    assert (refused.status_code, refused.json["errors"][0]["field"]) == (422, "why")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"readings": [{"quantity": "bath_temperature"}]}, "readings.0.value"),
        ({"readings": [{"quantity": "bath_temperature", "value": "300 degF", "when": "as_left"}]}, "readings.0.value"),
        ({"complaint": {}}, "complaint.symptom"),
        ({"tasks": [{"task": "pump_check"}]}, "tasks.0.result"),
        ({"replacements": [{"component": "pump-9"}]}, "replacements.0.reason"),
        ({"unit": "GU-0008"}, "unit"),
        ({"id": ID}, "id"),
        ({"kind": None}, "kind"),
        ({"readings": None}, "readings"),
        ({"arrived_at": None}, "arrived_at"),
        ({"left_at": "2026-06-09T13:00:00-06:00"}, "left_at"),
    ],
    ids=lambda part: str(part)[:40],
)
def test_a_correction_that_cannot_be_is_refused_and_nothing_is_stored(shop, posted, change, field) -> None:
    before = shop.counted()
    refused = shop.ask("PATCH", PATH, change | {"why": "x"}, If_Match='"1"')

    assert refused.status_code == 422, refused.text
    assert field in {fault["field"] for fault in refused.json["errors"]}
    assert shop.counted() == before


def test_a_correction_needs_the_version_last_read(shop, posted) -> None:
    change = {"work": "x", "why": "y"}

    assert shop.ask("PATCH", PATH, change).status_code == 428
    assert shop.ask("PATCH", PATH, change, If_Match='"2"').status_code == 412
    assert shop.ask("PATCH", PATH, change, If_Match='W/"1"').status_code == 412
    assert shop.ask("PATCH", PATH, change, If_Match='"1"').headers["ETag"] == '"2"'


def test_a_voided_visit_stays_in_the_record_with_who_and_why(shop, posted) -> None:
    voided = shop.ask("POST", f"{PATH}/void", {"reason": "wrong unit"}, role="dispatcher", If_Match='"1"')
    shown = shop.get(PATH)

    assert (voided.status_code, voided.headers["ETag"]) == (200, '"2"')
    assert shown["void"] == {"reason": "wrong unit", "by": "the dispatcher", "at": "2026-06-09T15:00:00-06:00"}
    assert shown["readings"] == posted["readings"]
    assert [visit["id"] for visit in shop.walk("/v1/visits")] == [ID]


def test_a_voided_visit_counts_no_longer(shop) -> None:
    shop.unit()
    before = shop.due()
    shop.post("/v1/visits", shop.example("visit"))
    assert shop.due() != before
    shop.ask("POST", f"{PATH}/void", {"reason": "wrong unit"}, If_Match='"1"')

    assert shop.due() == before


def test_a_voided_follow_up_leaves_the_follow_up_due(shop, posted) -> None:
    shop.visit("2026-06-09", id=ID.replace("0199", "0200"), arrived_at="2026-06-09T20:50:00Z", outcome="running")
    assert "follow_up" not in shop.due()
    shop.ask("POST", f"{PATH.replace('0199', '0200')}/void", {"reason": "wrong unit"}, If_Match='"1"')

    assert shop.due()["follow_up"]["due_on"] == "2026-06-10"


def test_a_visit_is_voided_once_and_not_corrected_after(shop, posted) -> None:
    reason = {"reason": "wrong unit"}
    assert shop.ask("POST", f"{PATH}/void", reason).status_code == 428
    assert shop.ask("POST", f"{PATH}/void", {}, If_Match='"1"').json["errors"][0]["field"] == "reason"
    assert shop.ask("POST", f"{PATH}/void", reason, If_Match='"1"').status_code == 200

    assert shop.ask("POST", f"{PATH}/void", reason, If_Match='"2"').status_code == 409
    assert shop.ask("PATCH", PATH, {"work": "x", "why": "y"}, If_Match='"2"').status_code == 409


def test_the_reason_of_a_voiding_may_have_several_lines(shop, posted) -> None:
    shop.ask("POST", f"{PATH}/void", {"reason": "wrong unit,\nwrong day"}, If_Match='"1"')

    assert shop.get(PATH)["void"]["reason"] == "wrong unit,\nwrong day"


def test_corrections_and_voidings_are_in_the_audit_trail(shop, posted) -> None:
    shop.patch(PATH, {"work": "x", "why": "typo"}, 1)
    shop.ask("POST", f"{PATH}/void", {"reason": "wrong unit"}, If_Match='"2"')
    voided, corrected, made = shop.get(f"/v1/audit?resource=visit&key={ID}")["items"]

    assert [entry["action"] for entry in (made, corrected, voided)] == ["created", "corrected", "voided"]
    assert (corrected["before"]["work"], corrected["after"]["work"]) == ("Replaced ...", "x")
    assert made["after"] == shop.example("visit")


def test_a_void_that_is_taken_back_counts_again_and_both_stay_in_the_record(shop, posted) -> None:
    due = shop.due()
    shop.ask("POST", f"{PATH}/void", {"reason": "wrong unit"}, If_Match='"1"')
    taken_back = shop.ask("POST", f"{PATH}/unvoid", {"reason": "right after all"}, role="dispatcher", If_Match='"2"')
    shown = shop.get(PATH)
    (made,) = shown.pop("corrections")
    history = shop.get("/v1/units/GU-0007/history")["items"]

    assert (taken_back.status_code, taken_back.headers["ETag"]) == (200, '"3"')
    assert shown == posted | {"version": 3}
    assert shop.due() == due == {item["task"]: item for item in taken_back.json["due_items"]}
    assert (made["why"], made["by"], made["former"]["void"]["reason"]) == (
        "right after all", "the dispatcher", "wrong unit",
    )  # fmt: skip
    assert {e["event"]: e["recorded"]["reason"] for e in history if "void" in e["event"]} == {
        "visit_voided": "wrong unit",
        "visit_unvoided": "right after all",
    }
    assert not any(e["void"] for e in history)
    entry = shop.get(f"/v1/audit?resource=visit&key={ID}")["items"][0]
    assert (entry["action"], entry["before"]["void"]["reason"]) == ("unvoided", "wrong unit")
    assert "void" not in entry["after"]


def test_a_visit_may_be_voided_and_taken_back_more_than_once(shop, posted) -> None:
    for version, step in enumerate(("void", "unvoid", "void", "unvoid", "void"), 1):
        answer = shop.ask("POST", f"{PATH}/{step}", {"reason": f"{step} {version}"}, If_Match=f'"{version}"')
        assert answer.status_code == 200
    history = shop.get("/v1/units/GU-0007/history?limit=500")["items"]

    assert [e["recorded"]["reason"] for e in history if e["event"] == "visit_voided"] == ["void 5", "void 3", "void 1"]
    assert shop.get(PATH)["void"]["reason"] == "void 5"


def test_only_a_voided_visit_that_can_still_be_true_is_taken_back(shop, posted) -> None:
    reason = {"reason": "right after all"}
    assert shop.ask("POST", f"{PATH}/unvoid", reason, If_Match='"1"').status_code == 409
    shop.ask("POST", f"{PATH}/void", {"reason": "wrong unit"}, If_Match='"1"')
    assert shop.ask("POST", f"{PATH}/unvoid", reason).status_code == 428
    assert shop.ask("POST", f"{PATH}/unvoid", reason, If_Match='"1"').status_code == 412
    assert shop.ask("POST", f"{PATH}/unvoid", {}, If_Match='"2"').json["errors"][0]["field"] == "reason"
    shop.patch("/v1/units/GU-0007", {"retired_on": "2026-06-08"}, shop.get("/v1/units/GU-0007")["version"])
    refused = shop.ask("POST", f"{PATH}/unvoid", reason, If_Match='"2"')

    assert (refused.status_code, refused.json["errors"][0]["field"]) == (422, "unit")
    assert shop.get(PATH)["void"]["reason"] == "wrong unit"
