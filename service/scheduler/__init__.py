"""The scheduler: short ticks in UTC that run what the database shows to be due.

No job hangs on a local midnight: such a trigger skips the day after the spring change and runs twice in autumn. Each
tick asks which units' due items are out of date, so a missed run catches up and a second process finds nothing to do.
"""

import logging
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from apscheduler.schedulers.background import BackgroundScheduler

from service.domain.errors import Unavailable
from service.usecases import due, housekeeping, root_causes
from service.usecases.system import FleetDatabase

TICK_SECONDS = 30
UNITS_A_TURN = 100
SEARCH_TICK_SECONDS = 300
HOUSEKEEPING_HOURS = 6
logger = logging.getLogger("glycol_fleet.scheduler")
Clock = Callable[[], datetime]
Done = Callable[[datetime], None]


def start(database: FleetDatabase, clock: Clock, done: Done) -> BackgroundScheduler:
    """Start the scheduler; the first ticks run at once. `done` gets the time of each tick that succeeded."""
    scheduler = BackgroundScheduler(
        timezone=UTC, job_defaults={"coalesce": True, "misfire_grace_time": None, "max_instances": 1}
    )
    logging.getLogger("apscheduler").setLevel(logging.WARNING)  # not two lines a tick: ours say what was done
    now = clock()
    scheduler.add_job(refresh_due_items, "interval", (database, clock, done), seconds=TICK_SECONDS, next_run_time=now)
    soon = now + timedelta(seconds=TICK_SECONDS)
    scheduler.add_job(clean_up, "interval", (database, clock), hours=HOUSEKEEPING_HOURS, next_run_time=soon)
    scheduler.add_job(search_fleet, "interval", (database, clock), seconds=SEARCH_TICK_SECONDS, next_run_time=soon)
    scheduler.start()
    return scheduler


def refresh_due_items(database: FleetDatabase, clock: Clock, done: Done) -> None:
    """Refresh the units whose history or rules changed since their due items were calculated; few per transaction."""
    now = clock()
    try:
        units = due.refresh_all_stale(database, UNITS_A_TURN)
    except Unavailable as refusal:
        logger.warning("the refresh of due items waits for the next tick: %s", refusal)
        return
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


def clean_up(database: FleetDatabase, clock: Clock) -> None:
    """Delete old idempotency answers and old rows of the job ledger."""
    try:
        with database.writing() as store:
            housekeeping.forget_old(store, clock())
    except Unavailable as refusal:
        logger.warning("housekeeping waits for its next turn: %s", refusal)
