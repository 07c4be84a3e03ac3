"""Service summaries as they were handed out: added and read, never changed."""

from base64 import b64decode, b64encode
from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import bindparam, select

from service.domain.errors import NotFound
from service.domain.instants import from_text, to_text
from service.domain.summary.issues import Issue
from service.storage.engine.link import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import customer, issue

ISSUES = select(
    issue.c.uuid,
    customer.c.code,
    issue.c.year,
    issue.c.issued_at,
    issue.c.issued_by,
    issue.c.as_of,
    issue.c.form,
    issue.c.digest,
    issue.c.program_version,
    issue.c.sha256,
    issue.c.size,
).select_from(issue.join(customer, customer.c.id == issue.c.customer_id))
OF_YEAR = Statement(
    ISSUES.where(customer.c.code == bindparam("customer"), issue.c.year == bindparam("of_year")).order_by(issue.c.id)
)
ONE = Statement(
    ISSUES.add_columns(issue.c.body).where(
        issue.c.uuid == bindparam("key"), customer.c.code == bindparam("customer"), issue.c.year == bindparam("of_year")
    )
)
KNOWN = Statement(ISSUES.where(issue.c.uuid == bindparam("key")))
NEXT = Statement(
    ISSUES.add_columns(issue.c.body, issue.c.id).where(issue.c.id > bindparam("after")).order_by(issue.c.id).limit(1)
)
CUSTOMER = Statement(select(customer.c.id).where(customer.c.code == bindparam("key")))
ADD = insert_of(issue)


class Issues:
    """All documents that were handed out."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def of_year(self, code: str, year: int) -> list[Issue]:
        """Those of a customer's year, the oldest first."""
        return [_read(row) for row in self.link.rows(OF_YEAR, customer=code, of_year=year)]

    def get(self, code: str, year: int, issue_id: str) -> tuple[Issue, bytes]:
        """One with its bytes, or NotFound."""
        row = self.link.row(ONE, key=issue_id, customer=code, of_year=year)
        if row is None:
            raise NotFound("document that was handed out", issue_id)
        *facts, body = row
        return _read(facts), b64decode(body)

    def find(self, issue_id: str) -> Issue | None:
        """One without its bytes, or None."""
        row = self.link.row(KNOWN, key=issue_id)
        return None if row is None else _read(row)

    def in_order(self) -> Iterator[tuple[Issue, str]]:
        """All as they were handed out, each with its bytes in base 64; one at a time, because they are large."""
        after = 0
        while row := self.link.row(NEXT, after=after):
            *facts, body, after = row
            yield _read(facts), body

    def add(self, new: Issue, body: bytes) -> None:
        """Keep a document."""
        owner = self.link.row(CUSTOMER, key=new.customer)
        if owner is None:
            raise NotFound("customer", new.customer)
        self.link.run(
            ADD, uuid=new.id, customer_id=owner[0], year=new.year, issued_at=to_text(new.issued_at),
            issued_by=new.issued_by, as_of=to_text(new.as_of), form=new.form, digest=new.digest,
            program_version=new.program_version, sha256=new.sha256, size=new.size, body=b64encode(body).decode(),
        )  # fmt: skip


def _read(row: Sequence[Any]) -> Issue:
    key, code, year, issued_at, issued_by, as_of, form, digest, version, checksum, size = row
    return Issue(
        id=key, customer=code, year=year, issued_at=from_text(issued_at), issued_by=issued_by, as_of=from_text(as_of),
        form=form, digest=digest, program_version=version, sha256=checksum, size=size,
    )  # fmt: skip
