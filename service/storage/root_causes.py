"""Suspected root causes, one row a unit and component kind, and the figures learned from the fleet."""

from collections.abc import Sequence
from typing import Any, NamedTuple

from sqlalchemy import ARRAY, BigInteger, ColumnElement, any_, bindparam, case, cast, func, select, tuple_

from service.domain.errors import NotFound, Stale
from service.domain.instants import from_text, to_text
from service.domain.root_causes.candidate import TIERS
from service.domain.root_causes.life_cycle import PRESSING_TIERS, RootCause, RootCauseFilter
from service.storage.documents import day, day_text
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.fleet import insert_of
from service.storage.tables import baseline, customer, root_cause, unit
from service.storage.tables.columns import TEXT
from service.storage.units import Place

PLAIN = (
    "kind", "tier", "state", "luck_probability", "document", "evidence_key", "decided_by", "why", "after_remedy",
    "version", "id",
)  # fmt: skip
INSTANTS = ("first_seen", "updated_at", "decided_at", "absent_since")
CASES = select(unit.c.tag, root_cause.c.resolved_on, *(root_cause.c[name] for name in (*INSTANTS, *PLAIN))).select_from(
    root_cause.join(unit, unit.c.id == root_cause.c.unit_id)
)
CASE = Statement(CASES.where(root_cause.c.id == bindparam("key")))
CASES_AT = Statement(CASES.where(root_cause.c.unit_id == bindparam("unit_id")).order_by(root_cause.c.kind))
CASES_OF = Statement(CASES.where(unit.c.tag == bindparam("tag")).order_by(root_cause.c.kind))
CASES_BETWEEN = Statement(
    CASES.where(root_cause.c.unit_id.between(bindparam("low"), bindparam("high"))).order_by(root_cause.c.id)
)
CASES_OF_CUSTOMER = Statement(
    CASES.join(customer, customer.c.id == root_cause.c.customer_id)
    .where(customer.c.code == bindparam("code"))
    .order_by(root_cause.c.id)
)
ADD_CASE = insert_of(root_cause)
FIXED = ("id", "unit_id", "customer_id", "kind", "first_seen")
SAVE_CASE = Statement(
    root_cause.update()
    .values({column.name: bindparam(column.name) for column in root_cause.c if column.name not in FIXED})
    .where(root_cause.c.id == bindparam("key"), root_cause.c.version == bindparam("former_version"))
)
STANDING = Statement(
    select(
        root_cause.c.unit_id, root_cause.c.kind, root_cause.c.tier, root_cause.c.luck_probability, root_cause.c.state
    )
)
DROP_CASE = Statement(root_cause.delete().where(root_cause.c.id == bindparam("key")))
MOVE_CASES = Statement(
    root_cause.update().values(customer_id=bindparam("to_customer")).where(root_cause.c.unit_id == bindparam("of_unit"))
)
PRESSING = CASES.where(
    root_cause.c.state.in_(("open", "confirmed")),
    root_cause.c.tier.in_(PRESSING_TIERS),
    root_cause.c.absent_since.is_(None),
).order_by(root_cause.c.unit_id, root_cause.c.luck_probability, root_cause.c.kind)
# An IN of a thousand identities costs more to put together than the day's list; both engines can read them from a text.
IDS = bindparam("ids", type_=TEXT)
PRESSING_AT = Statement(
    {
        "sqlite": PRESSING.where(
            root_cause.c.unit_id.in_(select(func.json_each("[" + IDS + "]").table_valued("value").c.value))
        ),
        "postgresql": PRESSING.where(
            root_cause.c.unit_id == any_(cast(func.string_to_array(IDS, ","), ARRAY(BigInteger)))
        ),
    }
)
IN_ORDER = Statement(
    CASES.where(root_cause.c.id > bindparam("after")).order_by(root_cause.c.id).limit(bindparam("most"))
)
# what asks for a decision or an eye comes first, the graver tier first
STATE_ORDER = ("open", "confirmed", "resolved", "dismissed")
ORDER: tuple[ColumnElement[Any], ...] = (
    case({state: n for n, state in enumerate(STATE_ORDER)}, value=root_cause.c.state) * len(TIERS)
    - case({tier: n for n, tier in enumerate(TIERS)}, value=root_cause.c.tier),
    root_cause.c.luck_probability,
    root_cause.c.id,
)
Position = tuple[int, float, int]
ADD_BASELINE = insert_of(baseline)
LATEST_BASELINE = Statement(select(baseline.c.figures).order_by(baseline.c.id.desc()).limit(1))
DROP_BASELINES = Statement(baseline.delete())


def position(found: RootCause) -> Position:
    """Where a case stands in the order of the list."""
    rank = STATE_ORDER.index(found.state) * len(TIERS) - TIERS.index(found.tier)
    return rank, found.luck_probability, found.id


