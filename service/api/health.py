"""Routes for monitoring: liveness, readiness and metrics; and the description of each problem type."""

from typing import Any

from flask import Response
from marshmallow import Schema, fields

from service.api import errors
from service.api.auth import OPEN
from service.api.endpoint import Answer, Routes
from service.api.state import state
from service.domain.errors import NotFound
from service.usecases import system

routes = Routes("health")
METRICS_TYPE = "text/plain; version=0.0.4; charset=utf-8"


class HealthSchema(Schema):
    """The process answers."""

    status = fields.String(required=True, metadata={"examples": ["ok"]})


class ProblemKindSchema(Schema):
    """The description of a problem type."""

    type = fields.String(required=True)
    title = fields.String(required=True)
    status = fields.Integer(required=True)
    meaning = fields.String(required=True)


PROBLEM = {errors.MEDIA_TYPE: {"$ref": "#/components/schemas/Problem"}}
NOT_READY = Answer(None, "Not ready; the detail says why", media=PROBLEM, headers=("Retry-After",))


@routes.get("/healthz", allow=OPEN, answers={200: HealthSchema})
def healthz() -> dict[str, str]:
    """Check that the process answers."""
    return {"status": "ok"}


@routes.get("/readyz", allow=OPEN, answers={200: HealthSchema, 503: NOT_READY})
def readyz() -> Response | dict[str, str]:
    """Check that a visit can be stored, that the schema is right, and that clockwork and backups run."""
    found = system.failing_checks(state().checks)
    if not found:
        return {"status": "ok"}
    detail = " ".join(f"{name}: {what}" for name, what in found.items())
    return errors.problem(errors.UNAVAILABLE, detail, headers=[("Retry-After", errors.RETRY_AFTER_SECONDS)])


@routes.get("/metrics", allow=OPEN, answers={200: Answer(None, "Figures", media={"text/plain": {"type": "string"}})})
def metrics() -> Response:
    """Get metrics in the Prometheus text format."""
    return Response(state().metrics.text(), content_type=METRICS_TYPE)


@routes.get("/problems/{name}", allow=OPEN, answers={200: ProblemKindSchema})
def problem_kind(name: str) -> dict[str, Any]:
    """Get the description of a problem type."""
    kind = errors.BY_NAME.get(name)
    if kind is None:
        raise NotFound("type of problem", name)
    return {"type": f"/problems/{kind.name}", "title": kind.title, "status": kind.status, "meaning": kind.meaning}
