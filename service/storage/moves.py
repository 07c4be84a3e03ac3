"""The mark of a database whose records were moved away, or have not all arrived."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy import bindparam, select

from service.domain.errors import Unavailable
from service.domain.instants import from_text, to_text
from service.storage.engine.faults import HELD, LOCKED
from service.storage.engine.link import Link
from service.storage.engine.statements import Statement
from service.storage.tables import move

State = Literal["arriving", "moved"]
ARRIVING: State = "arriving"
MOVED: State = "moved"
WAS_MOVED = (
    "The records were moved to another database on {at:%Y-%m-%d at %H:%M} UTC, and can only be read here. Set "
    "GLYCOL_FLEET_DATABASE_URL to the other one and restart the server; to go back: glycol-fleet move-to --undo"
)
IS_ARRIVING = "A move of records into this database has not ended: run glycol-fleet move-to again where it began."
GET = Statement(select(move.c.state, move.c.address, move.c.at))
ADD = Statement(move.insert().values({column.name: bindparam(column.name) for column in move.c}))
CLEAR = Statement(move.delete().where(move.c.state == bindparam("cleared")))
# The lock is that of any writer; a move excludes it. Held before the mark is read, so that no move ends in between.
LOCK_AND_GET = "LOCK TABLE move IN ROW EXCLUSIVE MODE NOWAIT; SELECT state, address, at FROM move"


@dataclass(frozen=True, slots=True)
class Move:
    """A move that has ended (`moved`, to an address) or not (`arriving`, from an address)."""

    state: State
    address: str
    at: datetime

    def sentence(self) -> str:
        """Why nothing can be written, without the address, which is nobody's business but the operator's."""
        return IS_ARRIVING if self.state == ARRIVING else WAS_MOVED.format(at=self.at)


class Moves:
    """The mark of this database."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def get(self) -> Move | None:
        """The mark; None of a database that is used as usual."""
        return _move_of(self.link.row(GET))

    def add(self, new: Move) -> None:
        """Set the mark."""
        self.link.run(ADD, id=1, state=new.state, address=new.address, at=to_text(new.at))

    def clear(self, state: State) -> None:
        """Take the mark away."""
        self.link.run(CLEAR, cleared=state)


def refuse_writes(link: Link) -> None:
    """Unavailable when nothing may be written here; the first act of every writing transaction."""
    found = _locked(link) if link.dialect == "postgresql" else Moves(link).get()
    if found is not None:
        raise Unavailable(found.sentence())


def _locked(link: Link) -> Move | None:
    try:
        cursor = link.plain(LOCK_AND_GET)
    except Unavailable as fault:
        raise (Unavailable(HELD) if str(fault) == LOCKED else fault) from fault
    while cursor.nextset():
        pass
    return _move_of(cursor.fetchone())


def _move_of(row: tuple[State, str, str] | None) -> Move | None:
    return None if row is None else Move(row[0], row[1], from_text(row[2]))
