"""What commands share that open the database: settings, actor, and the database closed at the end."""

import os
from collections.abc import Iterator
from contextlib import contextmanager

from service import clock
from service.domain.audit import Actor
from service.opening import open_checked_database
from service.server.interpreter import collect_seldom
from service.settings import Settings, from_environment
from service.usecases.system import FleetDatabase


def settings() -> Settings:
    """The installation's settings."""
    return from_environment(os.environ)


def actor() -> Actor:
    """The actor recorded in the audit trail: whoever may run commands is an owner."""
    return Actor("command line", "owner", None, clock.now())


@contextmanager
def database() -> Iterator[FleetDatabase]:
    """The database, closed at the end. What a command makes of its records is large and has hardly a cycle."""
    collect_seldom()
    opened = open_checked_database(settings())
    try:
        yield opened
    finally:
        opened.close()
