"""The composition root: the only file that imports all layers. Nothing is opened at import."""

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from types import MappingProxyType

from flask import Flask

from service import clock
from service.api import (
    assessments,
    assignments,
    attendances,
    audit,
    calculations,
    calls,
    company,
    condition,
    docs,
    endpoint,
    errors,
    fleet,
    fleet_years,
    health,
    issues,
    locations,
    onboarding,
    openapi,
    pauses,
    photos,
    pm_list,
    root_causes,
    summaries,
    table_imports,
    tasks,
    telemetry,
    tokens,
    transfer,
    triage,
    units,
    vans,
    visit_reports,
    visits,
    weeks,
)
from service.api.computing import Computing, in_this_process
from service.api.endpoint import Routes
from service.api.limits import Attempts, Refusals, Uses
from service.api.metrics import Metrics
from service.api.state import EXTENSION, State
from service.folders import shipped
from service.opening import Refused, migrate, open_checked_database, open_database
from service.settings import Settings
from service.storage import migrating
from service.usecases.health import Health
from service.usecases.record.photos import check_folder
from service.usecases.system import Check, FleetDatabase
from service.web import page as web
from service.web.subjects import SUBJECTS

__all__ = ["RESOURCES", "Refused", "create_app", "create_served", "migrate", "open_checked_database", "open_database"]

RESOURCES: tuple[Routes, ...] = (
    company.routes,
    fleet.routes,
    units.routes,
    locations.routes,
    condition.routes,
    calls.routes,
    attendances.routes,
    visits.routes,
    visit_reports.routes,
    photos.routes,
    assessments.routes,
    triage.routes,
    tasks.routes,
    pauses.routes,
    onboarding.routes,
    pm_list.routes,
    weeks.routes,
    vans.routes,
    assignments.routes,
    root_causes.routes,
    calculations.routes,
    summaries.routes,
    issues.routes,
    fleet_years.routes,
    table_imports.routes,
    transfer.routes,
    tokens.routes,
    audit.routes,
    docs.routes,
    health.routes,
)
NO_CHECKS: Mapping[str, Check] = MappingProxyType({})


def create_served(
    database: FleetDatabase, settings: Settings, computing: Computing, health: Health | None = None
) -> Flask:
    """The application as it is served: `/readyz` also asks for the schema and, with `health`, for the clockwork."""
    folder = shipped("migrations")
    checks = {"schema": lambda: migrating.require_head(database, folder), **(health.checks() if health else {})}
    return create_app(database, settings, checks=checks, computing=computing)


def create_app(
    database: FleetDatabase,
    settings: Settings,
    clock: Callable[[], datetime] = clock.now,
    checks: Mapping[str, Check] = NO_CHECKS,
    computing: Computing | None = None,
) -> Flask:
    """The application over this database; `/readyz` runs the further checks, each of which raises Unavailable."""
    app = Flask("service", static_folder=None)
    app.config.update(MAX_CONTENT_LENGTH=settings.max_body, PROVIDE_AUTOMATIC_OPTIONS=False)
    app.url_map.merge_slashes = False
    app.extensions[EXTENSION] = State(
        database=database,
        settings=settings,
        clock=clock,
        metrics=Metrics(),
        checks={"database": database.check_storable, "photos": partial(check_folder, database), **checks},
        attempts=Attempts(settings.failed_tokens),
        refusals=Refusals(),
        uses=Uses(),
        computing=computing or in_this_process(database),
    )
    telemetry.register(app)
    errors.register(app)
    endpoint.register(app, (*RESOURCES, openapi.routes_for(RESOURCES)))
    web.register(app, SUBJECTS)
    return app
