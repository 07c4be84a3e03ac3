"""Nobody let us in: an arrival without a visit, so that the work stays due and the customer's year says why."""

from dataclasses import replace
from functools import partial
from uuid import uuid4

from flask import Response, g, request

from service.api import once
from service.api.attendances import recorded
from service.api.auth import STAFF
from service.api.state import caller, database, now
from service.domain.instants import at_site
from service.domain.record.attendances import ACCESS, DONE
from service.schemas.attendances import AttendancePost
from service.web.page import Pages, see_other
from service.web.plain_form import Document, Field, PlainForm
from service.web.visit_document import local_instant
from service.web.visits import check_id

FORM = PlainForm(
    title="Nobody let us in at",
    button="Store",
    schema=AttendancePost(),
    fields=(
        Field(name="arrived_at", label="Arrived", kind="datetime-local"),
        Field(name="crew", label="Who was there", kind="select"),
        Field(
            name="access",
            label="What happened",
            kind="choice",
            options={code: code.replace("_", " ") for code in ACCESS if code != DONE},
        ),
        Field(name="note", label="Note", hint="who was asked, when to come again"),
    ),
)
pages = Pages("no_access")


@pages.get("/sites/<code>/no-access", allow=STAFF)
def new(code: str) -> Response:
    """A form under an id of its own."""
    with database().reading() as store:
        site = store.sites.get(code)
    return see_other(f"/sites/{site.code}/no-access/{uuid4()}")


@pages.get("/sites/<code>/no-access/<visit_id>", allow=STAFF)
def form(code: str, visit_id: str) -> Response:
    """The form."""
    check_id(visit_id)
    with database().reading() as store:
        site = store.sites.get(code)
    usual = {"arrived_at": at_site(now(), site.time_zone)[:16], "crew": caller().technician or ""}
    return _form(site.name).page(usual | {"access": "no_access"})


@pages.post("/sites/<code>/no-access/<visit_id>", allow=STAFF)
def send(code: str, visit_id: str) -> Response:
    """Store the arrival, once however often it is sent."""
    check_id(visit_id)
    with database().reading() as store:
        site = store.sites.get(code)
    day, _, clock = request.form.get("arrived_at", "").partition("T")
    crew = [request.form["crew"]] if request.form.get("crew") else []
    also = {"id": visit_id, "site": code, "crew": crew, "arrived_at": local_instant(day, clock, site.time_zone)}
    sent = _form(site.name)
    g.document = sent.document(request.form) | also
    return sent.send(_stored, **also)


def _stored(new: Document) -> str:
    once.post(new, "attendance", partial(recorded, system=caller().units_shown, causes={}))
    return "/"


def _form(site: str) -> PlainForm:
    with database().reading() as store:
        names = {each.code: each.name for each in store.technicians.by_id().values()}
    return replace(FORM.with_options(crew=names), about=site)
