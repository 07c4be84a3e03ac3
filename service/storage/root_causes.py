"""Root causes, one row a unit and component kind, and the figures learned from the fleet."""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import orjson
from sqlalchemy import ColumnElement, bindparam, case, func, select, tuple_

from service.domain.errors import NotFound, Stale
from service.domain.instants import from_text, to_text
from service.domain.root_causes.found import TIERS
from service.domain.root_causes.life_cycle import ACTION_TIERS, Decision, RootCause, RootCauseFilter
from service.storage.documents import day, day_text
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.places import Place
from service.storage.tables import baseline, change, customer, root_cause, site, unit
from service.storage.tags import key_of, present_tag
from service.storage.unit_log import among, id_text

PLAIN = (
    "kind", "tier", "state", "probability_of_chance", "document", "evidence_key", "decided_by", "why", "after_remedy",
    "version", "id",
)  # fmt: skip
ENGINES = ("sqlite", "postgresql")
INSTANTS = ("first_seen", "updated_at", "decided_at", "absent_since")
COLUMNS = (root_cause.c[name] for name in (*INSTANTS, *PLAIN))
ROOT_CAUSES = select(unit.c.tag, root_cause.c.resolved_on, *COLUMNS).select_from(
    root_cause.join(unit, unit.c.id == root_cause.c.unit_id)
)
ROOT_CAUSE = Statement(ROOT_CAUSES.where(root_cause.c.id == bindparam("key")))
ROOT_CAUSES_AT = Statement(ROOT_CAUSES.where(root_cause.c.unit_id == bindparam("unit_id")).order_by(root_cause.c.kind))
ROOT_CAUSES_OF = Statement(ROOT_CAUSES.where(unit.c.tag == present_tag(bindparam("tag"))).order_by(root_cause.c.kind))
ADD = insert_of(root_cause)
RESTORE = Statement(root_cause.insert().values({c.name: bindparam(c.name) for c in root_cause.c}))
FIXED = ("id", "unit_id", "customer_id", "kind", "first_seen")
SAVE = Statement(
    root_cause.update()
    .values({column.name: bindparam(column.name) for column in root_cause.c if column.name not in FIXED})
    .where(root_cause.c.id == bindparam("key"), root_cause.c.version == bindparam("former_version"))
)
STANDING = Statement(
    select(
        root_cause.c.unit_id,
        root_cause.c.kind,
        root_cause.c.tier,
        root_cause.c.probability_of_chance,
        root_cause.c.state,
    )
)
DROP = Statement(root_cause.delete().where(root_cause.c.id == bindparam("key")))
MOVE = Statement(
    root_cause.update().values(customer_id=bindparam("to_customer")).where(root_cause.c.unit_id == bindparam("of_unit"))
)
TO_CHECK = ROOT_CAUSES.where(
    root_cause.c.state.in_(("open", "confirmed")),
    root_cause.c.tier.in_(ACTION_TIERS),
    root_cause.c.absent_since.is_(None),
).order_by(root_cause.c.unit_id, root_cause.c.probability_of_chance, root_cause.c.kind)
TO_CHECK_AT = Statement({name: TO_CHECK.where(among(root_cause.c.unit_id, name)) for name in ENGINES})
ROOT_CAUSES_OF_UNITS = Statement(
    {name: ROOT_CAUSES.where(among(root_cause.c.unit_id, name)).order_by(root_cause.c.id) for name in ENGINES}
)
STRONG = Statement(
    select(
        unit.c.site_id,
        root_cause.c.unit_id,
        site.c.technician_id,
        site.c.time_zone,
        root_cause.c.kind,
        root_cause.c.first_seen,
        root_cause.c.document,
    )
    .select_from(root_cause.join(unit, unit.c.id == root_cause.c.unit_id).join(site, site.c.id == unit.c.site_id))
    .where(root_cause.c.tier == "strong", root_cause.c.state.in_(("open", "confirmed")))
    .order_by(root_cause.c.id)
)
DECISIONS = (
    select(unit.c.tag, root_cause.c.kind, change.c.at, change.c.made_by, change.c.after)
    .select_from(
        unit.join(root_cause, root_cause.c.unit_id == unit.c.id).join(
            change, (change.c.resource == "root_cause") & key_of(change.c.key, root_cause.c.kind)
        )
    )
    .order_by(change.c.at, change.c.id)
)
DECISIONS_AT = Statement({name: DECISIONS.where(among(unit.c.id, name)) for name in ENGINES})
IN_ORDER = Statement(
    ROOT_CAUSES.where(root_cause.c.id > bindparam("after")).order_by(root_cause.c.id).limit(bindparam("most"))
)
# what asks for a decision or an eye comes first, the graver tier first
STATE_ORDER = ("open", "confirmed", "resolved", "dismissed")
ORDER: tuple[ColumnElement[Any], ...] = (
    case({state: n for n, state in enumerate(STATE_ORDER)}, value=root_cause.c.state) * len(TIERS)
    - case({tier: n for n, tier in enumerate(TIERS)}, value=root_cause.c.tier),
    root_cause.c.probability_of_chance,
    root_cause.c.id,
)
Position = tuple[int, float, int]
ADD_BASELINE = insert_of(baseline)
LATEST_BASELINE = Statement(select(baseline.c.figures).order_by(baseline.c.learned_at.desc()).limit(1))
LATEST_BASELINE_BY = Statement(
    select(baseline.c.figures)
    .where(baseline.c.learned_at <= bindparam("instant"))
    .order_by(baseline.c.learned_at.desc())
    .limit(1)
)
LEARNED_BY = Statement(
    select(baseline.c.learned_at)
    .where(baseline.c.learned_at <= bindparam("instant"))
    .order_by(baseline.c.learned_at.desc())
    .limit(1)
)
BASELINES = Statement(select(baseline.c.learned_at, baseline.c.figures).order_by(baseline.c.learned_at))
BASELINES_OF_DAY = Statement(
    select(func.count()).where(baseline.c.learned_at >= bindparam("day"), baseline.c.learned_at < bindparam("next_day"))
)
# an instant begins with its day and a "T", which comes before "U"
DROP_BASELINES = Statement(
    baseline.delete().where(baseline.c.learned_at >= bindparam("day"), baseline.c.learned_at < bindparam("next_day"))
)


