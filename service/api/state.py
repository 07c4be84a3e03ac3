"""What a view can use: the database, the time, the caller."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from flask import current_app, g

from service.api.computing import Computing
from service.api.limits import Attempts, Refusals, Uses
from service.api.metrics import Metrics
from service.domain.audit import Actor
from service.settings import Settings
from service.usecases.system import Check, FleetDatabase

EXTENSION = "glycol-fleet"


@dataclass(frozen=True, slots=True)
class Caller:
    """The owner of the request's token; `units_shown` is "si" or "us"."""

    token_id: str
    name: str
    role: str
    units_shown: str
    technician: str | None = None


@dataclass(frozen=True, slots=True)
class State:
    """The parts of one application."""

    database: FleetDatabase
    settings: Settings
    clock: Callable[[], datetime]
    metrics: Metrics
    checks: Mapping[str, Check]
    attempts: Attempts
    refusals: Refusals
    uses: Uses
    computing: Computing


def state() -> State:
    """The running application's parts."""
    held: State = current_app.extensions[EXTENSION]
    return held


def database() -> FleetDatabase:
    """The database; open it with `reading()` or `writing()`."""
    return state().database


def now() -> datetime:
    """The instant of this request, UTC: one for the whole request."""
    if "now" not in g:
        g.now = state().clock()
    instant: datetime = g.now
    return instant


def caller() -> Caller:
    """The caller; only on routes that need a token."""
    known: Caller = g.caller
    return known


def actor() -> Actor:
    """The actor recorded in the audit trail for changes by this request."""
    who = caller()
    return Actor(who.name, who.role, g.request_id, now(), token_id=who.token_id, technician=who.technician)
