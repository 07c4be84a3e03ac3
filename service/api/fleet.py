"""Routes of /v1/customers, /v1/technicians and /v1/sites."""

from collections.abc import Mapping
from typing import Any

from flask import Response

from service.api import paging, preconditions
from service.api.auth import OFFICE, OWNER, STAFF
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database
from service.schemas.fleet import (
    CustomerPage,
    CustomerSchema,
    SitePage,
    SiteQuery,
    SiteSchema,
    TechnicianPage,
    TechnicianSchema,
)
from service.schemas.paging import PageQuery
from service.schemas.shown import shown
from service.usecases.record import fleet

Body = Mapping[str, Any]
routes = Routes("fleet")


def by_code(resource: Any) -> tuple[str]:
    """The sort key of these lists."""
    return (resource.code,)


@routes.get("/v1/customers", allow=OFFICE, query=PageQuery, answers={200: Answer(CustomerPage, headers=("Link",))})
def list_customers(query: Body) -> Response:
    """List customers by code."""
    with database().reading() as store:
        found = store.customers.page(after=paging.first_part(query), limit=query["limit"] + 1)
    return paging.page(found, query, key=by_code, show=shown)


@routes.post(
    "/v1/customers", allow=OFFICE, body=CustomerSchema, answers={201: Answer(CustomerSchema, headers=("ETag",))}
)
def add_customer(body: Body) -> Response:
    """Register a customer."""
    with database().writing() as store:
        customer = fleet.add_customer(store, actor(), body)
    return preconditions.tagged(shown(customer), customer.version, 201)


@routes.get("/v1/customers/{code}", allow=OFFICE, answers={200: Answer(CustomerSchema, headers=("ETag",))})
def get_customer(code: str) -> Response:
    """Get one customer."""
    with database().reading() as store:
        customer = store.customers.get(code)
    return preconditions.tagged(shown(customer), customer.version)


@routes.patch(
    "/v1/customers/{code}",
    allow=OFFICE,
    body=CustomerSchema,
    partial=True,
    answers={200: Answer(CustomerSchema, headers=("ETag",))},
)
def change_customer(code: str, body: Body) -> Response:
    """Change fields of a customer."""
    with database().writing() as store:
        former = store.customers.get(code)
        preconditions.unchanged(former.version, "customer", code)
        customer = fleet.change_customer(store, actor(), former, body)
    return preconditions.tagged(shown(customer), customer.version)


@routes.get("/v1/technicians", allow=STAFF, query=PageQuery, answers={200: Answer(TechnicianPage, headers=("Link",))})
def list_technicians(query: Body) -> Response:
    """List technicians by code, including those who have left."""
    with database().reading() as store:
        found = store.technicians.page(after=paging.first_part(query), limit=query["limit"] + 1)
    return paging.page(found, query, key=by_code, show=shown)


@routes.post(
    "/v1/technicians", allow=OWNER, body=TechnicianSchema, answers={201: Answer(TechnicianSchema, headers=("ETag",))}
)
def add_technician(body: Body) -> Response:
    """Register a technician."""
    with database().writing() as store:
        technician = fleet.add_technician(store, actor(), body)
    return preconditions.tagged(shown(technician), technician.version, 201)


@routes.get("/v1/technicians/{code}", allow=STAFF, answers={200: Answer(TechnicianSchema, headers=("ETag",))})
def get_technician(code: str) -> Response:
    """Get one technician."""
    with database().reading() as store:
        technician = store.technicians.get(code)
    return preconditions.tagged(shown(technician), technician.version)


@routes.patch(
    "/v1/technicians/{code}",
    allow=OWNER,
    body=TechnicianSchema,
    partial=True,
    answers={200: Answer(TechnicianSchema, headers=("ETag",))},
)
def change_technician(code: str, body: Body) -> Response:
    """Change fields of a technician; set `left_on` when one has left."""
    with database().writing() as store:
        former = store.technicians.get(code)
        preconditions.unchanged(former.version, "technician", code)
        technician = fleet.change_technician(store, actor(), former, body)
    return preconditions.tagged(shown(technician), technician.version)


@routes.get("/v1/sites", allow=STAFF, query=SiteQuery, answers={200: Answer(SitePage, headers=("Link",))})
def list_sites(query: Body) -> Response:
    """List sites by code, of one customer or of all."""
    with database().reading() as store:
        found = store.sites.page(
            after=paging.first_part(query), limit=query["limit"] + 1, customer_code=query.get("customer")
        )
    return paging.page(found, query, key=by_code, show=shown)


@routes.post("/v1/sites", allow=OFFICE, body=SiteSchema, answers={201: Answer(SiteSchema, headers=("ETag",))})
def add_site(body: Body) -> Response:
    """Register a site of a customer."""
    with database().writing() as store:
        site = fleet.add_site(store, actor(), body)
    return preconditions.tagged(shown(site), site.version, 201)


@routes.get("/v1/sites/{code}", allow=STAFF, answers={200: Answer(SiteSchema, headers=("ETag",))})
def get_site(code: str) -> Response:
    """Get one site."""
    with database().reading() as store:
        site = store.sites.get(code)
    return preconditions.tagged(shown(site), site.version)


@routes.patch(
    "/v1/sites/{code}",
    allow=OFFICE,
    body=SiteSchema,
    partial=True,
    answers={200: Answer(SiteSchema, headers=("ETag",))},
)
def change_site(code: str, body: Body) -> Response:
    """Change fields of a site; the due dates of its units are recalculated."""
    with database().writing() as store:
        former = store.sites.get(code)
        preconditions.unchanged(former.version, "site", code)
        site = fleet.change_site(store, actor(), former, body)
    return preconditions.tagged(shown(site), site.version)
