"""Routes of /v1/triage: which explanations fit, and what to measure next; nothing is stored."""

from collections.abc import Mapping
from typing import Any

from service.api.auth import STAFF
from service.api.endpoint import Routes
from service.api.state import actor, database, state
from service.api.units import units_shown
from service.domain.triage.explanations import EXPLANATIONS
from service.domain.triage.observations import SIGNS
from service.schemas.triage import AllExplanationsSchema, TriageQuestionSchema, TriageSchema, triage_to_json
from service.schemas.units import Shown
from service.usecases.diagnosis import triage

Body = Mapping[str, Any]
routes = Routes("triage")


@routes.post("/v1/triage", allow=STAFF, body=TriageQuestionSchema, query=Shown, answers={200: TriageSchema})
def ask_triage(body: Body, query: Body) -> dict[str, Any]:
    """Weigh the explanations of what a customer noticed, what was read and what was seen. Nothing is stored.

    A dialogue: take the step named first in `next`, add its reading or observation, and post again. It works for a call
    that nobody has attended yet, with what the customer can see and hear. Live parts, the refrigerant circuit and
    roofs are for qualified people under the local code.
    """
    system = units_shown(query)
    with database().reading() as store:
        found = triage.triage(store, actor(), body, system, state().computing.weigh)
    return triage_to_json(found, system)


@routes.get("/v1/triage/explanations", allow=STAFF, answers={200: AllExplanationsSchema})
def list_explanations() -> dict[str, Any]:
    """List every explanation with its confirming test and remedy, and the observations that triage takes."""
    return {
        "explanations": [
            {
                "code": each.code,
                "sentence": each.sentence,
                "prior": each.prior,
                "test": each.test,
                "remedy": each.remedy,
                "cautions": list(each.cautions),
            }
            for each in EXPLANATIONS
        ],
        "observations": [{"code": sign.code, "question": sign.question} for sign in SIGNS],
    }
