"""All records at once: import, export, backup; and the audit trail, searched and verified."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple

import orjson
from flask import Response, request

from service.api.auth import OWNER
from service.api.endpoint import query_parameters
from service.api.state import actor, database, now, state
from service.api.transfer import exported
from service.domain.audit import AuditFilter, Entry
from service.domain.errors import Fault, Invalid
from service.domain.instants import parse_day
from service.schemas.audit import AuditQuery
from service.schemas.reading import read
from service.schemas.transfer import read_lines
from service.usecases import audit, backups
from service.usecases.transfer import importing
from service.web.page import Pages
from service.web.render import show

ENTRIES = 50
NAMES = ("resource", "key", "actor")
NUMBER = re.compile("[0-9]{1,15}")
LONGEST_SHOWN = 200
pages = Pages("data")


class Change(NamedTuple):
    """A field of a record before and after a change, as text."""

    name: str
    before: str
    after: str


@pages.get("/data", allow=OWNER)
def overview() -> Response:
    """Import, export and backup."""
    return _page()


@pages.post("/data/import", allow=OWNER, takes_file=True)
def import_file() -> Response:
    """Check a file, or store what is in it; every fault is named with its line."""
    sent, dry_run = request.files.get("file"), request.form.get("do") != "store"
    if sent is None or not sent.filename:
        return _page(status=422, why="Choose a file first.")
    stored, tally = _imported(read_lines(sent.stream), dry_run=dry_run, keep_good=bool(request.form.get("keep_good")))
    return _page(status=200 if stored or dry_run else 422, tally=tally, file=sent.filename, stored=stored)


def _imported(lines: Iterator[importing.Line], *, dry_run: bool, keep_good: bool) -> tuple[bool, importing.Tally]:
    """Whether something was stored, and what was found."""
    try:
        with database().writing() as store:
            tally = importing.import_records(store, actor(), lines, keep_good=keep_good or dry_run, dry_run=dry_run)
    except (importing.Rehearsed, importing.NothingStored) as ended:
        return False, ended.tally
    return True, tally


@pages.get("/data/export", allow=OWNER)
def export_file() -> Response:
    """All records as one file."""
    return exported()


@pages.post("/data/backup", allow=OWNER)
def back_up() -> Response:
    """Write a backup into the folder of the daily ones."""
    folder = state().settings.backup_folder
    if folder is None:
        return _page(status=422, why="No folder for backups is set.")
    try:
        path = backups.back_up(database(), folder, state().settings.backup_keep, now())
    except (backups.Refused, OSError) as failure:
        return _page(status=422, why=f"The backup failed: {failure}.")
    return _page(backup=path.name)


def _page(
    *, status: int = 200, why: str = "", tally: importing.Tally | None = None, file: str = "", stored: bool = False,
    backup: str = "",
) -> Response:  # fmt: skip
    return show(
        "data.html", status=status, why=why, tally=tally, file=file, stored=stored, backup=backup,
        why_left_out=importing.WHY_LEFT_OUT, folder=state().settings.backup_folder,
    )  # fmt: skip


@pages.get("/audit", allow=OWNER)
def trail() -> Response:
    """Who changed what, newest first; with `verify` the chain is calculated anew."""
    given = {name: text.strip() for name, text in query_parameters(AuditQuery()).items() if text.strip()}
    refusal = None
    try:
        asked, before = _asked(given)
    except Invalid as fault:
        asked, before, refusal = AuditFilter(), None, fault
    with database().reading() as store:
        found = store.audit.page(asked, before=before, limit=ENTRIES + 1)
    shown = [(entry, list(_changes(entry))) for entry in found[:ENTRIES]]
    return show(
        "audit.html", status=422 if refusal else 200, shown=shown, given=given, refusal=refusal, proof=None, noted="",
        more=found[ENTRIES - 1].id if len(found) > ENTRIES else None,
    )  # fmt: skip


@pages.post("/audit", allow=OWNER)
def verify() -> Response:
    """Calculate the chain of the audit trail anew, and look for a hash that was noted before."""
    noted = request.form.get("noted", "").strip().lower()
    with database().reading() as store:
        proof = audit.verify(store, noted or None)
    return show("audit.html", shown=[], given={}, refusal=None, proof=proof, noted=noted, more=None)


def _asked(given: dict[str, str]) -> tuple[AuditFilter, int | None]:
    """The filter, and the entry before which to go on; days are those of UTC, the last one included."""
    asked = read(AuditQuery(), {name: given[name] for name in NAMES if name in given})
    before = given.get("before", "")
    named = AuditFilter(
        **{name: asked.get(name) for name in NAMES}, since=_day(given, "since"), until=_day(given, "until", after=1)
    )
    return named, int(before) if NUMBER.fullmatch(before) else None


def _day(given: dict[str, str], name: str, *, after: int = 0) -> datetime | None:
    if name not in given:
        return None
    try:
        day = parse_day(given[name])
    except ValueError as fault:
        raise Invalid([Fault(name, given[name], str(fault))]) from fault
    return datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(days=after)


def _changes(entry: Entry) -> Iterator[Change]:
    """The fields that differ."""
    before, after = (_fields(text) for text in (entry.before, entry.after))
    for name in before | after:
        old, new = _short(before.get(name)), _short(after.get(name))
        if old != new:
            yield Change(name.replace("_", " "), old, new)


def _fields(text: str | None) -> dict[str, Any]:
    found = {} if text is None else orjson.loads(text)
    return found if isinstance(found, dict) else {"value": found}


def _short(value: Any) -> str:
    text = "" if value is None else value if isinstance(value, str) else orjson.dumps(value).decode()
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}…"
