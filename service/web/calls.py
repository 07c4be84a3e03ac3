"""Calls: taking one while the phone is at the ear, assigning, answering and cancelling it."""

from collections import defaultdict
from datetime import UTC
from typing import Any
from uuid import uuid4

from flask import Response, g, request

from service.api import once
from service.api.auth import STAFF
from service.api.calls import recorded
from service.api.state import actor, caller, database, now, state
from service.domain.errors import Conflict, Invalid
from service.domain.record.calls import Call, CallFilter
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import SYMPTOMS
from service.schemas.calls import CallSchema
from service.schemas.reading import read
from service.schemas.triage import triage_to_json
from service.usecases.diagnosis import triage
from service.usecases.record import calls
from service.usecases.system import Store
from service.web.page import Pages, see_other
from service.web.render import show
from service.web.units import MOST_FOUND, facts_of, find

MOST_CALLS = 100
MOST_SITES = 1000
URGENCIES = {"now": "now", "today": "today", "this_week": "this week", "can_wait": "can wait"}
ANSWERS = {
    "assign": ("technician", "day"),
    "answered": ("advice",),
    "cancelled": ("why",),
    "open": (),
}
pages = Pages("calls")


@pages.get("/calls", allow=STAFF)
def open_calls() -> Response:
    """The calls that wait, newest first, and those closed lately."""
    with database().reading() as store:
        found = store.calls.page(CallFilter(), after=None, limit=MOST_CALLS)
        names = {each.code: each.name for each in store.technicians.by_id().values()}
        sites = {call.site: store.sites.get(call.site).name for call in found if call.site}
    return show("calls.html", found=found, names=names, sites=sites)


@pages.get("/calls/new", allow=STAFF)
def take_call() -> Response:
    """Find the unit by part of what the caller says; then the unit's facts and the form."""
    sought, tag = request.args.get("q", "").strip(), request.args.get("unit", "")
    return _form({"id": str(uuid4()), "unit": tag}, sought=sought)


@pages.post("/calls/new", allow=STAFF)
def record_call() -> Response:
    """Store the call; its page then shows what to ask first."""
    form = request.form
    by = {name: text for name in ("name", "phone") if (text := form.get(f"by.{name}", "").strip())}
    fields = ("id", "unit", "site", "symptom", "words", "urgency")
    given: dict[str, Any] = {name: text for name in fields if (text := form.get(name, "").strip())}
    if skills := [skill for text in form.get("skills", "").split(",") if (skill := text.strip())]:
        given["skills"] = skills
    given |= {"received_at": form.get("received_at") or _now()} | ({"by": by} if by else {})
    g.document = given
    try:
        once.post(read(CallSchema(), given), "call", recorded)
    except (Invalid, Conflict) as refusal:
        return _form(form.to_dict(), refusal=refusal)
    return see_other(f"/calls/{given['id']}")


@pages.get("/calls/<call_id>", allow=STAFF)
def call_page(call_id: str) -> Response:
    """One call with its unit's facts, what to ask first, and how it can go on."""
    return _page(call_id)


@pages.post("/calls/<call_id>", allow=STAFF)
def change_call(call_id: str) -> Response:
    """Assign, answer by phone, cancel or reopen a call that was seen in the version of the form."""
    form = request.form
    how = form.get("do", "")
    changes: dict[str, Any] = {name: form.get(name, "").strip() or None for name in ANSWERS.get(how, ())}
    if how != "assign":
        changes |= {"state": how} | ({"how": "phone_advice"} if how == "answered" else {})
    try:
        body = read(CallSchema(partial=True), changes)
        with database().writing() as store:
            former = store.calls.get(call_id.lower(), to_write=True)
            if form.get("version") != str(former.version):
                raise Conflict("The call has changed since this page was opened; it is shown here as it is now.")
            calls.change_call(store, actor(), former, body)
    except (Invalid, Conflict) as refusal:
        return _page(call_id, refusal=refusal, status=422)
    return see_other(f"/calls/{call_id}")


def _now() -> str:
    return now().astimezone(UTC).isoformat(timespec="seconds")


def _form(given: dict[str, str], *, sought: str = "", refusal: Exception | None = None) -> Response:
    with database().reading() as store:
        found = find(store, sought) if sought else []
        sites = {unit.site: store.sites.get(unit.site) for unit in found}
        tag = given.get("unit")
        log = store.log_of(tag) if tag and refusal is None else None
        facts = _unit_facts(store, log)
        places = sorted(store.sites.page(after=None, limit=MOST_SITES, customer_code=None), key=lambda each: each.name)
    return show(
        "call_form.html", status=422 if refusal else 200, given=defaultdict(str, given), sought=sought,
        found=found[:MOST_FOUND], sites=sites, refusal=refusal, symptoms=SYMPTOMS, urgencies=URGENCIES,
        received_at=_now(), places=places, **facts,
    )  # fmt: skip


def _unit_facts(store: Store, log: UnitLog | None) -> dict[str, Any]:
    if log is None:
        return {"log": None, "last": None, "root_causes": (), "due": ()}
    facts = facts_of(store, log)
    last = log.visits[-1] if log.visits else None
    return {"log": log, "last": last, "root_causes": facts["root_causes"], "due": facts["due"]}


def _page(call_id: str, *, refusal: Exception | None = None, status: int = 200) -> Response:
    with database().reading() as store:
        call = store.calls.get(call_id.lower())
        log = None if call.unit is None else store.log_of(call.unit)
        site = None if call.site is None else store.sites.get(call.site)
        technicians = sorted(store.technicians.by_id().values(), key=lambda each: each.name)
        asked = _first_question(store, call)
        facts = _unit_facts(store, log)
    return show(
        "call.html", status=status, call=call, site=site, technicians=technicians, asked=asked, refusal=refusal,
        given=request.form,
        names={each.code: each.name for each in technicians},
        **facts,
    )  # fmt: skip


def _first_question(store: Store, call: Call) -> dict[str, Any] | None:
    """What triage would ask first, for a call that waits and whose unit is known."""
    if call.unit is None or not call.waiting:
        return None
    system = caller().units_shown
    asked = {"unit": call.unit, "symptom": call.symptom}
    return triage_to_json(triage.triage(store, actor(), asked, system, state().computing.weigh), system)
