"""What was known on a past day is known after an export and an import into an empty database."""

from datetime import UTC, datetime
from operator import itemgetter
from typing import Any

import orjson
import pytest

from tests.api.resources.following import export, imported, take_in

CALL = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c0a"
VISIT = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c0b"
PUMP = [{"task": "pump_check", "result": "done"}]


def at(shop: Any, day: int) -> None:
    shop.now = datetime(2026, 6, day, 21, tzinfo=UTC)


@pytest.fixture
def lived(shop: Any) -> Any:
    """Six days: a call that was answered two days later, a visit posted late, and an interval that was changed."""
    at(shop, 1)
    shop.unit(registered_on="2026-06-01")
    at(shop, 2)
    shop.post(
        "/v1/calls", {"id": CALL, "received_at": "2026-06-02T18:00:00Z", "unit": "GU-0007", "symptom": "warm_pour"}
    )
    at(shop, 3)
    shop.patch(f"/v1/calls/{CALL}", {"technician": "rhea"}, 1)
    at(shop, 4)
    shop.visit("2026-06-04", id=VISIT, calls=[CALL], tasks=PUMP, outcome="down")
    at(shop, 5)
    shop.visit("2026-06-02", outcome="recovering")
    at(shop, 6)
    shop.patch("/v1/tasks/pump_check", {"interval": "1 month"}, 0)
    shop.patch("/v1/units/GU-0007/tasks/trunk_check", {"interval": "2 months"}, 0)
    at(shop, 7)
    shop.patch("/v1/tasks/pump_check", {"interval": None}, 1)
    shop.post("/v1/assignments", {"site": "lantern-quay", "technician": "rhea", "day": "2026-06-09"})
    at(shop, 9)
    return shop


def lists(shop: Any) -> list[Any]:
    return [shop.get(f"/v1/pm-list?on=2026-06-0{day}&horizon_days=60") for day in range(1, 9)]


def test_lists_of_past_days_are_the_same(lived) -> None:
    before, lines = lists(lived), export(lived)
    calls = [[i for stop in each["stops"] for i in stop["items"] if i["class"] == "call"] for each in before]
    assert [len(each) for each in calls] == [0, 1, 1, 0, 0, 0, 0, 0]
    imported(lived, lines)
    at(lived, 9)
    assert lists(lived) == before
    assert export(lived) == lines


def test_instants_and_authors_of_posting_are_the_same(lived) -> None:
    def posted() -> list[tuple[str, str]]:
        found = [lived.get(f"/v1/{path}") for path in (f"calls/{CALL}", f"visits/{VISIT}")]
        return [(each["posted_at"], each["posted_by"]) for each in (*found, *lived.walk("/v1/assignments"))]

    before, lines = posted(), export(lived)
    assert len({at for at, _ in before}) == 3
    imported(lived, lines)
    assert posted() == before


def test_pm_on_time_of_a_past_year_is_the_same(lived) -> None:
    def of_year() -> Any:
        found = lived.get("/v1/customers/lantern/service-summaries/2026")
        del found["data_state"]  # how often each row was changed
        return found

    before, lines = of_year(), export(lived)
    imported(lived, lines)
    at(lived, 9)
    assert of_year() == before


def test_a_history_comes_once(lived) -> None:
    lines = export(lived)
    tally = take_in(lived, lines)
    assert (tally["added"], tally["changed"]) == ({}, {})
    assert export(lived) == lines


def test_a_file_without_histories_begins_them_with_the_import(lived) -> None:
    plain = [line for line in export(lived).splitlines() if orjson.loads(line)["record"] != "change"]
    imported(lived, b"\n".join(plain))
    kept = [orjson.loads(line) for line in export(lived).splitlines()]
    found = [(each["of"], each["at"]) for each in kept if each["record"] == "change"]
    assert [of for of, _ in found] == ["unit_task", "call"]
    assert {at for _, at in found} == {"2026-06-09T21:00:00.000000Z"}


@pytest.mark.parametrize(
    "change",
    [
        {"of": "task", "key": "pump_check", "after": {"interval": "soon"}},
        {"of": "task", "key": "no_task", "after": {}},
        {"of": "call", "key": CALL, "after": {"id": CALL}},
        {"of": "call", "key": CALL, "after": {"id": CALL, "received_at": 7}},
        {
            "of": "call",
            "key": CALL,
            "after": {
                "id": CALL,
                "received_at": "2026-06-02T18:00:00Z",
                "symptom": "other",
                "posted_at": "2026-06-02T18:00:00Z",
                "posted_by": "x",
                "urgency": "soon",
            },
        },
        {"of": "root_cause", "key": "GU-0007/pump", "after": {"state": "gone", "note": None}},
        {"of": "assignment", "key": "1", "after": {"site": "lantern-quay"}},
        {
            "of": "assignment",
            "key": "1",
            "after": {"site": 5, "day": "2026-06-09", "posted_at": "2026-06-02T18:00:00Z", "posted_by": "x"},
        },
    ],
)
def test_a_change_that_cannot_be_read_again_is_refused(lived, change) -> None:
    line = orjson.dumps({"record": "change", "at": "2026-06-02T21:00:00Z", "by": "x", **change})
    answer = lived.app.test_client().post(
        "/v1/imports",
        data=line,
        content_type="application/x-ndjson",
        headers={"Authorization": f"Bearer {lived.tokens['owner']}"},
    )
    assert (answer.status_code, answer.json["errors"][0]["field"]) == (422, "lines.1.after"), answer.text


