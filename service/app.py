"""The composition root: the only file that imports all layers. Nothing is opened at import."""

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from pathlib import Path
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
from service.api.endpoint import Routes
from service.api.limits import Attempts, Refusals, Uses
from service.api.metrics import Metrics
from service.api.state import EXTENSION, State
from service.domain.errors import Unavailable
from service.folders import PRIVATE_FOLDER, shipped
from service.rendering.year.formats import in_this_process
from service.settings import FILE_NAME, Settings
from service.storage import migrating, moves
from service.storage.engine import database as storage
from service.storage.engine.database import Refused
from service.storage.log_cache import LogCache
from service.storage.photo_files import PhotoFiles, folder_of
from service.storage.store import Store
from service.usecases.health import Health
from service.usecases.photos import check_folder
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


def open_database(
    settings: Settings, *, patience: float = storage.PATIENCE, limited: bool = True, store: type[Store] = Store
) -> FleetDatabase:
    """The database at the address of the settings; nothing is connected yet. Creates the default folder."""
    if settings.database_url == f"sqlite:///{settings.home / FILE_NAME}":
        settings.home.mkdir(PRIVATE_FOLDER, parents=True, exist_ok=True)
    files = PhotoFiles(photo_folder(settings))
    factory = partial(store, log_cache=LogCache(), photo_files=files)
    return storage.open_database(
        settings.database_url, factory, patience=patience, limited=limited, guard=moves.refuse_writes
    )


def photo_folder(settings: Settings) -> Path:
    """Where the files of photos are; it is made with the first one."""
    return settings.photo_folder or folder_of(settings.database_url, settings.home)


def migrate(settings: Settings) -> None:
    """Bring the database to the schema of this program; Refused when it must not be changed."""
    database = open_database(settings)
    try:
        database.check_start()
        database.claim()
        migrating.check_revision(database, shipped("migrations"))
        migrating.upgrade(settings.database_url, shipped("migrations"))
    finally:
        database.close()


def open_checked_database(settings: Settings) -> FleetDatabase:
    """The database, checked and at the schema of this program; Refused otherwise."""
    database = open_database(settings)
    try:
        database.check_start()
        migrating.check_revision(database, shipped("migrations"))
        migrating.require_head(database, shipped("migrations"))
    except Unavailable as refusal:
        database.close()
        raise Refused(str(refusal)) from refusal
    except Refused:
        database.close()
        raise
    return database


def create_served(
    database: FleetDatabase, settings: Settings, typeset: Callable[..., bytes], health: Health | None = None
) -> Flask:
    """The application as it is served: `/readyz` also asks for the schema and, with `health`, for the clockwork."""
    folder = shipped("migrations")
    checks = {"schema": lambda: migrating.require_head(database, folder), **(health.checks() if health else {})}
    return create_app(database, settings, checks=checks, typeset=typeset)


def create_app(
    database: FleetDatabase,
    settings: Settings,
    clock: Callable[[], datetime] = clock.now,
    checks: Mapping[str, Check] = NO_CHECKS,
    typeset: Callable[..., bytes] = in_this_process,
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
        typeset=typeset,
    )
    telemetry.register(app)
    errors.register(app)
    endpoint.register(app, (*RESOURCES, openapi.routes_for(RESOURCES)))
    web.register(app, SUBJECTS)
    return app
