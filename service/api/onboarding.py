"""Route of /v1/onboarding-plans: spread the first work at a fleet that was taken over."""

from collections.abc import Mapping
from typing import Any

from service.api.auth import OFFICE
from service.api.endpoint import Routes
from service.api.state import actor, database, now
from service.schemas.onboarding import OnboardingPlanSchema, OnboardingPlanShown, PlanQuery, shown_plan
from service.usecases.planning import onboarding

Body = Mapping[str, Any]
routes = Routes("onboarding")


@routes.post(
    "/v1/onboarding-plans",
    allow=OFFICE,
    query=PlanQuery,
    body=OnboardingPlanSchema,
    answers={200: OnboardingPlanShown, 201: OnboardingPlanShown},
)
def make_onboarding_plan(query: Body, body: Body) -> tuple[dict[str, Any], int]:
    """Lay overdue work over the coming weeks by urgency and site; a `dry_run` shows the plan without accepting it."""
    if query["dry_run"]:
        with database().reading() as store:
            return shown_plan(onboarding.plan(store, body, now()), accepted=False), 200
    with database().writing() as store:
        made = onboarding.plan(store, body, now())
        onboarding.accept(store, actor(), made)
    return shown_plan(made, accepted=True), 201
