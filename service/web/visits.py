"""The form of a visit, its assessment before leaving, and the visit as stored."""

from collections.abc import Mapping
from functools import partial
from typing import Any
from uuid import UUID, uuid4

import orjson
from flask import Response, g, request
from werkzeug.datastructures import MultiDict
from werkzeug.exceptions import Unauthorized

from service.api import once
from service.api.auth import STAFF
from service.api.headers import attachment
from service.api.state import actor, caller, database, now, state
from service.api.visits import recorded
from service.domain.errors import Conflict, DomainError, Invalid, KeyReused, NotFound
from service.domain.instants import at_site, local_day
from service.domain.record.former import former_visit
from service.domain.record.unit_log import UnitLog
from service.rendering.year.visit_report import write
from service.schemas.assessments import assessment_to_json
from service.schemas.reading import read
from service.schemas.visits import VisitSchema
from service.usecases.diagnosis import assessments
from service.usecases.diagnosis.causes import cause_of
from service.usecases.maintenance.due import due_at
from service.usecases.record.photos import of_report
from service.usecases.year.visit_reports import report_of
from service.web.page import Pages, see_other, wants_json
from service.web.render import show
from service.web.units import in_words
from service.web.visit_document import Form, Written, written
from service.web.visit_fields import fields_of

SHELL = "form"  # the form without an id, which a browser keeps for when it has no connection
OTHER_WRITER = "This visit was written by another person on this device. Sign in as that person to send it."
pages = Pages("visits")


@pages.get("/units/<tag>/visits/new", allow=STAFF)
def new_visit(tag: str) -> Response:
    """A form under an id of its own, so that going back and sending again makes no second visit."""
    with database().reading() as store:
        present = store.units.place(tag).tag
    return see_other(f"/units/{present}/visits/{uuid4()}")


@pages.get("/units/<tag>/visits/<visit_id>", allow=STAFF)
def visit_form(tag: str, visit_id: str) -> Response:
    """The form; once the visit is stored, the visit."""
    check_id(visit_id)
    with database().reading() as store:
        if visit_id != SHELL and store.visits.fingerprint(visit_id) is not None:
            return see_other(f"/visits/{visit_id}")
        log = store.log_of(tag)
        fields = fields_of(store, log, now(), caller())
    return show("visit_form.html", **fields, form=_usual(log, fields), faults={}, general=(), assessment=None)


@pages.post("/units/<tag>/visits/<visit_id>", allow=STAFF)
def send_visit(tag: str, visit_id: str) -> Response:
    """Assess what the form holds, or store it; the same use cases as those of the API."""
    check_id(visit_id)
    if visit_id == SHELL:
        raise NotFound("visit", visit_id)
    if request.form.get("writer", writer()) != writer():
        raise Unauthorized(OTHER_WRITER)
    with database().reading() as store:
        log = store.log_of(tag)
    made = written(request.form, unit=log.unit.tag, visit_id=visit_id, zone_name=log.time_zone)
    try:
        return _assessed(log, made) if request.form.get("do") == "assess" else _stored(visit_id, made)
    except (Invalid, KeyReused, Conflict) as refusal:
        return _again(log, made, refusal)


@pages.get("/visits/<visit_id>", allow=STAFF)
def visit_page(visit_id: str) -> Response:
    """A stored visit with its assessment, and what is due next."""
    return shown_visit(visit_id)


@pages.get("/visits/<visit_id>/report", allow=STAFF)
def visit_report(visit_id: str) -> Response:
    """The visit on one page for the customer, as a PDF; the internal note is not in it."""
    with database().reading() as store:
        report = report_of(store, visit_id.lower(), now(), None, caller().units_shown)
        pictures = of_report(store, report.visit) if request.args.get("photos") == "true" else []
    paper = "a4" if report.units_shown == "si" else "letter"
    body = state().computing.run(write, report, "pdf", paper, pictures)
    named = attachment(f"visit-{local_day(report.arrived_at, report.time_zone)}-{report.visit[:8]}.pdf")
    return Response(body, 200, named, content_type="application/pdf")


