"""Spreading the first work at units that were taken over: the plan is shown first, and stored when it is accepted."""

from hashlib import sha256
from typing import Any

import orjson
from flask import Response, request
from werkzeug.datastructures import MultiDict

from service.api.auth import OFFICE
from service.api.state import actor, database, now
from service.domain.errors import Conflict, DomainError, Invalid
from service.domain.instants import local_day
from service.domain.record.fleet import WEEKDAYS
from service.schemas.onboarding import OnboardingPlanSchema, shown_plan
from service.schemas.reading import read
from service.usecases.maintenance.due import fleet_tasks
from service.usecases.planning import onboarding
from service.web.page import Pages, see_other
from service.web.plain_form import Field, PlainForm
from service.web.render import show

MOST = 1000
USUAL_WEEKS = "13"
PLAN = PlainForm(
    title="", button="", schema=OnboardingPlanSchema(),
    fields=(
        Field(name="from", label="First day", kind="date"),
        Field(name="weeks", label="Weeks", kind="whole"),
        Field(name="hours_per_day", label="Hours of work on a day", kind="decimal"),
        Field(name="weekdays", label="On", kind="ticks"),
    ),
)  # fmt: skip
OTHER_PLAN = "The plan is another one than the one you saw. It is shown here as it is now."
pages = Pages("onboarding")


@pages.get("/onboarding", allow=OFFICE)
def plan_form() -> Response:
    """The form for a plan."""
    usual: MultiDict[str, str] = MultiDict({"from": local_day(now(), "UTC").isoformat(), "weeks": USUAL_WEEKS})
    usual.setlist("weekdays", list(WEEKDAYS[:5]))
    return _page(usual)


@pages.post("/onboarding", allow=OFFICE)
def make_plan() -> Response:
    """Show the plan that the form asks for, or store it."""
    try:
        asked = read(PLAN.schema, PLAN.document(request.form))
        if request.form.get("do") != "accept":
            with database().reading() as store:
                return _page(request.form, plan=shown_plan(onboarding.plan(store, asked, now()), accepted=False))
        with database().writing() as store:
            made = onboarding.plan(store, asked, now())
            plan = shown_plan(made, accepted=False)
            if _digest(plan) != request.form.get("seen"):
                return _page(request.form, plan=plan, refusal=Conflict(OTHER_PLAN))
            onboarding.accept(store, actor(), made)
    except (Invalid, Conflict) as refusal:
        return _page(request.form, refusal=refusal)
    return see_other("/plan")


def _digest(plan: dict[str, Any]) -> str:
    """What names a plan, so that none is accepted but the one that was seen."""
    return sha256(orjson.dumps(plan)).hexdigest()


def _page(
    form: MultiDict[str, str], *, plan: dict[str, Any] | None = None, refusal: DomainError | None = None
) -> Response:
    faults, general = PLAN.faults_of(refusal)
    with database().reading() as store:
        sites = {each.code: each.name for each in store.sites.page(after=None, limit=MOST, customer_code=None)}
        tasks = fleet_tasks(store)
    return show(
        "onboarding.html", status=422 if refusal else 200, form=form, plan=plan, faults=faults, general=general,
        weekdays=WEEKDAYS, sites=sites, tasks=tasks, labels={each.name: each.label for each in PLAN.fields},
        seen=_digest(plan) if plan else "",
    )  # fmt: skip
