"""The company: one row, which the first change makes."""

from dataclasses import asdict

from sqlalchemy import bindparam, func, select

from service.domain.errors import Stale
from service.domain.record.company import Company
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.tables import company

FACTS = tuple(column.name for column in company.c if column.name != "id")
THE_ROW = 1
NO_ZONE = "UTC"  # by which goes what has no site, where the company has no time zone either
COMPANY = Statement(select(*(company.c[name] for name in FACTS)).where(company.c.id == bindparam("key")))
OUR_ZONE = func.coalesce(select(company.c.time_zone).where(company.c.id == THE_ROW).scalar_subquery(), NO_ZONE)
ADD = Statement(company.insert().values({name: bindparam(name) for name in ("id", *FACTS)}))
SAVE = Statement(
    company.update()
    .values({name: bindparam(name) for name in FACTS})
    .where(company.c.id == bindparam("key"), company.c.version == bindparam("former_version"))
)


class TheCompany:
    """Our own company."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def get(self) -> Company:
        """The company; without any fact until something is recorded."""
        row = self.link.row(COMPANY, key=THE_ROW)
        return Company() if row is None else Company(**dict(zip(FACTS, row, strict=True)))

    def clock(self) -> str:
        """The time zone by which goes what has no site."""
        return self.get().time_zone or NO_ZONE

    def save(self, changed: Company) -> None:
        """Store the changed company; Stale when another change came first."""
        former = changed.version - 1
        if former == 0:
            self.link.run(ADD, id=THE_ROW, **asdict(changed))
        elif not self.link.run(SAVE, key=THE_ROW, former_version=former, **asdict(changed)):
            raise Stale("company", "company")
