"""Many callers at once on one real database: every visit once, no update lost, no answer "database is locked"."""

from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any
from uuid import uuid4

import pytest

TOGETHER = 20


def at_once(asks: list[Callable[[], Any]]) -> list[Any]:
    """What these calls give when all of them start at the same moment, each on a thread of its own."""
    barrier = Barrier(len(asks))

    def go(ask: Callable[[], Any]) -> Any:
        barrier.wait()
        return ask()

    with ThreadPoolExecutor(len(asks)) as threads:
        return list(threads.map(go, asks))


def statuses(answers):
    return Counter(answer.status_code for answer in answers)


@pytest.fixture
def running(shop):
    """A shop with the contract's unit."""
    shop.unit()
    return shop


def test_the_same_visit_posted_at_once_is_one_visit_with_one_answer(running) -> None:
    before = running.counted()
    post = lambda: running.ask("POST", "/v1/visits", running.example("visit"))  # noqa: E731
    answers = at_once([post] * TOGETHER)

    assert statuses(answers) == {201: TOGETHER}
    assert len({answer.data for answer in answers}) == 1
    shown = {name: count - before[name] for name, count in running.counted().items() if count != before[name]}
    assert shown == {
        "visit": 1, "reading": 4, "task_result": 1, "replacement": 3, "observation": 1, "answer": 1, "audit": 1,
        "audit_chain": 1, "due_item": 1,
    }  # fmt: skip


def test_the_same_key_posted_at_once_is_one_visit_with_one_answer(running) -> None:
    body = running.example("visit")
    del body["id"]
    post = lambda: running.ask("POST", "/v1/visits", body, Idempotency_Key="job 4711")  # noqa: E731
    answers = at_once([post] * TOGETHER)

    assert statuses(answers) == {201: TOGETHER}
    assert len({answer.data for answer in answers}) == 1
    assert running.counted()["visit"] == 1


def test_one_id_with_two_bodies_at_once_is_one_visit_and_a_refusal_for_the_other(running) -> None:
    bodies = [running.example("visit", work=text) for text in ("one", "two")]
    answers = at_once([lambda body=body: running.ask("POST", "/v1/visits", body) for body in bodies * 5])

    assert statuses(answers) == {201: 5, 422: 5}
    assert running.counted()["visit"] == 1


def test_one_key_for_two_units_at_once_is_one_visit_and_a_refusal_for_the_other(running) -> None:
    running.unit("GU-0008")
    bodies = [running.example("visit", unit=tag) for tag in ("GU-0007", "GU-0008")]
    answers = at_once([lambda body=body: running.ask("POST", "/v1/visits", body) for body in bodies * 5])

    assert statuses(answers) == {201: 5, 422: 5}
    assert running.counted()["visit"] == 1


def test_visits_of_several_technicians_to_one_unit_at_once_all_count(running) -> None:
    tasks = ["condenser_clean", "pump_check", "trunk_check", "glycol_change", "electrical_check"] * 4

    def post(task):
        body = {"id": str(uuid4()), "unit": "GU-0007", "kind": "maintenance", "arrived_at": "2026-06-09T18:00:00Z"}
        return running.ask("POST", "/v1/visits", body | {"tasks": [{"task": task, "result": "done"}]})

    answers = at_once([lambda task=task: post(task) for task in tasks])

    assert statuses(answers) == {201: len(tasks)}
    assert running.counted()["visit"] == len(tasks)
    assert {running.due()[task]["last_done_on"] for task in tasks} == {"2026-06-09"}


def test_failures_posted_while_somebody_decides_are_all_taken_and_in_the_case(running) -> None:
    def post(day):
        burnt = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}
        body = {"id": str(uuid4()), "unit": "GU-0007", "kind": "service_call", "arrived_at": f"2026-05-{day}T18:00:00Z"}
        return running.ask("POST", "/v1/visits", body | {"replacements": [burnt]})

    for day in range(10, 15):
        post(day)
    path = f"/v1/root-causes/{running.walk('/v1/root-causes')[0]['id']}"
    decide = lambda: running.ask("PATCH", path, {"state": "confirmed", "note": "x"}, If_Match="*")  # noqa: E731
    answers = at_once([decide, *(lambda day=day: post(day) for day in range(15, 25)), decide])

    assert statuses(answers) == {201: 10, 200: 1, 409: 1}
    assert (len(running.get(path)["events"]), running.get(path)["state"]) == (15, "confirmed")


