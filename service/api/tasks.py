"""Routes of /v1/tasks: the catalogue with the company's settings, for all units and for one."""

from collections.abc import Mapping
from typing import Any

from flask import Response

from service.api import preconditions
from service.api.auth import OFFICE, STAFF
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database
from service.schemas.shown import shown_task
from service.schemas.tasks import TaskList, TaskSchema
from service.usecases.maintenance import due, tasks

Body = Mapping[str, Any]
AT_ONCE = 20  # chunks of units refreshed before the answer; the day's work does the rest
CHUNK = 200
routes = Routes("tasks")


@routes.get("/v1/tasks", allow=STAFF, answers={200: TaskList})
def list_tasks() -> dict[str, Any]:
    """List the PM tasks: intervals with their range and source, minutes, what to bring, cautions."""
    with database().reading() as store:
        return {"items": [shown_task(task, setting) for task, setting in tasks.catalogue(store)]}


@routes.get("/v1/tasks/{code}", allow=STAFF, answers={200: Answer(TaskSchema, headers=("ETag",))})
def get_task(code: str) -> Response:
    """Get one task of the catalogue."""
    with database().reading() as store:
        task, setting = tasks.one_task(store, code)
    return preconditions.tagged(shown_task(task, setting), setting.version)


@routes.patch(
    "/v1/tasks/{code}",
    allow=OFFICE,
    body=TaskSchema,
    partial=True,
    answers={200: Answer(TaskSchema, headers=("ETag",))},
)
def set_task(code: str, body: Body) -> Response:
    """Set a task for all units; null restores the default. Due dates follow, in a large fleet within minutes."""
    with database().writing() as store:
        _, former = tasks.one_task(store, code)
        preconditions.unchanged(former.version, "task", code)
        task, setting = tasks.set_task(store, actor(), former, body)
    refresh_soon()
    return preconditions.tagged(shown_task(task, setting), setting.version)


@routes.get("/v1/units/{tag}/tasks", allow=STAFF, answers={200: TaskList})
def list_tasks_at(tag: str) -> dict[str, Any]:
    """List the tasks as they apply at one unit."""
    with database().reading() as store:
        tag = store.units.place(tag).tag
        return {"items": [shown_task(task, own) | {"unit": tag} for task, own in tasks.tasks_at(store, tag)]}


@routes.get("/v1/units/{tag}/tasks/{code}", allow=STAFF, answers={200: Answer(TaskSchema, headers=("ETag",))})
def get_task_at(tag: str, code: str) -> Response:
    """Get one task as it applies at one unit."""
    with database().reading() as store:
        tag = store.units.place(tag).tag
        task, own = tasks.task_at(store, tag, code)
    return preconditions.tagged(shown_task(task, own) | {"unit": tag}, own.version)


@routes.patch(
    "/v1/units/{tag}/tasks/{code}",
    allow=OFFICE,
    body=TaskSchema,
    partial=True,
    answers={200: Answer(TaskSchema, headers=("ETag",))},
)
def set_task_at(tag: str, code: str, body: Body) -> Response:
    """Set a task for one unit, or switch it off there with `applies`; null restores the setting for all units."""
    with database().writing() as store:
        tag = store.units.place(tag).tag
        _, former = tasks.task_at(store, tag, code)
        preconditions.unchanged(former.version, "task", f"{tag}/{code}")
        (task, own), _ = tasks.set_task_at(store, actor(), tag, former, body)
    return preconditions.tagged(shown_task(task, own) | {"unit": tag}, own.version)


def refresh_soon() -> None:
    """Refresh due items in short transactions, so that visits are not held up; the scheduler does the rest."""
    after: int | None = 0
    for _ in range(AT_ONCE):
        with database().writing() as store:
            after, _ = due.refresh_stale(store, after or 0, CHUNK)
        if after is None:
            return
