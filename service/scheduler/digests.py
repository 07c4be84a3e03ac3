"""The morning digest of each technician and of the office: written to a folder, posted to a webhook. Off by default.

It runs beside all else and holds no transaction while it writes or posts. The ledger has what was delivered on which
day; what was not is tried again after a pause that doubles, with the same id.
"""

import logging
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from html import escape
from pathlib import Path
from time import monotonic

import orjson

from service.domain.instants import at_site, local_day, to_text
from service.domain.maintenance.pm_list import PmList
from service.rendering.pm_list import page, text
from service.scheduler.webhook import NotDelivered, Webhook, post
from service.schemas.vans import shown_load
from service.usecases.planning import pm_list, vans
from service.usecases.planning.shifts import Drive
from service.usecases.planning.weeks import plan_weeks
from service.usecases.record.company import zone_of
from service.usecases.system import FleetDatabase, Store

OFFICE = "office"
TECHNICIAN = "technician-"  # so that nobody's code is that of the office
BUDGET = 60.0  # of one turn [s]; who is left waits for the next
LATEST = timedelta(hours=6)  # after its time a digest is no longer of use
MOST_ITEMS = 300
MOST_ATTEMPTS = 8
FIRST_PAUSE = timedelta(minutes=1)
logger = logging.getLogger("glycol_fleet.digests")


@dataclass(frozen=True, slots=True)
class Digest:
    """What one reader gets on a day, as plain text and as HTML."""

    reader: str
    day: str
    text: str
    html: str


@dataclass(slots=True)
class Digests:
    """Where digests go and when, by the company's clock; how often each was tried and when it is tried again."""

    at: str = "06:00"
    folder: Path | None = None
    webhook: Webhook | None = None
    attempts: dict[tuple[str, str], int] = field(default_factory=dict)
    again_at: dict[tuple[str, str], datetime] = field(default_factory=dict)


def send(database: FleetDatabase, to: Digests, now: datetime) -> None:
    """Deliver the digests of the day that are due and not delivered."""
    with database.reading() as store:
        zone = zone_of(store)
        today, clock = local_day(now, zone), at_site(now, zone)[11:16]
        day = today.isoformat()
        late = at_site(now - LATEST, zone)[:16] > f"{day}T{to.at}"
        here = (each for each in store.technicians.by_id().values() if each.is_with_us(today))
        wanted = [OFFICE, *sorted(f"{TECHNICIAN}{each.code}" for each in here)]
        open_ones = [who for who in wanted if clock >= to.at and not late and _open(store, to, who, day, now)]
    if not open_ones:
        return
    with database.lasting() as store:  # with a rollback journal a visit would wait for a long reader
        made = list(digests(store, now, day, open_ones))
    until = monotonic() + BUDGET
    for digest in made:
        if monotonic() > until:
            logger.warning("the digest for %s and those after it wait for the next turn", digest.reader)
            return
        _deliver(database, to, digest, now)


def _channels(to: Digests) -> list[str]:
    return [name for name, given in (("folder", to.folder), ("webhook", to.webhook)) if given is not None]


def _open(store: Store, to: Digests, who: str, day: str, now: datetime) -> bool:
    return any(_waits(store, to, channel, who, day, now) for channel in _channels(to))


def _waits(store: Store, to: Digests, channel: str, who: str, day: str, now: datetime) -> bool:
    key = (f"{channel}/{who}", day)
    paused = key in to.again_at and now < to.again_at[key]
    tried_enough = to.attempts.get(key, 0) >= MOST_ATTEMPTS
    return not paused and not tried_enough and not store.jobs_done.done(f"digest/{channel}/{who}", day)