@pytest.mark.parametrize(
    ("path", "version", "change"),
    [
        ("/v1/customers/lantern", 1, {"phone": "1"}),
        ("/v1/sites/lantern-quay", 1, {"access": "1"}),
        ("/v1/units/GU-0007", 1, {"place": "1"}),
        ("/v1/tasks/pump_check", 0, {"minutes": 5}),
        ("/v1/units/GU-0007/tasks/pump_check", 0, {"minutes": 5}),
        ("/v1/visits/0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77", 1, {"work": "1", "why": "1"}),
    ],
)
def test_of_changes_from_one_version_at_once_one_is_made(running, path, version, change) -> None:
    running.post("/v1/visits", running.example("visit"))
    for known in (version, version + 1):
        patch = lambda known=known: running.ask("PATCH", path, change, If_Match=f'"{known}"')  # noqa: E731
        answers = at_once([patch] * 8)

        assert statuses(answers) == {200: 1, 412: 7}
    assert running.ask("GET", path).headers["ETag"] == f'"{version + 2}"'


def test_one_voiding_at_once_is_made(running) -> None:
    running.post("/v1/visits", running.example("visit"))
    path = f"/v1/visits/{running.example('visit')['id']}/void"
    answers = at_once([lambda: running.ask("POST", path, {"reason": "x"}, If_Match='"1"')] * 8)

    assert statuses(answers) == {200: 1, 412: 7}


def test_changes_made_by_reading_again_are_all_kept(running) -> None:
    def add(code):
        shown = {"components": [{"code": code, "kind": "pump"}]}
        met = [412]
        while met[-1] == 412:
            read = running.ask("GET", "/v1/units/GU-0007")
            met.append(running.ask("PATCH", "/v1/units/GU-0007", shown, If_Match=read.headers["ETag"]).status_code)
        return met[-1]

    assert at_once([lambda n=n: add(f"pump-1{n}") for n in range(6)]) == [200] * 6
    codes = {part["code"] for part in running.get("/v1/units/GU-0007")["components"]}
    assert codes >= {f"pump-1{n}" for n in range(6)}


def test_visits_while_the_fleet_changes_leave_true_due_items(running) -> None:
    """Visits, a site's and the catalogue's changes at once; afterwards a full refresh finds nothing to mend."""
    for n in range(4):
        running.unit(f"GU-{n}")

    def visit(n):
        done = [{"task": "pump_check", "result": "done"}, {"task": "condenser_clean", "result": "done"}]
        return lambda: running.visit("2026-06-09", unit=f"GU-{n % 4}", tasks=done)

    def patch(path, field, values):
        def change():
            for version, value in enumerate(values):
                running.patch(path, {field: value}, version + (path == "/v1/sites/lantern-quay"))

        return change

    closed = patch("/v1/sites/lantern-quay", "closed_weekdays", [["monday"], ["wednesday"], [], ["friday"]])
    interval = patch("/v1/tasks/pump_check", "interval", ["4 months", "5 months", "2 months", "1 month"])
    at_once([*(visit(n) for n in range(12)), closed, interval])
    kept = {tag: running.due(tag) for tag in ("GU-0", "GU-1", "GU-2", "GU-3", "GU-0007")}
    running.patch("/v1/tasks/pump_check", {"note": "x"}, 4)

    assert {tag: running.due(tag) for tag in kept} == kept
    assert {kept[f"GU-{n}"]["pump_check"]["last_done_on"] for n in range(4)} == {"2026-06-09"}


def test_one_code_registered_at_once_is_registered_once(running) -> None:
    answers = at_once([lambda: running.ask("POST", "/v1/customers", running.example("customer", code="new"))] * 8)

    assert statuses(answers) == {201: 1, 409: 7}
