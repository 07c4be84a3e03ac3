"""Which days' jobs are done: one row for each job and day. Its key makes a second run of the same day impossible."""

from sqlalchemy import bindparam, select
from sqlalchemy.dialects import postgresql, sqlite

from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.tables import job_done

DONE = Statement(
    select(job_done.c.done_at).where(job_done.c.job == bindparam("job"), job_done.c.day == bindparam("day"))
)
CLAIM = Statement(
    {
        name: dialect.insert(job_done)
        .values({column.name: bindparam(column.name) for column in job_done.c})
        .on_conflict_do_nothing()
        for name, dialect in {"sqlite": sqlite, "postgresql": postgresql}.items()
    }
)
FORGET = Statement(job_done.delete().where(job_done.c.day < bindparam("before")))


class JobsDone:
    """The ledger of daily jobs, by the day in UTC."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def done(self, job: str, day: str) -> bool:
        """Whether a job was done on a day."""
        return self.link.row(DONE, job=job, day=day) is not None

    def claim(self, job: str, day: str, now: str) -> bool:
        """Record a day's job as done; False when another process did so before."""
        return self.link.run(CLAIM, job=job, day=day, done_at=now) == 1

    def forget(self, before: str) -> None:
        """Drop the rows of days long gone."""
        self.link.run(FORGET, before=before)
