"""The demo: an invented town's fleet in a fresh database, the day's work, one visit over HTTP, and what it changed."""

import importlib.util
import os
import shutil
import signal
import sys
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Thread
from typing import Any
from urllib.request import ProxyHandler, Request, build_opener
from uuid import uuid4

import click
import orjson

from service import clock
from service.api.telemetry import start_logging
from service.cli.database import print_errors, print_tally
from service.cli.opened import actor
from service.cli.serving import listen
from service.domain.instants import at_site
from service.domain.maintenance.due import FOLLOW_UP
from service.domain.maintenance.pm_list import DueRow, PmList, Stop
from service.domain.sessions import LINK_LIFE
from service.folders import shipped
from service.opening import migrate, open_checked_database
from service.rendering.pm_list import text as pm_list_text
from service.schemas.transfer import read_lines
from service.settings import from_environment
from service.usecases import sessions, tokens
from service.usecases.planning import pm_list
from service.usecases.system import FleetDatabase
from service.usecases.transfer import importing

HOST = "127.0.0.1"
SEED = 1
WIDTH = 100
COMPANY = {
    "record": "company",
    "name": "Towpath Cooling",
    "address": "1 Depot Road",
    "phone": "555-0100",
    "email": "office@example.org",
}


def run(*, once: bool, port: int) -> None:
    """Show what the product does, then serve unless `once`; the demo's database is gone when it ends."""
    start_logging("WARNING")
    with TemporaryDirectory(prefix="glycol-fleet-demo-") as folder:
        chosen = replace(
            from_environment(os.environ), home=Path(folder), database_url=f"sqlite:///{folder}/demo.sqlite3"
        )
        migrate(chosen)
        database = open_checked_database(chosen)
        try:
            _fill(database)
            pulled = _pull(database)
            click.echo(
                "\n" + pm_list_text.render(pulled, width=min(shutil.get_terminal_size((WIDTH, 24)).columns, 160))
            )
            post_and_show = partial(_post_and_show, pulled, *_access(database, pulled))
            _serve(partial(listen, database, chosen, host=HOST, port=port), post_and_show, once=once)
        finally:
            database.close()


def _fill(database: FleetDatabase) -> None:
    now = clock.now()
    raw = (orjson.dumps(record) for record in (COMPANY, *_demo_fleet()(now.date(), SEED)))
    with database.writing() as store:
        tally = importing.import_records(store, actor(), read_lines(raw), keep_good=False)
    print_errors(tally)
    print_tally(tally)


def _demo_fleet() -> Any:
    """The maker of the demo fleet, which is shipped as a script beside the program."""
    spec = importlib.util.spec_from_file_location("make_fleet", shipped("seed_data") / "make_fleet.py")
    if spec is None or spec.loader is None:
        raise FileNotFoundError("this installation lacks seed_data/make_fleet.py; install glycol-fleet again")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module.make_fleet


def _pull(database: FleetDatabase) -> PmList:
    with database.reading() as store:
        pulled, _ = pm_list.pull(store, clock.now(), pm_list.Asked(), frozenset())
    return pulled


def _access(database: FleetDatabase, pulled: PmList) -> tuple[str, dict[str, str]]:
    """An owner's token, and the secrets of the links that sign a browser in, by whom."""
    technician = next((row.technician for stop in pulled.stops for row in stop.rows if row.technician), None)
    create = partial(tokens.create, units_shown="us", actor=actor())
    with database.writing() as store:
        owner, text = create(store, name="demo", role="owner")
        own = create(store, name="demo phone", role="technician", technician=technician)[0]
        links = {
            who: sessions.make_link(store, actor(), token.id)
            for who, token in {"owner": owner, "technician": own}.items()
        }
    return text, links