def _case(row: tuple[Any, ...]) -> RootCause:
    tag, resolved_on, *rest = row
    told = dict(zip((*INSTANTS, *PLAIN), rest, strict=True))
    instants = {name: told[name] and from_text(told[name]) for name in INSTANTS}
    return RootCause(unit=tag, resolved_on=day(resolved_on), **{**told, **instants})


def _columns(told: RootCause) -> dict[str, Any]:
    plain = {name: getattr(told, name) for name in PLAIN if name not in FIXED}
    instants = {name: getattr(told, name) for name in INSTANTS if name not in FIXED}
    return (
        plain
        | {name: at and to_text(at) for name, at in instants.items()}
        | {"resolved_on": day_text(told.resolved_on)}
    )


class Standing(NamedTuple):
    """What a case says of its pair."""

    tier: str
    luck: float
    state: str


class RootCauses:
    """What is suspected, and what was decided on it."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def get(self, identity: int) -> RootCause:
        """One case, or NotFound."""
        row = self.link.row(CASE, key=identity)
        if row is None:
            raise NotFound("root cause", str(identity))
        return _case(row)

    def at(self, unit_id: int) -> dict[str, RootCause]:
        """The cases of one unit by component kind."""
        return {found.kind: found for found in map(_case, self.link.rows(CASES_AT, unit_id=unit_id))}

    def of(self, tag: str) -> list[RootCause]:
        """The cases of the unit with a tag."""
        return [_case(row) for row in self.link.rows(CASES_OF, tag=tag)]

    def between(self, low: int, high: int) -> list[RootCause]:
        """The cases of units in a range of identities."""
        return [_case(row) for row in self.link.rows(CASES_BETWEEN, low=low, high=high)]

    def of_customer(self, code: str) -> list[RootCause]:
        """The cases of a customer's units."""
        return [_case(row) for row in self.link.rows(CASES_OF_CUSTOMER, code=code)]

    def add(self, new: RootCause, place: Place) -> int:
        """Store a new case; its identity. Conflict when the unit has one of this kind."""
        own = {"unit_id": place.id, "customer_id": place.customer_id, "kind": new.kind}
        return int(self.link.value(ADD_CASE, first_seen=to_text(new.first_seen), **own, **_columns(new)))

    def save(self, changed: RootCause) -> None:
        """Store a changed case; Stale when another change came first."""
        former = changed.version - 1
        if not self.link.run(SAVE_CASE, key=changed.id, former_version=former, **_columns(changed)):
            raise Stale("root cause", str(changed.id))

    def drop(self, withdrawn: RootCause) -> None:
        """Take a case away."""
        self.link.run(DROP_CASE, key=withdrawn.id)

    def move(self, place: Place) -> None:
        """Take a unit's cases along to the customer whose it now is."""
        self.link.run(MOVE_CASES, of_unit=place.id, to_customer=place.customer_id)

    def pressing(self, unit_ids: Sequence[int]) -> list[RootCause]:
        """Cases at these units for a technician to look into: undecided or confirmed, more than to be watched."""
        return [_case(row) for row in self.link.rows(PRESSING_AT, ids=",".join(map(str, unit_ids)))]

    def standing(self) -> dict[tuple[int, str], Standing]:
        """What the cases of all units say, by unit identity and component kind."""
        return {(unit_id, kind): Standing(*told) for unit_id, kind, *told in self.link.rows(STANDING)}

    def in_order(self, after: int, most: int) -> list[RootCause]:
        """The next cases as they were stored, for going through the whole book."""
        return [_case(row) for row in self.link.rows(IN_ORDER, after=after, most=most)]

    def page(self, wanted: RootCauseFilter, *, after: Position | None, limit: int) -> list[RootCause]:
        """Cases behind a position: by state, within it the graver tier and what luck explains least first."""
        query = CASES.join(customer, customer.c.id == root_cause.c.customer_id)
        if after is not None:
            query = query.where(tuple_(*ORDER) > tuple_(*after))
        named = (
            (root_cause.c.tier, wanted.tier),
            (root_cause.c.state, wanted.state),
            (customer.c.code, wanted.customer),
            (unit.c.tag, wanted.unit),
        )
        for column, value in named:
            if value is not None:
                query = query.where(column == value)
        return [_case(row) for row in self.link.core(query.order_by(*ORDER).limit(limit))]


class Baselines:
    """The figures learned from the fleet; only the latest are kept."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def latest(self) -> str | None:
        """The figures as JSON text; None before they were learned."""
        figures: str | None = self.link.value(LATEST_BASELINE)
        return figures

    def keep(self, figures: str, learned_at: str) -> None:
        """Put new figures in the place of the former ones."""
        self.link.run(DROP_BASELINES)
        self.link.value(ADD_BASELINE, figures=figures, learned_at=learned_at)
