"""/v1/vans: take, put back, count, what visits use up, and what a day is likely to need."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import orjson
import pytest

from service.schemas.vans import MovementSchema
from service.usecases.maintenance import learning
from service.usecases.maintenance.due import refresh_all_stale
from tests.api.resources.bodies_of_schemas import body_of
from tests.api.resources.following import Followed, audited, export, imported, record_of

MOVES = "/v1/vans/rhea/movements"


@pytest.fixture
def van(shop):
    shop.unit()
    shop.patch("/v1/sites/lantern-quay", {"technician": "rhea", "closed_weekdays": []}, 1)
    return shop


def stock(shop):
    return {each["item"]: each["count"] or each["quantity"] for each in shop.get("/v1/vans/rhea")["stock"]}


def test_what_is_taken_put_back_and_counted_is_what_there_is(van) -> None:
    van.post(MOVES, {"action": "take", "item": "pump", "count": 3})
    van.post(MOVES, {"action": "put_back", "item": "pump", "count": 1})
    van.post(MOVES, {"action": "count", "item": "coil_cleaner", "quantity": "2 L"})

    assert stock(van) == {"pump": 2, "coil_cleaner": {"value": 2, "unit": "L"}}
    assert [each["action"] for each in van.get(MOVES)["items"]] == ["take", "put_back", "count"]


def test_visits_use_it_up(van) -> None:
    van.post(MOVES, {"action": "count", "item": "pump", "count": 3, "at": "2026-06-09T12:00:00Z"})
    van.post(MOVES, {"action": "count", "item": "belt", "count": 4, "at": "2026-06-09T12:00:00Z"})
    replaced = {"component": "pump-1", "reason": "failed", "condition": "seized", "evidence": "seen"}
    made = van.visit("2026-06-09", technician="rhea", parts_used=[{"description": "Belt", "count": 3}],
                     replacements=[replaced])["visit"]  # fmt: skip
    assert stock(van) == {"pump": 2, "belt": 1}

    van.ask("POST", f"/v1/visits/{made['id']}/void", {"reason": "wrong unit"}, If_Match='"1"')
    assert stock(van) == {"pump": 3, "belt": 4}


def test_the_same_movement_twice_is_one(van) -> None:
    body = {"id": str(uuid4()), "action": "take", "item": "pump", "count": 1}
    assert van.post(MOVES, body) == van.post(MOVES, body)
    assert stock(van) == {"pump": 1}
    assert van.ask("POST", MOVES, body | {"count": 2}).status_code == 422


def test_the_movements_are_listed_in_parts(van) -> None:
    for count in (1, 2, 3):
        van.post(MOVES, {"action": "take", "item": "pump", "count": count})
    first = van.get(f"{MOVES}?limit=2")
    second = van.get(first["next"])

    assert [each["count"] for each in (*first["items"], *second["items"])] == [1, 2, 3]
    assert (len(first["items"]), second["next"]) == (2, None)
    assert van.ask("GET", f"{MOVES}?cursor=x").json["errors"][0]["field"] == "cursor"


def test_what_cannot_be_is_refused(van) -> None:
    for wrong in ({"count": 1, "quantity": "1 L"}, {}, {"count": 1, "at": "2026-06-11T00:00:00Z"}):
        assert van.ask("POST", MOVES, {"action": "take", "item": "pump"} | wrong).status_code == 422
    assert van.ask("GET", "/v1/vans/nobody").status_code == 404
    assert van.ask("GET", "/v1/vans/nobody/movements").status_code == 404
    body = {"action": "take", "item": "pump", "count": 1}
    assert van.ask("POST", "/v1/vans/nobody/movements", body).status_code == 404


def test_no_field_of_a_movement_is_lost(van) -> None:
    followed, schema = Followed(), MovementSchema()
    counted = body_of(schema, {"quantity": None}, 0)
    measured = body_of(schema, {"count": None, "id": str(uuid4())}, 1)
    for body in (counted, measured):
        followed.look("answer to POST", schema, body, van.post(MOVES, body))
        followed.look("audit of POST", schema, body, audited(van, "van_movement", body["id"])["after"])
        followed.look("export", schema, body, record_of(export(van), record="van_movement", id=body["id"]))
    after = export(van)
    imported(van, after, after)
    for body, found in zip((counted, measured), van.get(MOVES)["items"], strict=True):
        followed.look("import", schema, body, found)

    assert followed.lost == {}
    assert export(van) == after


def test_a_day_lists_what_each_van_should_bring(van) -> None:
    van.patch("/v1/units/GU-0007", {"bath": {"volume": "38 L", "target_strength": "35 mass%"}}, 1)
    van.visit("2026-03-01", readings=[{"quantity": "glycol_strength", "value": "30 mass%", "when": "as_found"}])
    van.now = datetime(2026, 12, 9, 21, tzinfo=UTC)
    (load,) = van.get("/v1/vans?technician=rhea")["vans"]
    lines = {each["item"]: each for each in load["items"]}

    assert load["technician"] == "rhea"
    assert lines["coil_cleaner"]["bring"] == {"value": 0.5, "unit": "L"}
    assert lines["coil_cleaner"]["chance_short"] == 1
    # 35 % is due as a change: 38 L of 35 mass% are 12.9 L of concentrate by the balance of masses at 20 °C
    assert 12.5 < lines["glycol_concentrate"]["bring"]["value"] < 13.5
    van.post(MOVES, {"action": "take", "item": "glycol concentrate", "quantity": "20 L"})
    (load,) = van.get("/v1/vans?technician=rhea")["vans"]
    assert {each["item"]: each["chance_short"] for each in load["items"]}["glycol_concentrate"] == 0


def test_what_was_learned_by_night_counts_until_the_next_night(van) -> None:
    replaced = {"component": "pump-1", "reason": "failed", "condition": "seized", "evidence": "seen"}
    van.visit("2026-01-10", replacements=[replaced])
    learning.learn_of_the_day(van.database, van.now)
    van.visit("2026-02-10", replacements=[replaced])
    van.patch("/v1/tasks/bath_level_check", {"rule": "condition"}, 0)
    refresh_all_stale(van.database, 10)
    (load,) = van.get("/v1/vans")["vans"]
    pump = next(each for each in load["items"] if each["item"] == "pump")

    assert pump["why"][0] == "1 replaced in 1 visit, each such part counted by itself; 1 at the day's units."
    van.now += timedelta(days=1)
    learning.learn_of_the_day(van.database, van.now)
    (load,) = van.get("/v1/vans")["vans"]
    pump = next(each for each in load["items"] if each["item"] == "pump")
    assert pump["why"][0] == "2 replaced in 2 visits, each such part counted by itself; 1 at the day's units."
    assert refresh_all_stale(van.database, 10) == 0  # no due date moves for the sake of parts
    lines = [orjson.loads(line) for line in export(van).splitlines()]
    exported = [line["parts"] for line in lines if line["record"] == "learned"][-1]
    assert [(each["visits"], each["replaced"]) for each in exported if each["kind"] == "pump"] == 2 * [(1, 1)]
    after = export(van)
    imported(van, after, after)
    assert export(van) == after


def test_what_was_learned_before_parts_were_counted_is_exported_as_it_was_and_moves_no_due_date(van) -> None:
    before = '{"drifts":{},"fouling":{}}'
    with van.database.writing() as store:
        store.learned.add(before, "2026-06-01T09:00:00.000000Z")
    after = export(van)
    imported(van, after)

    assert export(van) == after
    assert learning.of_dates(before) == before


def test_parts_that_fail_often_are_listed_with_their_experience(van) -> None:
    for month in (1, 2, 3, 4):
        replaced = {"component": "pump-1", "reason": "failed", "condition": "seized", "evidence": "seen"}
        van.visit(f"2026-0{month}-10", replacements=[replaced])
    (load,) = van.get("/v1/vans")["vans"]
    pump = next(each for each in load["items"] if each["item"] == "pump")

    assert 0.2 < pump["chance_short"] <= 1
    assert pump["why"][0] == "4 replaced in 4 visits, each such part counted by itself; 1 at the day's units."