def _serve(listening: Callable[..., None], show: Callable[[str], None], *, once: bool) -> None:
    """Serve, and call `show` from a thread of its own; with `once`, or when that fails, the server ends after it."""
    shown: Future[None] = Future()

    def show_aside(base: str) -> None:
        try:
            show(base)
            shown.set_result(None)
        except Exception as fault:  # raised again by the thread that waits
            shown.set_exception(fault)
        if once or shown.exception():
            signal.raise_signal(signal.SIGTERM)

    listening(ready=lambda host, port: Thread(target=show_aside, args=(f"http://{host}:{port}",), name="demo").start())
    if shown.done():
        shown.result()


def _post_and_show(pulled: PmList, token: str, links: Mapping[str, str], base: str) -> None:
    call = partial(_call, token=token, base=base)
    row = _first_pm(pulled)[1]
    before = {item["task"]: item for item in call("GET", f"/v1/units/{row.unit}/due")["items"]}
    visit = _visit(pulled, clock.now())
    click.echo(f"\nA technician posts a visit at {row.unit}, {row.site_name}:")
    click.echo(f"  POST /v1/visits  {orjson.dumps(visit).decode()}")
    answer = call("POST", "/v1/visits", visit)
    click.echo("What it changed:")
    for item in answer["due_items"]:
        former = before.get(item["task"])
        if former != item:
            was = former["due_on"] if former else "not due"
            click.echo(f"  {item['task']}: {was} -> {item['due_on']}. {item['why']}")
    _show_access(base, token, links, row.unit)


def _show_access(base: str, token: str, links: Mapping[str, str], unit: str) -> None:
    minutes = int(LINK_LIFE.total_seconds() // 60)
    pages = (f"  {who + ':':12} {base}/link/{secret}" for who, secret in links.items())
    click.echo(f"\nPages in a browser; each link signs in once, within {minutes} minutes:\n" + "\n".join(pages))
    click.echo(
        "\n".join(
            (
                f"\nServing on {base} with this token, an owner's, until stopped:\n  {token}",
                f'  curl -H "Authorization: Bearer {token}" "{base}/v1/pm-list?horizon_days=14"',
                f'  curl -H "Authorization: Bearer {token}" {base}/v1/units/{unit}/history',
                f'  curl -H "Authorization: Bearer {token}" "{base}/v1/pm-list?format=html" > pm-list.html',
            )
        )
    )


def _first_pm(pulled: PmList) -> tuple[Stop, DueRow]:
    """The first PM item, at a unit that has no follow-up due, and its stop."""
    rows = [(stop, row) for stop in pulled.stops for row in stop.rows]
    followed_up = {row.unit for _, row in rows if row.task == FOLLOW_UP}
    return next((stop, row) for stop, row in rows if row.work == "pm" and row.unit not in followed_up)


def _visit(pulled: PmList, now: datetime) -> dict[str, Any]:
    """A visit that does what is due at the first unit with PM on the list and leaves it recovering."""
    stop, row = _first_pm(pulled)
    at = partial(at_site, zone_name=row.time_zone)
    start = (now - timedelta(minutes=70)).replace(microsecond=0)
    bath = ((10, "47 degF", "as_found"), (65, "36 degF", "as_left"))
    return {
        "id": str(uuid4()),
        "unit": row.unit,
        "kind": "service_call",
        "arrived_at": at(start),
        "left_at": at(start + timedelta(minutes=70)),
        "readings": [
            {"quantity": "bath_temperature", "value": value, "when": when, "at": at(start + timedelta(minutes=after))}
            for after, value, when in bath
        ],
        "tasks": [{"task": due.task, "result": "done"} for due in stop.rows if _is_pm_at(due, row.unit)],
        "outcome": "recovering",
    }


def _is_pm_at(due: DueRow, unit: str) -> bool:
    return due.unit == unit and due.task != FOLLOW_UP


def _call(method: str, path: str, body: Mapping[str, Any] | None = None, *, token: str, base: str) -> Any:
    headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
    data = None if body is None else orjson.dumps(body)
    direct = build_opener(ProxyHandler({}))  # this machine is not reached through a proxy
    with direct.open(Request(base + path, data, headers, method=method)) as answer:  # noqa: S310 - our own server
        return orjson.loads(answer.read())
