"""Correcting an attendance: who came, from when to when; its visits are corrected with it."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from flask import Response

from service.api.auth import STAFF
from service.api.state import actor, database
from service.domain.errors import Conflict
from service.domain.instants import at_site
from service.domain.plain import as_entered
from service.domain.record.attendances import ACCESS, Attendance
from service.schemas.attendances import AttendancePatch
from service.usecases.record import attendances
from service.web.page import Pages
from service.web.plain_form import CHANGED, UNCHANGED, Field, PlainForm

FORM = PlainForm(
    title="Correct the attendance at", button="Store the correction",
    schema=AttendancePatch(partial=("site", "crew", "arrived_at")),
    intro="All visits of this attendance are corrected with it. Their former texts are kept.",
    fields=(
        Field(name="arrived_at", label="Arrived", kind="datetime-local"),
        Field(name="left_at", label="Left", kind="datetime-local"),
        Field(name="crew", label="Who was there", kind="ticks"),
        Field(name="access", label="Access", kind="choice", options=ACCESS),
        Field(name="note", label="Note"),
        Field(name="why", label="Why it is corrected"),
    ),
)  # fmt: skip
pages = Pages("attendances")


@pages.get("/attendances/<attendance_id>/correct", allow=STAFF)
def correction_form(attendance_id: str) -> Response:
    """The form, with what is stored."""
    return _form(attendance_id).page()


@pages.post("/attendances/<attendance_id>/correct", allow=STAFF)
def correct(attendance_id: str) -> Response:
    """Correct what differs, in the attendance that was seen."""
    form = _form(attendance_id)

    def store_it(changes: Mapping[str, Any]) -> str:
        if not changes.keys() - {"why"}:
            raise Conflict(UNCHANGED)
        with database().writing() as store:
            former = store.attendances.get(attendance_id.lower(), to_write=True)
            if former.version != form.version:
                raise Conflict(CHANGED)
            attendances.change_attendance(store, actor(), former, changes)
        return f"/visits/{former.visits[0]}" if former.visits else "/"

    return form.send(store_it)


def _form(attendance_id: str) -> PlainForm:
    with database().reading() as store:
        found = store.attendances.get(attendance_id.lower())
        names = {each.code: each.name for each in store.technicians.by_id().values()}
        site = store.sites.get(found.site)
    crew = {code: names[code] for code in (*found.crew, *(code for code in names if code not in found.crew))}
    form = FORM.with_options(crew=crew).of(found, site.name)
    return replace(form, former=as_entered(found) | _times(found))


def _times(found: Attendance) -> dict[str, str]:
    """Arrival and leaving by the site's clock, as the form has them."""
    times = {"arrived_at": found.arrived_at, "left_at": found.left_at}
    return {name: at_site(at, found.time_zone)[:16] for name, at in times.items() if at is not None}
