"""The scheduler: short ticks in UTC that run what the database shows to be due.

No job hangs on a local midnight: such a trigger skips the day after the spring change and runs twice in autumn. Each
tick asks which units' due items are out of date, so a missed run catches up and a second process finds nothing to do.
"""

import logging
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import partial

from apscheduler.schedulers.background import BackgroundScheduler

from service.domain.errors import Unavailable
from service.scheduler.digests import Digests, send
from service.usecases import housekeeping
from service.usecases.backups import Plan, Refused, back_up_once_a_day
from service.usecases.health import Health
from service.usecases.maintenance import due, learning
from service.usecases.record import locations
from service.usecases.root_causes import root_causes
from service.usecases.system import FleetDatabase
from service.usecases.year import kept_years

TICK_SECONDS = 30
UNITS_A_TURN = 100
SEARCH_TICK_SECONDS = 300
HOUSEKEEPING_HOURS = 6
BACKUP_TICK_SECONDS = 300
DIGEST_TICK_SECONDS = 60
logger = logging.getLogger("glycol_fleet.scheduler")
Clock = Callable[[], datetime]
Done = Callable[[datetime], None]


class IntervalScheduler(BackgroundScheduler):  # type: ignore[misc]
    """Runs jobs at intervals, also after the machine's clock was set back.

    APScheduler would wait until the clock shows the time of the next run again, up to hours.
    """

    def _process_jobs(self) -> float | None:
        now, jobs = datetime.now(self.timezone), self.get_jobs()  # noqa: TID251 (the clock that APScheduler compares with)
        for job in jobs:
            if job.next_run_time > now + job.trigger.interval:  # never so far ahead, unless the clock was set back
                job.modify(next_run_time=now)
        wait: float | None = super()._process_jobs()
        waits = [job.trigger.interval.total_seconds() for job in jobs]  # it can be set back during the line above
        return wait if wait is None else min([wait, *waits])


def start(
    database: FleetDatabase,
    clock: Clock,
    done: Done,
    health: Health | None = None,
    plan: Plan | None = None,
    digests: Digests | None = None,
) -> BackgroundScheduler:
    """Start the scheduler; the first ticks run at once. `done` gets the time of each tick that succeeded.

    `health` gets what `/readyz` reports; with it and a `plan`, the database is backed up once a day. With `digests`
    the morning digests are delivered.
    """
    scheduler = IntervalScheduler(
        timezone=UTC, job_defaults={"coalesce": True, "misfire_grace_time": None, "max_instances": 1}
    )
    logging.getLogger("apscheduler").setLevel(logging.WARNING)  # not two lines a tick: ours say what was done
    now = clock()
    scheduler.add_job(refresh_due_items, "interval", (database, clock, done), seconds=TICK_SECONDS, next_run_time=now)
    soon = now + timedelta(seconds=TICK_SECONDS)
    scheduler.add_job(clean_up, "interval", (database, clock), hours=HOUSEKEEPING_HOURS, next_run_time=soon)
    scheduler.add_job(learn_drifts, "interval", (database, clock), seconds=SEARCH_TICK_SECONDS, next_run_time=soon)
    scheduler.add_job(keep_years, "interval", (database,), seconds=TICK_SECONDS, next_run_time=soon)
    scheduler.add_job(search_fleet, "interval", (database, clock), seconds=SEARCH_TICK_SECONDS, next_run_time=soon)
    if digests is not None:
        args = (database, digests, clock)
        scheduler.add_job(send_digests, "interval", args, seconds=DIGEST_TICK_SECONDS, next_run_time=soon)
    if health is not None:
        _add_watch(scheduler, database, clock, health, plan)
    scheduler.start()
    return scheduler


def _add_watch(
    scheduler: BackgroundScheduler, database: FleetDatabase, clock: Clock, health: Health, plan: Plan | None
) -> None:
    add = partial(scheduler.add_job, trigger="interval")
    soon = clock() + timedelta(seconds=1)  # a scheduler that is shut down while it submits many jobs complains
    add(tick, args=(database, health), seconds=TICK_SECONDS, next_run_time=soon)
    add(check_content, args=(database, lambda: not scheduler.running), hours=HOUSEKEEPING_HOURS, next_run_time=soon)
    if plan is not None:
        add(back_up, args=(database, plan, clock, health), seconds=BACKUP_TICK_SECONDS, next_run_time=soon)


def tick(database: FleetDatabase, health: Health) -> None:
    """Report that the clockwork runs, and find out whether a visit could be stored: `/readyz` need not write then."""
    health.tick()
    try:
        database.check_storable()
    except Unavailable as failure:
        logger.warning("no visit can be stored: %s", failure)


def check_content(database: FleetDatabase, stopped: Callable[[], bool]) -> None:
    """Look through a large database for damage, once after the start."""
    try:
        database.check_content(stopped)
    except Unavailable as failure:
        logger.error("the database was looked through: %s", failure)


def back_up(database: FleetDatabase, plan: Plan, clock: Clock, health: Health) -> None:
    """Back the database up once a day; a failure is reported until an attempt succeeds."""
    try:
        written = back_up_once_a_day(database, plan, clock())
    except (Refused, Unavailable, OSError) as failure:
        logger.error("the backup failed: %s", failure)
        health.report("backup", f"The last backup failed: {failure}.".replace("..", "."))
        return
    health.report("backup", None)
    if written is not None:
        logger.info("backed up to %s", written)


def send_digests(database: FleetDatabase, to: Digests, clock: Clock) -> None:
    """Deliver the morning digests that are due."""
    try:
        send(database, to, clock())
    except Unavailable as refusal:
        logger.warning("the digests wait for the next tick: %s", refusal)


def refresh_due_items(database: FleetDatabase, clock: Clock, done: Done) -> None:
    """Begin the locations of the day, and refresh the units whose history or rules changed; few per transaction."""
    now = clock()
    try:
        moved = locations.begin(database, now)
        units = due.refresh_all_stale(database, UNITS_A_TURN)
    except Unavailable as refusal:
        logger.warning("the refresh of due items waits for the next tick: %s", refusal)
        return
    if moved:
        logger.info("moved %d units to their new locations", moved)
    if units:
        logger.info("refreshed the due items of %d units", units)
    done(now)


def search_fleet(database: FleetDatabase, clock: Clock) -> None:
    """Search the fleet for root causes, once a day."""
    try:
        searched = root_causes.search_of_the_day(database, clock(), gap=lambda: None)
    except Unavailable as refusal:
        logger.warning("the search for root causes waits for the next tick: %s", refusal)
        return
    if searched:
        logger.info("searched %d units for root causes", searched)


def learn_drifts(database: FleetDatabase, clock: Clock) -> None:
    """Learn once a day how the units drift and foul."""
    try:
        differ = learning.learn_of_the_day(database, clock())
    except Unavailable as refusal:
        logger.warning("learning how units drift waits for the next tick: %s", refusal)
        return
    if differ:
        logger.info("put in force what the fleet shows of how its units drift and foul")


def keep_years(database: FleetDatabase) -> None:
    """Store the years of units that letters were made of, so that the next letter need not work them out."""
    try:
        kept_years.store_made(database)
    except Unavailable as refusal:
        logger.warning("years of units wait for the next tick: %s", refusal)


def clean_up(database: FleetDatabase, clock: Clock) -> None:
    """Delete old idempotency answers and old rows of the job ledger."""
    try:
        with database.writing() as store:
            housekeeping.forget_old(store, clock())
    except Unavailable as refusal:
        logger.warning("housekeeping waits for its next turn: %s", refusal)
