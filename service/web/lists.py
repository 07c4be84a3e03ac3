"""The leave of a technician and the opening hours of a site: what is ticked is kept, what is filled in is added."""

from collections.abc import Mapping, Sequence
from typing import Any

from flask import Response, request
from marshmallow import Schema

from service.api.auth import OFFICE, OWNER
from service.api.state import actor, database
from service.domain.errors import Conflict, DomainError, Invalid
from service.domain.plain import to_plain
from service.domain.record.fleet import WEEKDAYS
from service.schemas.fleet import SiteSchema, TechnicianSchema
from service.schemas.reading import read
from service.usecases.record import fleet
from service.web.page import Pages, see_other
from service.web.plain_form import CHANGED
from service.web.render import show

pages = Pages("lists")


@pages.get("/technicians/<code>/leave", allow=OWNER)
def leave_form(code: str) -> Response:
    """The days on which a technician does not work."""
    return _leave(code)


@pages.post("/technicians/<code>/leave", allow=OWNER)
def change_leave(code: str) -> Response:
    """Keep the days that are ticked, and add those that are given."""
    try:
        with database().writing() as store:
            former = store.technicians.get(code)
            changes = _changes(former, former.leave, "leave", TechnicianSchema(partial=True), ("from", "until"))
            fleet.change_technician(store, actor(), former, changes)
    except (Invalid, Conflict) as refusal:
        return _leave(code, refusal)
    return see_other(f"/technicians/{former.code}/leave")


@pages.get("/sites/<code>/hours", allow=OFFICE)
def hours_form(code: str) -> Response:
    """The hours in which a site can be visited."""
    return _hours(code)


@pages.post("/sites/<code>/hours", allow=OFFICE)
def change_hours(code: str) -> Response:
    """Keep the hours that are ticked, and add those that are given."""
    try:
        with database().writing() as store:
            former = store.sites.get(code)
            fields = ("weekday", "from", "until")
            changes = _changes(former, former.opening_hours, "opening_hours", SiteSchema(partial=True), fields)
            fleet.change_site(store, actor(), former, changes)
    except (Invalid, Conflict) as refusal:
        return _hours(code, refusal)
    return see_other(f"/sites/{former.code}/hours")


def _changes(former: Any, known: Sequence[Any], name: str, schema: Schema, fields: Sequence[str]) -> Mapping[str, Any]:
    """The list as it shall be, of a record that was seen in the version of the form."""
    if request.form.get("version") != str(former.version):
        raise Conflict(CHANGED)
    kept = [to_plain(each) for n, each in enumerate(known) if str(n) in request.form.getlist("keep")]
    more = {field: text for field in fields if (text := request.form.get(field, "").strip())}
    return read(schema, {name: [*kept, more] if more.keys() - {"weekday"} else kept})


def _leave(code: str, refusal: DomainError | None = None) -> Response:
    with database().reading() as store:
        technician = store.technicians.get(code)
    return show(
        "leave.html", status=422 if refusal else 200, technician=technician, refusal=refusal, given=request.form
    )


def _hours(code: str, refusal: DomainError | None = None) -> Response:
    with database().reading() as store:
        site = store.sites.get(code)
    return show(
        "hours.html", status=422 if refusal else 200, site=site, refusal=refusal, given=request.form, weekdays=WEEKDAYS
    )
