"""The first answer to each key, so that the same post twice is one visit and one answer."""

from sqlalchemy import bindparam, select

from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import answer

FIRST = Statement(
    select(answer.c.fingerprint, answer.c.visit, answer.c.body).where(
        answer.c.caller == bindparam("of_caller"), answer.c.key == bindparam("of_key")
    )
)
KEEP = insert_of(answer)
FORGET = Statement(answer.delete().where(answer.c.given_at < bindparam("before")))


class Answers:
    """Answers by caller and key."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def first(self, caller: str, key: str) -> tuple[str, str, str] | None:
        """(fingerprint of the body, visit id, answer) of the first post under this key."""
        row = self.link.row(FIRST, of_caller=caller, of_key=key)
        return None if row is None else (row[0], row[1], row[2])

    def keep(self, caller: str, key: str, *, fingerprint: str, visit: str, body: str, given_at: str) -> None:
        """Remember an answer."""
        self.link.run(KEEP, caller=caller, key=key, fingerprint=fingerprint, visit=visit, body=body, given_at=given_at)

    def forget(self, before: str) -> None:
        """Drop answers given before an instant."""
        self.link.run(FORGET, before=before)