def test_nothing_was_posted_in_the_future(lived) -> None:
    lines = [orjson.loads(line) for line in export(lived).splitlines()]
    (visit,) = [each for each in lines if each["record"] == "visit" and each["id"] == VISIT]
    line = orjson.dumps(visit | {"id": VISIT[:-1] + "f", "posted_at": "2026-06-30T00:00:00Z", "calls": []})
    answer = lived.app.test_client().post(
        "/v1/imports",
        data=line,
        content_type="application/x-ndjson",
        headers={"Authorization": f"Bearer {lived.tokens['owner']}"},
    )
    assert answer.json["errors"][0]["field"] == "lines.1.posted_at"


def test_a_change_of_before_ends_what_the_import_changes_now(lived) -> None:
    """The change in the file is older than ours of the same setting, and the import takes the setting from the file."""
    at(lived, 10)
    lines = [
        {"record": "change", "of": "task", "key": "pump_check", "at": "2026-06-05T21:00:00Z", "by": "x",
         "before": {}, "after": {"interval": "1 month"}},
        {"record": "task", "code": "pump_check", "interval": "1 month"},
    ]  # fmt: skip
    take_in(lived, b"\n".join(map(orjson.dumps, lines)))
    changes = [orjson.loads(line) for line in export(lived).splitlines()]
    history = sorted(
        ((each["at"], each["after"]) for each in changes if each["record"] == "change" and each["key"] == "pump_check"),
        key=itemgetter(0),
    )
    assert history[-1][1] == {"interval": "1 month"}


def test_a_call_may_have_been_for_a_unit_that_is_not_in_the_file(lived) -> None:
    lines = [orjson.loads(line) for line in export(lived).splitlines()]
    call = next(each for each in lines if each["record"] == "call")
    last = [each for each in lines if each["record"] == "change" and each["of"] == "call"][-1]
    unknown = last | {"at": "2026-06-08T21:00:00Z", "after": last["after"] | {"unit": "GU-0001"}}
    tally = take_in(lived, b"\n".join(map(orjson.dumps, (unknown, call | {"words": "Again."}))))
    assert (tally["added"], tally["changed"]) == ({"change": 1}, {"call": 1})


ENDS = {
    "unit": ("/v1/units/GU-0007", "retired_on"),
    "site": ("/v1/sites/lantern-quay", "ended_on"),
    "customer": ("/v1/customers/lantern", "ended_on"),
}


@pytest.mark.parametrize("of", ENDS)
def test_an_end_counts_on_the_list_of_a_past_day_from_its_recording(shop, of: str) -> None:
    """Recorded on the 4th as of the 3rd and taken back on the 6th: the lists of the 4th and 5th alone are empty."""
    path, field = ENDS[of]
    at(shop, 1)
    shop.unit(registered_on="2026-06-01", care_from="2026-06-01")
    for day, end in ((4, "2026-06-03"), (6, None)):
        at(shop, day)
        shop.patch(path, {field: end}, shop.get(path)["version"])
    at(shop, 9)
    before, lines = lists(shop), export(shop)
    assert [bool(each["stops"]) for each in before] == [True, True, True, False, False, True, True, True]
    imported(shop, lines)
    at(shop, 9)
    assert lists(shop) == before
    assert export(shop) == lines
    assert take_in(shop, lines)["added"] == {}


def test_the_end_of_a_unit_whose_tag_was_changed_is_found_by_every_tag(shop) -> None:
    at(shop, 1)
    shop.unit(registered_on="2026-06-01", care_from="2026-06-01")
    for day, changes in ((3, {"retired_on": "2026-06-03"}), (5, {"tag": "GU-0107"}), (7, {"retired_on": None})):
        at(shop, day)
        shop.patch("/v1/units/GU-0007", changes, shop.get("/v1/units/GU-0007")["version"])
    at(shop, 9)

    assert [bool(each["stops"]) for each in lists(shop)] == [True, True, *[False] * 4, True, True]


def test_a_unit_whose_own_setting_was_taken_back_is_due_by_that_of_all_units(shop) -> None:
    shop.unit()
    for interval in ("80 days", None):
        path = "/v1/units/GU-0007/tasks/trunk_check"
        assert shop.ask("PATCH", path, {"interval": interval}, If_Match="*").status_code == 200
    shop.patch("/v1/tasks/trunk_check", {"interval": "2 months"}, 0)
    before, now, lines = shop.due()["trunk_check"], shop.now, export(shop)
    shop.empty()
    shop.now = now
    take_in(shop, lines)

    assert shop.due()["trunk_check"] == before
    assert before["interval"] == "2 months"
