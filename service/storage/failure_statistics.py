"""What a unit's failures say in figures, each row with the version of the history and the layout it was made by."""

from collections.abc import Iterable, Sequence

from sqlalchemy import bindparam, or_, select
from sqlalchemy.dialects import postgresql, sqlite

from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.tables import failure_statistics, unit

LAST = 2**62  # greater than any identity
NOW = failure_statistics.c.layout == bindparam("now")
KEEP = Statement(
    {
        name: (insert := dialect.insert(failure_statistics))
        .values({column.name: bindparam(column.name) for column in failure_statistics.c})
        .on_conflict_do_update(
            index_elements=["unit_id"],
            set_={name: insert.excluded[name] for name in ("layout", "log_version", "figures")},
        )
        for name, dialect in {"sqlite": sqlite, "postgresql": postgresql}.items()
    }
)
OTHERS = Statement(select(failure_statistics.c.unit_id).where(~NOW).limit(1))
STALE = Statement(
    select(unit.c.id, unit.c.log_version)
    .select_from(unit.outerjoin(failure_statistics, failure_statistics.c.unit_id == unit.c.id))
    .where(
        or_(
            failure_statistics.c.log_version.is_distinct_from(unit.c.log_version),
            failure_statistics.c.layout.is_distinct_from(bindparam("now")),
        ),
        unit.c.id > bindparam("after"),
        unit.c.id <= bindparam("last"),
    )
    .order_by(unit.c.id)
    .limit(bindparam("most"))
)
OF_SAMPLE = Statement(
    select(failure_statistics.c.figures)
    .where(
        NOW,
        or_(
            failure_statistics.c.unit_id <= bindparam("all_up_to"),
            failure_statistics.c.unit_id % bindparam("then_every") == 0,
        ),
        failure_statistics.c.figures != "",
    )
    .order_by(failure_statistics.c.unit_id)
)
AFTER = Statement(
    select(failure_statistics.c.unit_id, failure_statistics.c.figures)
    .where(NOW, failure_statistics.c.unit_id > bindparam("after"), failure_statistics.c.figures != "")
    .order_by(failure_statistics.c.unit_id)
    .limit(bindparam("most"))
)


class FailureStatistics:
    """A row a unit."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def any_of_another(self, layout: str) -> bool:
        """Whether any figures have another layout, because the causes have changed."""
        return self.link.row(OTHERS, now=layout) is not None

    def stale(self, layout: str, *, after: int, most: int, last: int = LAST) -> dict[int, int]:
        """The next units behind an identity without figures of their present history, with its version."""
        return dict(self.link.rows(STALE, now=layout, after=after, last=last, most=most))

    def keep(self, layout: str, figures: Sequence[tuple[int, int, str]]) -> None:
        """Store (unit, version of its history, figures) in the place of former ones."""
        self.link.run_many(
            KEEP,
            [
                {"unit_id": key, "layout": layout, "log_version": version, "figures": text}
                for key, version, text in figures
            ],
        )

    def of_sample(self, layout: str, all_up_to: int, then_every: int) -> Iterable[str]:
        """The figures of the first units, then of every so many."""
        rows = self.link.stream(OF_SAMPLE, now=layout, all_up_to=all_up_to, then_every=then_every)
        return (row[0] for row in rows)

    def after(self, layout: str, unit_id: int, most: int) -> list[tuple[int, str]]:
        """(identity, figures) of the next units behind an identity that have any failures to weigh."""
        return [(row[0], row[1]) for row in self.link.rows(AFTER, now=layout, after=unit_id, most=most)]
