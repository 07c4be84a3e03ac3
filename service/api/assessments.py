"""The route of /v1/assessments: assesses a visit's body; nothing is stored."""

from collections.abc import Mapping
from typing import Any

from service.api.auth import STAFF
from service.api.endpoint import Routes
from service.api.state import actor, database, state
from service.api.units import units_shown
from service.schemas.assessments import AssessmentSchema, assessment_to_json
from service.schemas.units import Shown
from service.schemas.visits import VisitSchema
from service.usecases.diagnosis import assessments

Body = Mapping[str, Any]
routes = Routes("assessments")


@routes.post("/v1/assessments", allow=STAFF, body=VisitSchema, query=Shown, answers={200: AssessmentSchema})
def assess_visit(body: Body, query: Body) -> dict[str, Any]:
    """Assess a visit's body, checked as a posted visit is. Nothing is stored, and no id is needed.

    The findings are those of the posted visit.
    """
    system = units_shown(query)
    with database().reading() as store:
        assessment = assessments.assess_unstored(store, actor(), body, system, state().computing.weigh)
    return assessment_to_json(assessment, system)