def position(found: RootCause) -> Position:
    """Where a root cause stands in the order of the list."""
    rank = STATE_ORDER.index(found.state) * len(TIERS) - TIERS.index(found.tier)
    return rank, found.probability_of_chance, found.id


def _root_cause(row: tuple[Any, ...]) -> RootCause:
    tag, resolved_on, *rest = row
    values = dict(zip((*INSTANTS, *PLAIN), rest, strict=True))
    instants = {name: values[name] and from_text(values[name]) for name in INSTANTS}
    return RootCause(unit=tag, resolved_on=day(resolved_on), **{**values, **instants})


def _columns(of: RootCause) -> dict[str, Any]:
    plain = {name: getattr(of, name) for name in PLAIN if name not in FIXED}
    instants = {name: getattr(of, name) for name in INSTANTS if name not in FIXED}
    return (
        plain | {name: at and to_text(at) for name, at in instants.items()} | {"resolved_on": day_text(of.resolved_on)}
    )


class Standing(NamedTuple):
    """How a root cause stands; `chance` is the probability of chance."""

    tier: str
    chance: float
    state: str


class RootCauses:
    """What was found, and what was decided on it."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def get(self, identity: int) -> RootCause:
        """One root cause, or NotFound."""
        row = self.link.row(ROOT_CAUSE, key=identity)
        if row is None:
            raise NotFound("root cause", str(identity))
        return _root_cause(row)

    def at(self, unit_id: int) -> dict[str, RootCause]:
        """The root causes of one unit by component kind."""
        return {found.kind: found for found in map(_root_cause, self.link.rows(ROOT_CAUSES_AT, unit_id=unit_id))}

    def of(self, tag: str) -> list[RootCause]:
        """The root causes of the unit with a tag."""
        return [_root_cause(row) for row in self.link.rows(ROOT_CAUSES_OF, tag=tag)]

    def add(self, new: RootCause, place: Place) -> int:
        """Store a new root cause; its identity, which is given to it unless it has one.

        Conflict when the unit has one of this kind.
        """
        own = {"unit_id": place.id, "customer_id": place.customer_id, "kind": new.kind}
        values = {"first_seen": to_text(new.first_seen), **own, **_columns(new)}
        if not new.id:
            return int(self.link.value(ADD, **values))
        self.link.run(RESTORE, id=new.id, **values)
        return new.id

    def save(self, changed: RootCause) -> None:
        """Store a changed root cause; Stale when another change came first."""
        former = changed.version - 1
        if not self.link.run(SAVE, key=changed.id, former_version=former, **_columns(changed)):
            raise Stale("root cause", str(changed.id))

    def drop(self, withdrawn: RootCause) -> None:
        """Delete a root cause."""
        self.link.run(DROP, key=withdrawn.id)

    def move(self, place: Place) -> None:
        """Move a unit's root causes to the customer whose it now is."""
        self.link.run(MOVE, of_unit=place.id, to_customer=place.customer_id)

    def to_check(self, unit_ids: Sequence[int]) -> list[RootCause]:
        """Root causes at these units for a technician to check: open or confirmed, above the tier watch."""
        return [_root_cause(row) for row in self.link.rows(TO_CHECK_AT, ids=id_text(unit_ids))]

    def strong(self) -> list[tuple[int, int, int | None, str, str, str, str]]:
        """(site, unit, technician, zone, kind, first seen, document) of the open and confirmed of the gravest tier."""
        return self.link.rows(STRONG)

    def standing(self) -> dict[tuple[int, str], Standing]:
        """How the root causes of all units stand, by unit identity and component kind."""
        return {(unit_id, kind): Standing(*rest) for unit_id, kind, *rest in self.link.rows(STANDING)}

    def in_order(self, after: int, most: int) -> list[RootCause]:
        """The next root causes as they were stored, for going through all of them."""
        return [_root_cause(row) for row in self.link.rows(IN_ORDER, after=after, most=most)]

    def page(self, wanted: RootCauseFilter, *, after: Position | None, limit: int) -> list[RootCause]:
        """Root causes behind a position: by state, within it the graver tier and the less probable by chance first."""
        query = ROOT_CAUSES.join(customer, customer.c.id == root_cause.c.customer_id)
        if after is not None:
            query = query.where(tuple_(*ORDER) > tuple_(*after))
        named = (
            (root_cause.c.tier, wanted.tier),
            (root_cause.c.state, wanted.state),
            (customer.c.code, wanted.customer),
            (unit.c.tag, None if wanted.unit is None else present_tag(wanted.unit)),
        )
        for column, value in named:
            if value is not None:
                query = query.where(column == value)
        return [_root_cause(row) for row in self.link.core(query.order_by(*ORDER).limit(limit))]

    def of_units(self, unit_ids: Sequence[int]) -> list[RootCause]:
        """The root causes of some units, in the order in which they were found."""
        return [_root_cause(row) for row in self.link.rows(ROOT_CAUSES_OF_UNITS, ids=id_text(unit_ids))]

    def decisions(self, unit_ids: Sequence[int]) -> dict[tuple[str, str], list[Decision]]:
        """By unit and component kind what was decided on the root causes of some units, the oldest first."""
        found: dict[tuple[str, str], list[Decision]] = {}
        for tag, kind, at, by, text in self.link.rows(DECISIONS_AT, ids=id_text(unit_ids)):
            after = orjson.loads(text)
            found.setdefault((tag, kind), []).append(Decision(from_text(at), by, after["state"], after["note"]))
        return found