def shown_visit(visit_id: str, refusal: Exception | None = None) -> Response:
    """The page of a stored visit, after a refusal with what was refused."""
    system, weigh = caller().units_shown, state().computing.weigh
    with database().reading() as store:
        visit = store.visits.get(visit_id.lower())
        corrections = store.visits.corrections(visit.id)
        assessment = assessments.assess_visit(store.log_of(visit.unit), visit, system, cause_of(store, visit, weigh))
        items, today = due_at(store, visit.unit, now())
        due = in_words(store, items, today)
        site = store.sites.get(visit.site)
        names = {each.code: each.name for each in store.technicians.by_id().values()}
        pictures = [each for each in store.photos.of_visit(visit.id) if each.void is None]
    changes = [(made, former_visit(visit, made)) for made in reversed(corrections)]
    return show(
        "visit.html", status=422 if refusal else 200, visit=visit, site=site, names=names, due=due, refusal=refusal,
        assessment=assessment_to_json(assessment, system), system=system, changes=changes, photos=pictures,
        new_photo=uuid4(), writer=writer(), given=request.form,
        tried=request.path.rpartition("/")[2] if refusal else "",
    )  # fmt: skip


def writer() -> str:
    """Who writes in this session: drafts and what waits to be sent belong to a person, not to a device."""
    return caller().technician or caller().token_id


def check_id(visit_id: str) -> None:
    """404 for what is no UUID as the API takes it."""
    try:
        fits = visit_id == SHELL or str(UUID(visit_id)) == visit_id
    except ValueError:
        fits = False
    if not fits:
        raise NotFound("visit", visit_id)


def _usual(log: UnitLog, fields: Mapping[str, Any]) -> Form:
    """What a fresh form holds."""
    day, _, clock = at_site(now(), log.time_zone).partition("T")
    calls, due = fields["calls"], {each.item.task for each in fields["due"]}
    kind = "service_call" if calls else "follow_up" if "follow_up" in due else "maintenance"
    usual = [("day", day), ("arrived", clock[:5]), ("kind", kind), *(("call", call.id) for call in calls)]
    return MultiDict([*usual, *([("symptom", calls[0].symptom)] if calls else [])])


def _assessed(log: UnitLog, made: Written) -> Response:
    body = read(VisitSchema(), made.document)
    with database().reading() as store:
        found = assessments.assess_unstored(store, actor(), body, caller().units_shown, state().computing.weigh)
    assessment = assessment_to_json(found, caller().units_shown)
    if wants_json():
        return Response(orjson.dumps(assessment), content_type="application/json")
    with database().reading() as store:
        fields = fields_of(store, log, now(), caller())
    return show("visit_form.html", **fields, form=request.form, faults={}, general=(), assessment=assessment)


def _stored(visit_id: str, made: Written) -> Response:
    g.document = made.document
    body = read(VisitSchema(), made.document)
    if made.faults:
        _ask_back(visit_id, body, made)
    answer = once.post(body, "visit", partial(recorded, system=caller().units_shown))
    if wants_json():
        small = orjson.dumps({"id": visit_id, "path": f"/visits/{visit_id}"})
        return Response(small, 201, content_type="application/json")
    return see_other(f"/visits/{visit_id}") if answer.status_code == 201 else answer


def _ask_back(visit_id: str, body: Mapping[str, Any], made: Written) -> None:
    """Refuse with what is asked back and all else that is wrong, unless the visit is stored already."""
    with database().reading() as store:
        if store.visits.fingerprint(visit_id) is not None:
            return
        try:
            assessments.assess_unstored(store, actor(), body, caller().units_shown, state().computing.weigh)
        except Invalid as refusal:
            raise refusal.with_more(made.faults) from None
    raise Invalid(made.faults)


def _again(log: UnitLog, made: Written, refusal: DomainError) -> Response:
    """The form as it was sent, each fault at its field; for a script the faults alone."""
    named: dict[str, list[str]] = {}
    for fault in getattr(refusal, "faults", ()):
        named.setdefault(made.field_of(fault.field), []).append(fault.message)
    general = () if named else (str(refusal),)
    if wants_json():
        document = {"detail": str(refusal), "fields": named}
        return Response(orjson.dumps(document), 422, content_type="application/problem+json")
    with database().reading() as store:
        fields = fields_of(store, log, now(), caller())
    return show(
        "visit_form.html", status=422, **fields, form=request.form, faults=named, general=general, assessment=None
    )
