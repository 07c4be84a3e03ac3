"""How often PM work is due, for all units and for one: each task with its interval, range, source and what it needs."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from flask import Response

from service.api.auth import OFFICE
from service.api.state import actor, database
from service.api.tasks import refresh_soon
from service.domain.errors import Conflict
from service.domain.maintenance.settings import SPANS
from service.schemas.shown import shown_task
from service.schemas.tasks import TaskSchema
from service.usecases.maintenance import tasks
from service.web.page import Pages
from service.web.plain_form import CHANGED, FLAGS, Field, PlainForm
from service.web.render import show

AS_SPAN = "such as 90 days or 6 months"
FIELDS = (
    Field(name="applies", label="It is done", kind="flag", options=tuple(FLAGS), empty="not set"),
    Field(name="interval", label="Interval", hint=f"{AS_SPAN}; from the day on which it was last done"),
    Field(name="shortest", label="Shortest", hint="a dirty find shortens the interval, never below this"),
    Field(name="longest", label="Longest", hint="clean finds lengthen it, never beyond this; nor may it be postponed"),
    Field(name="minutes", label="Minutes", kind="whole", hint="usual time on site, without travel"),
    Field(name="bring", label="To bring", kind="lines", hint="one thing a line"),
    Field(
        name="skills", label="Skills that it asks for", kind="lines", hint="one a line; compared with the technicians'"
    ),
    Field(name="note", label="Why it is set so"),
)
EDITED = ("interval", "shortest", "longest", "minutes", "bring", "skills", "applies")
pages = Pages("pm_settings")


@pages.get("/pm-settings", allow=OFFICE)
def all_tasks() -> Response:
    """Every task as it applies to units without settings of their own."""
    with database().reading() as store:
        found = [shown_task(task, setting) for task, setting in tasks.catalogue(store)]
    return show("pm_settings.html", found=found, tag="", at="/pm-settings")


@pages.get("/pm-settings/<code>", allow=OFFICE)
def task_form(code: str) -> Response:
    """The form of a task for all units."""
    return _form(code).page()


@pages.post("/pm-settings/<code>", allow=OFFICE)
def set_task(code: str) -> Response:
    """Set a task for all units; what is empty is the default again."""
    form = _form(code)

    def store_it(changes: Mapping[str, Any]) -> str:
        with database().writing() as store:
            _, former = tasks.one_task(store, code)
            if former.version != form.version:
                raise Conflict(CHANGED)
            tasks.set_task(store, actor(), former, changes)
        refresh_soon()
        return "/pm-settings"

    return form.send(store_it)


@pages.get("/units/<tag>/pm-settings", allow=OFFICE)
def unit_tasks(tag: str) -> Response:
    """Every task as it applies at one unit."""
    with database().reading() as store:
        tag = store.units.place(tag).tag
        found = [shown_task(task, own) for task, own in tasks.tasks_at(store, tag)]
    return show("pm_settings.html", found=found, tag=tag, at=f"/units/{tag}/pm-settings")


@pages.get("/units/<tag>/pm-settings/<code>", allow=OFFICE)
def unit_task_form(tag: str, code: str) -> Response:
    """The form of a task at one unit."""
    return _form(code, tag).page()


@pages.post("/units/<tag>/pm-settings/<code>", allow=OFFICE)
def set_unit_task(tag: str, code: str) -> Response:
    """Set a task for one unit; what is empty is as for all units again."""
    form = _form(code, tag)

    def store_it(changes: Mapping[str, Any]) -> str:
        with database().writing() as store:
            place = store.units.place(tag)
            _, former = tasks.task_at(store, place.tag, code)
            if former.version != form.version:
                raise Conflict(CHANGED)
            tasks.set_task_at(store, actor(), place.tag, former, changes)
        return f"/units/{place.tag}/pm-settings"

    return form.send(store_it)


def _form(code: str, tag: str = "") -> PlainForm:
    """The fields that were set, and beside each what applies where none is."""
    with database().reading() as store:
        task, setting = tasks.task_at(store, tag, code) if tag else tasks.one_task(store, code)
        applied = shown_task(task, setting)
    fields = tuple(
        replace(each, hint=f"{each.hint}; " * bool(each.hint) + f"now {_words(applied[each.name])}")
        if each.name in EDITED and each.name not in applied["edited"] else each
        for each in FIELDS if task.interval is not None or each.name not in SPANS
    )  # fmt: skip
    former = {name: applied[name] for name in applied["edited"] if name in (*EDITED, "note")}
    otherwise, source = "as for all units" if tag else "the default", task.source.rstrip(".")
    intro = f"What is left empty is {otherwise}. Source of the default: {source}."
    return PlainForm(
        title=f"{task.name} at" if tag else task.name, about=tag, fields=fields,
        button="Store the setting", schema=TaskSchema(partial=True),
        intro=intro, former=former, version=setting.version,
    )  # fmt: skip


def _words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(value) or "nothing" if isinstance(value, list) else str(value)