def _deliver(database: FleetDatabase, to: Digests, digest: Digest, now: datetime) -> None:
    for channel in _channels(to):
        with database.reading() as store:
            if not _waits(store, to, channel, digest.reader, digest.day, now):
                continue
        key = (f"{channel}/{digest.reader}", digest.day)
        try:
            _hand_over(to, channel, digest, now)
        except (NotDelivered, OSError) as failure:
            count = to.attempts[key] = to.attempts.get(key, 0) + 1
            to.again_at[key] = now + FIRST_PAUSE * 2 ** (count - 1)
            last = "given up for the day" if count >= MOST_ATTEMPTS else f"again at {to_text(to.again_at[key])}"
            logger.warning("the digest for %s was not delivered, %s: %s", digest.reader, last, failure)
            continue
        with database.writing() as store:
            store.jobs_done.claim(f"digest/{channel}/{digest.reader}", digest.day, to_text(now))


def _hand_over(to: Digests, channel: str, digest: Digest, now: datetime) -> None:
    if channel == "folder" and to.folder is not None:
        for ending, content in (("txt", digest.text), ("html", digest.html)):
            _write(to.folder / f"{digest.day}-{digest.reader}.{ending}", content)
    elif to.webhook is not None:
        data = {**_for(digest.reader), "day": digest.day, "text": digest.text, "html": digest.html}
        body = orjson.dumps({"type": "digest", "timestamp": to_text(now), "data": data})
        post(to.webhook, f"digest-{digest.day}-{digest.reader}", int(now.timestamp()), body)


def _for(reader: str) -> dict[str, str | None]:
    """Whom a digest is for, as a receiver reads it."""
    technician = None if reader == OFFICE else reader.removeprefix(TECHNICIAN)
    return {"for": technician or OFFICE, "technician": technician}


def _write(path: Path, content: str) -> None:
    """Write a file that its owner alone reads, whole or not at all."""
    partial = path.with_name(f".{path.name}.partial")
    partial.unlink(missing_ok=True)
    with os.fdopen(os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
        file.write(content)
    partial.replace(path)


def digests(store: Store, now: datetime, day: str, readers: list[str]) -> Iterator[Digest]:
    """The digests of some readers: each technician's day and van, the office's list and weeks."""
    loads = {each["technician"]: each["items"] for each in shown_load(vans.load(store, now, None, None))["vans"]}
    for reader in readers:
        if reader == OFFICE:
            pulled, _ = pm_list.pull(store, now, pm_list.Asked(limit=MOST_ITEMS), frozenset())
            lines = list(_weeks(store, now))
        else:
            code = reader.removeprefix(TECHNICIAN)
            asked = pm_list.Asked(technician=code, limit=MOST_ITEMS, drive=Drive())
            pulled, _ = pm_list.pull(store, now, asked, frozenset())
            lines = [_van_line(each) for each in loads.get(code, ())]
        heading = "Weeks ahead" if reader == OFFICE else "Van"
        yield Digest(reader, day, _text(pulled, heading, lines), _html(pulled, heading, lines))


def _weeks(store: Store, now: datetime) -> Iterator[str]:
    names = {each.code: each.name for each in store.technicians.by_id().values()}
    over = [(week, load) for week in plan_weeks(store, now, None, None).weeks for load in week.loads if load.overload]
    for week, load in over:
        whose = "nobody yet" if load.technician is None else names[load.technician]
        more = f"{load.overload / 60:.1f} h more than there are hours"
        yield f"From {week.first.isoformat()}, {whose}: {more}."
    if not over:
        yield "No week of the next 13 has more work than hours."


def _van_line(item: dict[str, object]) -> str:
    amounts = {name: _amount(item[name]) for name in ("bring", "stock")}
    return (
        f"{str(item['item']).replace('_', ' ')}: bring {amounts['bring']}; {amounts['stock']} in the van, "
        f"chance of running short {item['chance_short']:.0%}"
    )


def _amount(shown: object) -> str:
    return f"{shown['value']:g} {shown['unit']}" if isinstance(shown, dict) else f"{shown:g}"


def _text(pulled: PmList, heading: str, lines: list[str]) -> str:
    return text.render(pulled) + "".join(f"{line}\n" for line in ("", heading, *lines) if lines)


def _html(pulled: PmList, heading: str, lines: list[str]) -> str:
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    section = f"<section><h2>{heading}</h2><ul>{items}</ul></section>\n</main>" if lines else "</main>"
    return page.render(pulled).decode().replace("</main>", section, 1)
