"""Drop what has served its time."""

from datetime import datetime, timedelta

from service.domain.instants import to_text
from service.domain.sessions import LONGEST
from service.storage.store import Store

KEEP_ANSWERS = timedelta(days=90)
KEEP_DAYS = timedelta(days=14)


def forget_old(store: Store, now: datetime) -> None:
    """Forget first answers and sessions after 90 days, the rows of daily jobs after 14; visits stay for ever."""
    store.answers.forget(to_text(now - KEEP_ANSWERS))
    store.jobs_done.forget((now - KEEP_DAYS).date().isoformat())
    store.sessions.forget(now - LONGEST)
