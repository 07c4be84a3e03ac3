"""What was learned from the fleet of how its units drift and foul, each time that it changed."""

from sqlalchemy import bindparam, select

from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import learned_figures

NEWEST = select(learned_figures.c.figures).order_by(learned_figures.c.learned_at.desc())
LATEST = Statement(NEWEST.limit(1))
LATEST_BY = Statement(NEWEST.where(learned_figures.c.learned_at <= bindparam("instant")).limit(1))
ADD = insert_of(learned_figures)
ALL = Statement(select(learned_figures.c.figures, learned_figures.c.learned_at).order_by(learned_figures.c.learned_at))


class LearnedFigures:
    """The figures as JSON text."""

    def __init__(self, link: Link) -> None:
        self.link = link
        self._latest: tuple[str | None] | None = None

    def latest(self) -> str | None:
        """The figures in force; None before any were learned. A transaction asks once, and again after `add`."""
        if self._latest is None:
            self._latest = (self.link.value(LATEST),)
        return self._latest[0]

    def latest_by(self, instant: str) -> str | None:
        """The figures that were in force at an instant."""
        figures: str | None = self.link.value(LATEST_BY, instant=instant)
        return figures

    def add(self, figures: str, learned_at: str) -> None:
        """Put new figures in force."""
        self._latest = None
        self.link.run(ADD, figures=figures, learned_at=learned_at)

    def everyones(self) -> list[tuple[str, str]]:
        """(figures, when they were learned), the oldest first."""
        return [(row[0], row[1]) for row in self.link.rows(ALL)]
