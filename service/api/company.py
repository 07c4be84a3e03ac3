"""Routes of /v1/company."""

from collections.abc import Mapping
from datetime import UTC
from typing import Any

from flask import Response

from service.api import preconditions
from service.api.auth import OWNER, STAFF
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database, now
from service.domain.record.company import Company
from service.schemas.company import CompanySchema, shown_company
from service.usecases.record import company
from service.usecases.system import Store

routes = Routes("company")


@routes.get("/v1/company", allow=STAFF, answers={200: Answer(CompanySchema, headers=("ETag",))})
def get_company() -> Response:
    """Get our own company: what is printed on documents, hours of a working day, and the technicians' capacity."""
    with database().reading() as store:
        return _shown(store, store.company.get())


@routes.patch(
    "/v1/company",
    allow=OWNER,
    body=CompanySchema,
    partial=True,
    answers={200: Answer(CompanySchema, headers=("ETag",))},
)
def change_company(body: Mapping[str, Any]) -> Response:
    """Change fields of the company; its version is 0 until something is recorded."""
    with database().writing() as store:
        former = store.company.get()
        preconditions.unchanged(former.version, "company", company.KEY)
        return _shown(store, company.change_company(store, actor(), former, body))


def _shown(store: Store, found: Company) -> Response:
    today = company.capacity_on(store, now().astimezone(UTC).date())
    return preconditions.tagged(shown_company(found, today), found.version)
