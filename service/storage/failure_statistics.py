"""What a unit's failures say in figures: made at night, dropped as soon as anything of its record changes."""

from collections.abc import Iterable, Sequence

from sqlalchemy import bindparam, or_, select

from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.fleet import insert_of
from service.storage.tables import failure_statistics, unit

ADD = insert_of(failure_statistics)
FORGET = Statement(failure_statistics.delete().where(failure_statistics.c.unit_id == bindparam("of_unit")))
FORGET_OTHERS = Statement(failure_statistics.delete().where(failure_statistics.c.layout != bindparam("now")))
WITHOUT = Statement(
    select(unit.c.id)
    .where(~select(failure_statistics.c.unit_id).where(failure_statistics.c.unit_id == unit.c.id).exists())
    .where(unit.c.id > bindparam("after"))
    .order_by(unit.c.id)
    .limit(bindparam("most"))
)
OF_TEACHERS = Statement(
    select(failure_statistics.c.figures)
    .where(
        or_(
            failure_statistics.c.unit_id <= bindparam("all_up_to"),
            failure_statistics.c.unit_id % bindparam("then_every") == 0,
        ),
        failure_statistics.c.figures != "",
    )
    .order_by(failure_statistics.c.unit_id)
)
BEHIND = Statement(
    select(failure_statistics.c.unit_id, failure_statistics.c.figures)
    .where(failure_statistics.c.unit_id > bindparam("after"), failure_statistics.c.figures != "")
    .order_by(failure_statistics.c.unit_id)
    .limit(bindparam("most"))
)


class FailureStatistics:
    """A row a unit; none where its record changed since the last night."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def forget(self, unit_id: int) -> None:
        """Drop a unit's figures, because its record changes."""
        self.link.run(FORGET, of_unit=unit_id)

    def forget_others(self, layout: str) -> int:
        """Drop all figures of another layout, because the causes have changed; how many there were."""
        return self.link.run(FORGET_OTHERS, now=layout)

    def units_without(self, after: int, most: int) -> list[int]:
        """The next units behind an identity that have no figures."""
        return [row[0] for row in self.link.rows(WITHOUT, after=after, most=most)]

    def keep(self, layout: str, figures: Sequence[tuple[int, str]]) -> None:
        """Store the figures of units that have none."""
        self.link.run_many(ADD, [{"unit_id": key, "layout": layout, "figures": text} for key, text in figures])

    def of_teachers(self, all_up_to: int, then_every: int) -> Iterable[str]:
        """The figures of the first units, then of every so many."""
        return (row[0] for row in self.link.stream(OF_TEACHERS, all_up_to=all_up_to, then_every=then_every))

    def behind(self, after: int, most: int) -> list[tuple[int, str]]:
        """(identity, figures) of the next units behind an identity that have any failures to weigh."""
        return [(row[0], row[1]) for row in self.link.rows(BEHIND, after=after, most=most)]
