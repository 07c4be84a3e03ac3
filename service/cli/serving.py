"""Serve the API with the clockwork beside it."""

import gc
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from ipaddress import ip_address
from socket import getaddrinfo

import click

from service import clock, scheduler
from service.api.admission import admission
from service.api.state import EXTENSION
from service.api.telemetry import start_logging
from service.app import create_served
from service.cli.opened import settings
from service.domain.physics.libraries import load_all
from service.domain.quantities import parse_quantity
from service.opening import migrate, open_checked_database
from service.processes.computing import Processes
from service.scheduler.digests import Digests
from service.scheduler.webhook import Webhook
from service.server.heaps import share_heaps
from service.server.interpreter import share_interpreter
from service.server.serve import serve
from service.settings import Settings
from service.usecases.backups import Plan
from service.usecases.health import Health
from service.usecases.moving import check_servable
from service.usecases.system import FleetDatabase

PLAIN = (
    "Plain HTTP beyond this machine: tokens can be read on the way. "
    "Set GLYCOL_FLEET_TLS_CERTIFICATE and GLYCOL_FLEET_TLS_KEY, or GLYCOL_FLEET_HOST=127.0.0.1 behind a proxy."
)


def run(*, host: str | None, port: int | None, migrate_first: bool) -> None:
    """Serve until stopped; Refused when the database must not be served."""
    chosen = settings()
    if migrate_first:
        migrate(chosen)
    start_logging(chosen.log_level)
    database = open_checked_database(chosen)
    try:
        check_servable(database)
        click.echo(f"Database: {database.described()}", err=True)
        shown = partial(say, scheme="http" if chosen.tls_certificate is None else "https")
        at = chosen.port if port is None else port
        listen(database, chosen, host=host or chosen.host, port=at, ready=shown)
    finally:
        database.close()


def say(host: str, port: int, scheme: str = "http") -> None:
    """Show where it listens, once it does; with a warning where tokens could be read on the way."""
    click.echo(f"Serving on {scheme}://{host}:{port}", err=True)
    if scheme == "http" and not _is_this_machine(host):
        click.echo(PLAIN, err=True)


def _is_this_machine(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def listen(
    database: FleetDatabase, chosen: Settings, *, host: str, port: int, ready: Callable[[str, int], None] = say
) -> None:
    """Serve a database that is open; `ready` gets host and port; OSError when they cannot be had."""
    share_heaps()
    share_interpreter()
    processes, health = Processes(database, chosen), Health()
    app = create_served(database, chosen, processes.computing, health)
    warm_up()
    metrics = app.extensions[EXTENSION].metrics
    clockwork = scheduler.start(
        database,
        clock.now,
        lambda at: metrics.due_refreshed.set(at.timestamp()),
        health,
        backup_plan(chosen),
        digests_of(chosen),
    )
    try:
        getaddrinfo(host, port)  # of a host that is none, the server would not say which
        here = replace(chosen, host=host, port=port)

        def begun(host: str, port: int) -> None:
            processes.start()
            ready(host, port)

        serve(app, here, admit=admission(app), count=metrics.refused, ready=begun)
    except OSError as fault:
        raise OSError(f"cannot listen on {host}:{port}: {fault.strerror or fault}") from fault
    finally:
        clockwork.shutdown(wait=True)
        processes.close()
        gc.unfreeze()  # CoolProp complains at the end of what cannot be collected


def backup_plan(chosen: Settings) -> Plan | None:
    """The daily backups that the settings ask for."""
    return None if chosen.backup_folder is None else Plan(chosen.backup_folder, chosen.backup_keep)


def digests_of(chosen: Settings) -> Digests | None:
    """The morning digests that the settings ask for; none by default."""
    if chosen.digest_folder is None and chosen.digest_webhook is None:
        return None
    webhook = None
    if chosen.digest_webhook is not None:
        webhook = Webhook(chosen.digest_webhook, chosen.digest_secret or "", private=chosen.digest_private == 1)
    return Digests(chosen.digest_at, chosen.digest_folder, webhook)


def warm_up() -> None:
    """Load what is loaded at first use, so that no request waits for it, and keep it out of the collector's way."""
    parse_quantity("28 degF", "temperature")
    os.environ.setdefault("COOLPROP_DISABLE_SUPERANCILLARIES_ENTIRELY", "1")  # loads in a quarter of the time
    with standard_output_aside():
        load_all()
    gc.collect()
    gc.freeze()


@contextmanager
def standard_output_aside() -> Iterator[None]:
    """Drop what a library prints while it is loaded: standard output is for answers."""
    sys.stdout.flush()
    kept = os.dup(1)
    try:
        with open(os.devnull, "wb") as nowhere:
            os.dup2(nowhere.fileno(), 1)
            yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
