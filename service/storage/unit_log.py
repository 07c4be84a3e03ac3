"""The one place where units' histories are loaded: one unit or many, always by the same rule, kept while they stand."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import groupby
from operator import itemgetter
from typing import Any

import orjson
from sqlalchemy import ARRAY, BigInteger, ColumnElement, CompoundSelect, any_, bindparam, cast, func, select, union

from service.domain.record.calls import Call
from service.domain.record.pauses import Pause
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Correction, Visit
from service.storage.calls import CALLS, read_call
from service.storage.corrections import CORRECTIONS, read_correction
from service.storage.documents import day, read_many
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.facts import facts_of_sites, facts_of_units, read_facts
from service.storage.first_dates import FIRST_DATES, first_dates
from service.storage.fleet import SITES, read_site
from service.storage.locations import LOCATIONS, locations_of
from service.storage.log_cache import LogCache
from service.storage.moved_visits import MOVED_AWAY, with_corrections
from service.storage.tables import (
    call,
    change,
    correction,
    customer,
    first_date,
    former_tag,
    location,
    site,
    unit,
    unit_task_setting,
    visit,
    visit_call,
)  # fmt: skip
from service.storage.tables.columns import TEXT
from service.storage.tags import FORMER_TAGS, former_tags, key_of
from service.storage.tasks import read_change
from service.storage.units import COMPONENTS, UNITS, component_of, read_unit
from service.storage.visit_rows import read_parts, read_visit
from service.storage.visits import PARTS, VISITS, part_columns

CHUNK = 500
SETTINGS = select(unit_task_setting.c.unit_id, unit_task_setting.c.task, unit_task_setting.c.changes).order_by(
    unit_task_setting.c.unit_id, unit_task_setting.c.task
)
SETTING_CHANGES = (
    select(unit.c.id, unit_task_setting.c.task, change.c.at, change.c.before, change.c.after)
    .select_from(
        unit.join(unit_task_setting, unit_task_setting.c.unit_id == unit.c.id).join(
            change, (change.c.resource == "unit_task") & key_of(change.c.key, unit_task_setting.c.task)
        )
    )
    .order_by(change.c.at, change.c.id)
)
Row = tuple[Any, ...]
Rows = dict[Any, list[Row]]


class _Question:
    """The statements that load units; `of` narrows a column to the units that the parameter `ids` names."""

    def __init__(self, of: Callable[[ColumnElement[Any]], ColumnElement[bool]]) -> None:
        self.units = Statement(
            UNITS.add_columns(unit.c.pauses, unit.c.log_version, unit.c.site_id).where(of(unit.c.id))
        )
        self.sites = Statement(
            SITES.add_columns(customer.c.care_from, customer.c.ended_on, site.c.closures, site.c.id).where(
                site.c.id.in_(select(unit.c.site_id).where(of(unit.c.id)))
            )
        )
        self.components = Statement(COMPONENTS.where(of(COMPONENTS.selected_columns.unit_id)))
        self.visits = Statement(
            VISITS.add_columns(visit.c.unit_id)
            .where(of(visit.c.unit_id))
            .order_by(visit.c.unit_id, visit.c.arrived_at, visit.c.id)
        )
        self.parts = {
            table.name: Statement(
                select(table.c.visit_id, *part_columns(table))
                .select_from(visit.join(table, table.c.visit_id == visit.c.id))  # along the visits they lie together
                .where(of(visit.c.unit_id))
                .order_by(table.c.visit_id, table.c.position)
            )
            for table in PARTS
        }
        self.calls = Statement(_calls(of))
        self.corrections = Statement(CORRECTIONS.where(of(visit.c.unit_id)))
        self.settings = Statement(SETTINGS.where(of(unit_task_setting.c.unit_id)))
        self.first_dates = Statement(FIRST_DATES.where(of(first_date.c.unit_id)))
        self.locations = Statement(LOCATIONS.where(of(location.c.unit_id)))
        self.moved_away = Statement(MOVED_AWAY.where(of(correction.c.from_unit_id)))
        self.former_tags = Statement(FORMER_TAGS.where(of(former_tag.c.unit_id)))
        self.setting_changes = Statement(SETTING_CHANGES.where(of(unit.c.id)))
        self.unit_facts = Statement(facts_of_units(of))
        self.site_facts = Statement(facts_of_sites(of))


def _calls(of: Callable[[ColumnElement[Any]], ColumnElement[bool]]) -> CompoundSelect[Any]:
    """The calls for units and those that their visits name; each first with the identity of the unit."""
    named = visit_call.c.call == call.c.uuid
    return union(
        CALLS.with_only_columns(call.c.unit_id.label("of_unit"), *CALLS.selected_columns).where(of(call.c.unit_id)),
        CALLS.join(visit_call, named)
        .with_only_columns(visit_call.c.unit_id.label("of_unit"), *CALLS.selected_columns)
        .where(of(visit_call.c.unit_id)),
    )


def _one(column: ColumnElement[Any]) -> ColumnElement[bool]:
    return column == bindparam("ids")


def among(column: ColumnElement[Any], dialect: str) -> ColumnElement[bool]:
    """Whether an identity is in the comma-separated list of the parameter `ids`; an IN of many costs more to write."""
    ids = bindparam("ids", type_=TEXT)
    if dialect == "postgresql":
        return column == any_(cast(func.string_to_array(ids, ","), ARRAY(BigInteger)))
    return column.in_(select(func.json_each("[" + ids + "]").table_valued("value").c.value))


ONE = _Question(_one)
MANY = {name: _Question(partial(among, dialect=name)) for name in ("sqlite", "postgresql")}
VERSIONS = {
    name: Statement(select(unit.c.id, unit.c.log_version).where(among(unit.c.id, name)))
    for name in ("sqlite", "postgresql")
}
THEIRS = select(customer.c.id).where(customer.c.code == bindparam("code"))
OF_CUSTOMER = Statement(
    select(unit.c.id)
    .where(
        unit.c.customer_id.in_(THEIRS)
        | unit.c.id.in_(select(location.c.unit_id).where(location.c.customer_id.in_(THEIRS)))
    )
    .order_by(unit.c.tag)
)
AFTER = Statement(select(unit.c.id).where(unit.c.id > bindparam("after")).order_by(unit.c.id).limit(bindparam("most")))


class UnitLogs:
    """Histories as one transaction sees them. What it made itself is kept for others only once it is committed."""

    def __init__(self, link: Link, cache: LogCache) -> None:
        self.link, self._cache = link, cache
        self._made: dict[int, UnitLog] = {}
        link.when_done.append(self._committed)

    def get(self, unit_id: int, version: int) -> UnitLog:
        """The log of a unit, whose row says this `log_version`."""
        made = self._made.get(unit_id)
        if made is not None and made.version == version:
            return made
        kept = self._cache.get(unit_id, version)
        if kept is None:
            _, kept = next(self._load(ONE, [unit_id], unit_id))
            self._made[unit_id] = kept
        return kept

    def remember(self, unit_id: int, log: UnitLog) -> None:
        """Keep a log that this transaction has written."""
        self._made[unit_id] = log

    def _committed(self) -> None:
        """Let other transactions use what this one loaded or made; its COMMIT has returned."""
        for unit_id, log in self._made.items():
            self._cache.put(unit_id, log)

    def of(self, unit_ids: Sequence[int]) -> Iterator[tuple[int, UnitLog]]:
        """(identity, log) of some units, in the order given; a few hundred are read at a time."""
        for start in range(0, len(unit_ids), CHUNK):
            yield from self._chunk(unit_ids[start : start + CHUNK], keep=True)

    def of_customer(self, code: str) -> Iterator[tuple[int, UnitLog]]:
        """The logs of the units that are, were or are to be a customer's, in the order of their tags."""
        return self.of([row[0] for row in self.link.rows(OF_CUSTOMER, code=code)])

    def in_chunks(self, most: int = CHUNK) -> Iterator[list[tuple[int, UnitLog]]]:
        """All logs by identity, so many at a time; they are not kept, so that any fleet fits into memory."""
        after = 0
        while unit_ids := [row[0] for row in self.link.rows(AFTER, after=after, most=most)]:
            yield list(self._chunk(unit_ids, keep=False))
            after = unit_ids[-1]

    def _chunk(self, unit_ids: Sequence[int], *, keep: bool) -> Iterator[tuple[int, UnitLog]]:
        versions = dict(self.link.rows(VERSIONS[self.link.dialect], ids=id_text(unit_ids)))
        found = {key: kept for key, version in versions.items() if (kept := self._cache.get(key, version))}
        missing = [key for key in versions if key not in found]
        if missing:
            loaded = dict(self._load(MANY[self.link.dialect], missing, id_text(missing)))
            found |= loaded
            if keep:
                self._made |= loaded
        yield from ((key, found[key]) for key in unit_ids if key in found)

    def _load(self, ask: _Question, unit_ids: Sequence[int], ids: Any) -> Iterator[tuple[int, UnitLog]]:
        units = {row[0]: row for row in self.link.rows(ask.units, ids=ids)}
        sites = {row[-1]: (read_site(row[:-4]), *row[-4:-1]) for row in self.link.rows(ask.sites, ids=ids)}
        components = _grouped(self.link.rows(ask.components, ids=ids))
        visits = self._visits(ask, ids)
        corrections = self._corrections(ask, ids, visits)
        calls = _grouped(self.link.rows(ask.calls, ids=ids))
        settings = _grouped(self.link.rows(ask.settings, ids=ids))
        planned = first_dates(self.link.rows(ask.first_dates, ids=ids))
        moves = locations_of(self.link.rows(ask.locations, ids=ids))
        tags = former_tags(self.link.rows(ask.former_tags, ids=ids))
        away = _grouped(self.link.rows(ask.moved_away, ids=ids))
        changes = _grouped(self.link.rows(ask.setting_changes, ids=ids)) if settings else {}
        facts = read_facts(*(self.link.rows(each, ids=ids) for each in (ask.unit_facts, ask.site_facts)))
        for key in unit_ids:
            *row, pauses, version, site_id = units[key]
            its_site, care_from, ended_on, closures = sites[site_id]
            own = tuple(visits.get(key, ()))
            left = with_corrections(self.link, [row[1] for row in away.get(key, ())])
            log = UnitLog(
                unit=read_unit(tuple(row), [component_of(part) for part in components.get(key, ())]),
                site=its_site,
                customer_care_from=day(care_from),
                customer_ended_on=day(ended_on),
                pauses=read_many(Pause, pauses),
                closures=read_many(Pause, closures),
                planned=planned.get(key, {}),
                moves=moves.get(key, ()),
                former_tags=tags.get(key, ()),
                version=version,
                all_visits=own,
                calls=_by_receipt(calls.get(key, ())),
                moved_away=tuple(each for each, _ in left),
                corrections={each.id: corrections[each.id] for each in own if each.id in corrections}
                | {each.id: made for each, made in left},
                settings={task: orjson.loads(text) for _, task, text in settings.get(key, ())},
                setting_changes=tuple(read_change(*row[1:]) for row in changes.get(key, ())),
                facts=facts(key, [its_site, *(each.site for each in moves.get(key, ()))]),
            )
            yield key, log

    def _corrections(
        self, ask: _Question, ids: Any, visits: dict[int, list[Visit]]
    ) -> dict[str, tuple[Correction, ...]]:
        corrected = any(each.version > 1 for own in visits.values() for each in own)
        return _corrections(self.link.rows(ask.corrections, ids=ids)) if corrected else {}

    def _visits(self, ask: _Question, ids: Any) -> dict[int, list[Visit]]:
        rows = self.link.rows(ask.visits, ids=ids)
        parts = read_parts({name: self.link.rows(statement, ids=ids) for name, statement in ask.parts.items()})
        found: dict[int, list[Visit]] = {}
        for row in rows:
            found.setdefault(row[-1], []).append(read_visit(row[:-1], parts))
        return found


def id_text(unit_ids: Iterable[int]) -> str:
    """Identities as the parameter of `among`."""
    return ",".join(map(str, unit_ids))


def _grouped(rows: Iterable[Row]) -> Rows:
    """Rows by their first column, in the order in which they came."""
    found: Rows = {}
    for row in rows:
        found.setdefault(row[0], []).append(row)
    return found


def _by_receipt(rows: Iterable[Row]) -> tuple[Call, ...]:
    """Calls by the instant at which they were received; the rows begin with the unit."""
    return tuple(sorted((read_call(row[1:]) for row in rows), key=lambda call: (call.received_at, call.id)))


def _corrections(rows: Iterable[Row]) -> dict[str, tuple[Correction, ...]]:
    return {visit_id: tuple(read_correction(row) for row in own) for visit_id, own in groupby(rows, key=itemgetter(0))}
