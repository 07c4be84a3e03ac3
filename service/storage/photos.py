"""Photos of visits: added and removed, never changed otherwise."""

from collections.abc import Sequence
from typing import Any

import orjson
from sqlalchemy import bindparam, func, select

from service.domain.errors import NotFound
from service.domain.instants import from_text, to_text
from service.domain.record.photos import Photo
from service.domain.record.visits import Void
from service.storage.engine.link import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import photo, unit, visit

PHOTOS = select(
    photo.c.uuid,
    visit.c.uuid,
    photo.c.sha256,
    photo.c.sent_sha256,
    photo.c.size,
    photo.c.width,
    photo.c.height,
    photo.c.caption,
    photo.c.component,
    photo.c.moment,
    photo.c.posted_at,
    photo.c.posted_by,
    photo.c.void,
).select_from(photo.join(visit, visit.c.id == photo.c.visit_id))
ONE = Statement(PHOTOS.where(photo.c.uuid == bindparam("key")))
OF_VISIT = Statement(PHOTOS.where(visit.c.uuid == bindparam("key")).order_by(photo.c.id))
# Of visits that count; newest visit first, within it as they were taken.
OF_UNIT = Statement(
    PHOTOS.join(unit, unit.c.id == visit.c.unit_id)
    .where(unit.c.tag == bindparam("tag"), visit.c.void.is_(None), photo.c.void.is_(None))
    .order_by(visit.c.arrived_at.desc(), visit.c.id.desc(), photo.c.id)
    .limit(bindparam("most"))
)
IN_ORDER = Statement(
    PHOTOS.add_columns(photo.c.id).where(photo.c.id > bindparam("after")).order_by(photo.c.id).limit(bindparam("most"))
)
NAMES = Statement(select(photo.c.sha256).distinct().order_by(photo.c.sha256))
COUNT = Statement(select(func.count()).select_from(select(photo.c.id).limit(1).subquery()))
VISIT = Statement(select(visit.c.id, visit.c.customer_id).where(visit.c.uuid == bindparam("key")))
ADD = insert_of(photo)
VOID = Statement(photo.update().values(void=bindparam("why")).where(photo.c.uuid == bindparam("key")))


class Photos:
    """All photos, without their bytes."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def find(self, photo_id: str) -> Photo | None:
        """One, or None."""
        row = self.link.row(ONE, key=photo_id)
        return None if row is None else _read(row)

    def get(self, photo_id: str) -> Photo:
        """One, or NotFound."""
        found = self.find(photo_id)
        if found is None:
            raise NotFound("photo", photo_id)
        return found

    def of_visit(self, visit_id: str) -> list[Photo]:
        """Those of a visit as they were posted, the removed ones too."""
        return [_read(row) for row in self.link.rows(OF_VISIT, key=visit_id)]

    def of_unit(self, tag: str, most: int) -> list[Photo]:
        """Those of the unit's visits that count, of the latest visit first."""
        return [_read(row) for row in self.link.rows(OF_UNIT, tag=tag, most=most)]

    def in_order(self, after: int, most: int) -> tuple[list[Photo], int | None]:
        """The next photos as they were posted, with the position to continue from."""
        rows = self.link.rows(IN_ORDER, after=after, most=most)
        return [_read(row[:-1]) for row in rows], (rows[-1][-1] if len(rows) == most else None)

    def names(self) -> list[str]:
        """The names of all their files."""
        return [name for (name,) in self.link.rows(NAMES)]

    def any(self) -> bool:
        """Whether there is one."""
        return bool(self.link.value(COUNT))

    def add(self, new: Photo) -> None:
        """Add one to a visit."""
        of = self.link.row(VISIT, key=new.visit)
        if of is None:
            raise NotFound("visit", new.visit)
        self.link.run(
            ADD, uuid=new.id, visit_id=of[0], customer_id=of[1], sha256=new.sha256, sent_sha256=new.sent_sha256,
            size=new.size, width=new.width, height=new.height, caption=new.caption, component=new.component,
            moment=new.when, posted_at=to_text(new.posted_at), posted_by=new.posted_by, void=_void_text(new.void),
        )  # fmt: skip

    def void(self, photo_id: str, void: Void) -> None:
        """Store that one is removed."""
        self.link.run(VOID, key=photo_id, why=_void_text(void))


def _void_text(void: Void | None) -> str | None:
    if void is None:
        return None
    return orjson.dumps({"reason": void.reason, "by": void.by, "at": to_text(void.at)}).decode()


def _read(row: Sequence[Any]) -> Photo:
    key, of, sha256, sent, size, width, height, caption, component, moment, posted_at, posted_by, void = row
    why = None if void is None else orjson.loads(void)
    return Photo(
        id=key, visit=of, sha256=sha256, sent_sha256=sent, size=size, width=width, height=height, caption=caption,
        component=component, when=moment, posted_at=from_text(posted_at), posted_by=posted_by,
        void=None if why is None else Void(reason=why["reason"], by=why["by"], at=from_text(why["at"])),
    )  # fmt: skip