class Baselines:
    """The figures learned from the fleet, the last ones of each day in UTC."""

    def __init__(self, link: Link) -> None:
        self.link = link
        self._latest: tuple[str | None] | None = None

    def latest(self) -> str | None:
        """The figures as JSON text; None before they were learned. A transaction asks once, and again after `keep`."""
        if self._latest is None:
            self._latest = (self.link.value(LATEST_BASELINE),)
        return self._latest[0]

    def latest_by(self, instant: str) -> str | None:
        """The figures that had been learned by an instant; None before there were any."""
        figures: str | None = self.link.value(LATEST_BASELINE_BY, instant=instant)
        return figures

    def learned_by(self, instant: str) -> str | None:
        """When the figures of `latest_by` were learned."""
        learned_at: str | None = self.link.value(LEARNED_BY, instant=instant)
        return learned_at

    def in_order(self) -> Iterator[tuple[str, str]]:
        """When figures were learned, and they, oldest first."""
        return ((learned_at, figures) for learned_at, figures in self.link.stream(BASELINES))

    def any_of(self, instant: str) -> bool:
        """Whether there are figures of the day of an instant."""
        return bool(self.link.value(BASELINES_OF_DAY, day=instant[:10], next_day=instant[:10] + "U"))

    def keep(self, figures: str, learned_at: str) -> None:
        """Keep new figures, in the place of those of the same day."""
        self._latest = None
        self.link.run(DROP_BASELINES, day=learned_at[:10], next_day=learned_at[:10] + "U")
        self.link.value(ADD_BASELINE, figures=figures, learned_at=learned_at)
