"""The first answer to each key, so that the same post twice is one visit and one answer."""

from dataclasses import dataclass

from sqlalchemy import and_, bindparam, or_, select

from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import answer, token

FIRST = Statement(
    select(answer.c.fingerprint, answer.c.visit, answer.c.body).where(
        answer.c.caller == bindparam("of_caller"), answer.c.key == bindparam("of_key")
    )
)
KEEP = insert_of(answer)
KNOWN = Statement(
    select(answer.c.fingerprint, answer.c.visit, answer.c.body)
    .select_from(answer.outerjoin(token, token.c.id == answer.c.caller))
    .where(
        answer.c.key == bindparam("of_key"),
        or_(answer.c.caller == bindparam("of_caller"), token.c.name == bindparam("of_name")),
    )
    .order_by(answer.c.given_at)
)
FORGET = Statement(answer.delete().where(answer.c.given_at < bindparam("before")))
BEHIND = or_(
    answer.c.given_at > bindparam("behind_at"),
    and_(answer.c.given_at == bindparam("behind_at"), answer.c.key > bindparam("behind_key")),
    and_(
        answer.c.given_at == bindparam("behind_at"),
        answer.c.key == bindparam("behind_key"),
        answer.c.caller > bindparam("behind_caller"),
    ),
)
PAGE = Statement(
    select(
        answer.c.caller,
        token.c.name,
        answer.c.key,
        answer.c.fingerprint,
        answer.c.visit,
        answer.c.body,
        answer.c.given_at,
    )
    .select_from(answer.outerjoin(token, token.c.id == answer.c.caller))
    .where(BEHIND)
    .order_by(answer.c.given_at, answer.c.key, answer.c.caller)
    .limit(bindparam("most"))
)
Answer = tuple[str, str, str]
NAMED = "name:"  # begins the caller of an imported answer, behind which is the name of the token; no token's id has it


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptAnswer:
    """A first answer: `token` is the name of the token that owns the key, None where the key is the record's id."""

    token: str | None
    key: str
    fingerprint: str
    id: str
    body: str
    given_at: str


class Answers:
    """Answers by caller and key."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def first(self, caller: str, name: str, key: str) -> Answer | None:
        """(fingerprint of the body, visit id, answer) of the first post under this key.

        A key of the caller's, or one that came by an import for the tokens of that name.
        """
        given = self.link.row(FIRST, of_caller=caller, of_key=key)
        if given is None and caller:
            given = self.link.row(FIRST, of_caller=f"{NAMED}{name}", of_key=key)
        return None if given is None else (given[0], given[1], given[2])

    def keep(self, caller: str, key: str, *, fingerprint: str, visit: str, body: str, given_at: str) -> None:
        """Remember an answer."""
        self.link.run(KEEP, caller=caller, key=key, fingerprint=fingerprint, visit=visit, body=body, given_at=given_at)

    def known(self, one: KeptAnswer) -> Answer | None:
        """What is kept under a key for the tokens of a name, imported or not."""
        row = self.link.row(KNOWN, of_key=one.key, of_caller=_caller_of(one), of_name=one.token)
        return None if row is None else (row[0], row[1], row[2])

    def restore(self, new: KeptAnswer) -> None:
        """Keep an answer of a file."""
        self.keep(
            _caller_of(new), new.key, fingerprint=new.fingerprint, visit=new.id, body=new.body, given_at=new.given_at
        )

    def forget(self, before: str) -> None:
        """Drop answers given before an instant."""
        self.link.run(FORGET, before=before)

    def page(self, behind: tuple[str, str, str], most: int) -> tuple[list[KeptAnswer], tuple[str, str, str]]:
        """Answers in the order in which they were given, and where the next page begins."""
        at, key, caller = behind
        rows = self.link.rows(PAGE, behind_at=at, behind_key=key, behind_caller=caller, most=most)
        return [_kept(row) for row in rows], (rows[-1][6], rows[-1][2], rows[-1][0]) if rows else behind


def _caller_of(one: KeptAnswer) -> str:
    return "" if one.token is None else f"{NAMED}{one.token}"


def _kept(row: tuple[str, str | None, str, str, str, str, str]) -> KeptAnswer:
    caller, name, key, fingerprint, record, body, given_at = row
    owner = None if caller == "" else name or caller.removeprefix(NAMED)
    return KeptAnswer(token=owner, key=key, fingerprint=fingerprint, id=record, body=body, given_at=given_at)
