"""Drop what has served its time."""

from datetime import datetime, timedelta

from service.domain.instants import to_text
from service.domain.sessions import LONGEST
from service.storage.store import Store

KEEP_ANSWERS = timedelta(days=90)
KEEP_DAYS = timedelta(days=14)
KEEP_YEARS = timedelta(days=60)  # of units, which are worked out anew when they are asked for


def forget_old(store: Store, now: datetime) -> None:
    """Forget first answers and sessions after 90 days, the rows of daily jobs after 14; visits stay for ever.

    Years of units that were kept for letters go after 60 days.
    """
    store.answers.forget(to_text(now - KEEP_ANSWERS))
    store.jobs_done.forget((now - KEEP_DAYS).date().isoformat())
    store.sessions.forget(now - LONGEST)
    store.unit_years.forget(now - KEEP_YEARS)
