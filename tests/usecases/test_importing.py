"""Export and import: a round trip changes nothing, and every error is reported by its line and field."""

import importlib.util
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from functools import cache
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import orjson
import psycopg
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from service.app import open_database
from service.domain.audit import Actor, AuditFilter
from service.schemas.records import SCHEMAS
from service.schemas.transfer import LONGEST_LINE, read_lines
from service.settings import Settings
from service.storage.migrating import upgrade
from service.storage.store import Store
from service.storage.tables import metadata
from service.usecases.maintenance import tasks
from service.usecases.maintenance.due import due_at
from service.usecases.maintenance.refreshing import refresh_range
from service.usecases.root_causes import root_causes
from service.usecases.system import FleetDatabase
from service.usecases.transfer import baseline_lines, exporting, importing
from tests.emptying import empty

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 6, 9, 21, 0, tzinfo=UTC)
Record = dict[str, Any]


class Shop:
    """A database, and whoever takes records in and gives them out there."""

    def __init__(self, database: FleetDatabase) -> None:
        self.database = database
        self.now = NOW

    @property
    def actor(self) -> Actor:
        """Who does it, now."""
        return Actor("tester", "owner", None, self.now)

    def import_records(self, given: bytes | Iterable[Record], *, keep_good: bool = False) -> importing.Tally:
        """Import a file's bytes, or records."""
        raw = given if isinstance(given, bytes) else b"\n".join(orjson.dumps(record) for record in given)
        with self.database.writing() as store:
            return importing.import_records(store, self.actor, read_lines(raw.split(b"\n")), keep_good=keep_good)

    def refused(self, given: bytes | Iterable[Record]) -> list[tuple[int, str, object, str]]:
        """The errors of an import that must store nothing."""
        before = self.dump()
        with pytest.raises(importing.NothingStored) as caught:
            self.import_records(given)
        assert self.dump() == before
        return [(error.line, error.field, error.value, error.message) for error in caught.value.tally.errors]

    def export_records(self, *, trail: bool = False) -> bytes:
        """The whole database as a file, by default without the audit trail, to which each import adds."""
        with self.database.reading() as store:
            return b"".join(orjson.dumps(record) + b"\n" for record in exporting.records(store, trail=trail))

    def dump(self) -> dict[str, list[Any]]:
        """Every row of every table but the audit trail's."""
        tables = [table for table in metadata.sorted_tables if table.name not in ("audit", "audit_chain")]
        with self.database.reading() as store:
            return {table.name: _rows(store, table) for table in tables}

    def empty(self) -> None:
        """Forget everything, and set the clock back."""
        self.now = NOW
        with self.database.writing() as store:
            empty(store.link, list(reversed(metadata.sorted_tables)))


def _rows(store: Store, table: Any) -> list[Any]:
    return sorted(store.link.core(select(table)), key=repr)


def _url(request: pytest.FixtureRequest, home: Path) -> str:
    name = f"b{uuid4().hex}"
    if request.param == "sqlite":
        return f"sqlite:///{home}/{name}.db"
    server: str = request.getfixturevalue("postgres_url")
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return server.replace("/postgres?", f"/{name}?")


@pytest.fixture(scope="session", params=["sqlite", "postgresql"])
def open_shops(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Shop, Shop]]:
    """Two migrated databases on each engine in turn."""
    home = tmp_path_factory.mktemp("databases")
    with ExitStack() as stack:
        shops = []
        for url in (_url(request, home), _url(request, home)):
            upgrade(url, ROOT / "migrations")
            database = open_database(Settings(database_url=url, home=home))
            stack.callback(database.close)
            shops.append(Shop(database))
        yield shops[0], shops[1]


@pytest.fixture
def shop(open_shops: tuple[Shop, Shop]) -> Shop:
    """An empty database; it is 2026-06-09T21:00Z."""
    open_shops[0].empty()
    return open_shops[0]


@pytest.fixture
def other(open_shops: tuple[Shop, Shop]) -> Shop:
    """A second empty database."""
    open_shops[1].empty()
    return open_shops[1]


DAY = date(2026, 6, 9)
LONG = "Nook " * 400  # 2000 characters
CUSTOMER = {"record": "customer", "code": "lantern", "name": "The Lantern Room", "units_shown": "us"}
RHEA = {"record": "technician", "code": "rhea", "name": "Rhea"}
SITE = {
    "record": "site", "code": "quay", "customer": "lantern", "name": "Lantern Room, Quay",
    "time_zone": "America/Denver", "latitude": 39.74, "longitude": -104.99, "surroundings": "greasy",
    "closed_weekdays": ["monday", "sunday"], "technician": "rhea",
}  # fmt: skip
UNIT = {
    "record": "unit", "tag": "GU-1", "site": "quay", "installed_on": "2023-05-02", "registered_on": "2023-05-01",
    "supply": {"voltage": "115 V", "phases": 1}, "refrigeration": {"charge": {"value": 300, "unit": "g"}},
    "bath": {"volume": "38 L", "set_point": "28 degF"},
    "components": [
        {"code": "switch-1", "kind": "power_switch", "feeds": ["pump-1"], "rated_current": "20 A"},
        {"code": "pump-1", "kind": "pump", "rated_power": "0.25 hp", "removed_on": "2026-01-07"},
        {"code": "fan-1", "kind": "condenser_fan"},
    ],
    "trunks": [
        {"code": "bar", "runs": [{"surroundings": "attic", "length": "120 ft"}], "beer_lines": [{"tap": "1"}]},
        {"code": "terrace"},
    ],
}  # fmt: skip
FLEET = [CUSTOMER, RHEA, SITE, UNIT]


def uuid(n):
    return str(UUID(int=(0x7 << 76) + (0x8 << 60) + n))


def visit(n, day="2026-06-08", **fields):
    plain = {"id": uuid(n), "unit": "GU-1", "kind": "maintenance", "arrived_at": f"{day}T18:00:00Z"}
    return {"record": "visit"} | plain | fields


def change(n, at, **changes):
    return {"record": "correction", "visit": uuid(n), "at": at, "by": "rhea", "correction": changes}


def void(n, at, **changes):
    return {"record": "void", "visit": uuid(n), "at": at, "by": "anna", "reason": "wrong unit"} | changes


def read(value, quantity="bath_temperature", **fields):
    return {"quantity": quantity, "value": value, "when": "as_found"} | fields


@cache
def demo_fleet():
    """The demonstration fleet's customers, sites and units, and every second visit."""
    path = ROOT / "seed_data" / "make_fleet.py"
    spec = importlib.util.spec_from_file_location("make_fleet_to_import", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    records = list(module.make_fleet(DAY, 2))
    visits = [record for record in records if record["record"] == "visit"]
    return [record for record in records if record["record"] != "visit"] + visits[::2]


PUMP_CHECKED = {"task": "pump_check", "result": "done"}
BY_OTHERS = {"evidence": "reported", "by": "others", "on": "2026-06-05"}
CORRECTED = [
    *FLEET,
    visit(1, readings=[read("47 degF")], technician="rhea", outcome="down", tasks=[PUMP_CHECKED]),
    visit(2, kind="service_call", complaint={"symptom": "foaming", "reported_at": "2026-06-08T11:00:00+02:00"}),
    visit(3),
    change(1, "2026-06-08T20:00:00.5Z", why="misread", readings=[read({"value": 1e1, "unit": "degC"})], outcome=None),
    change(1, "2026-06-08T20:00:00.5Z", why="again", readings=[], work="z\na"),
    change(1, "2026-06-08T21:00:00+02:00", why="new part", replacements=[
        {"reason": "failed", "kind": "contactor", "evidence": "seen", "condition": "burnt", "component": "contactor-9"},
    ]),
    change(2, "2026-06-09T20:00:00Z", why="it was at night", arrived_at="2026-06-08T06:00:00Z", left_at=None),
    void(2, "2026-06-09T20:30:00Z"),
    void(3, "2026-06-09T20:30:00Z", reason="twice 🍺"),
]  # fmt: skip
SETTINGS = [
    *FLEET,
    {"record": "unit", "tag": "GU-2", "site": "quay"},
    {"record": "task", "code": "pump_check", "interval": "5 months", "longest": "7 months", "minutes": 12},
    {"record": "task", "code": "strainer_clean", "applies": False, "bring": ["a", "b"]},
    {"record": "unit_task", "unit": "GU-2", "code": "condenser_clean", "interval": "P40D", "note": "by the fryer"},
    {"record": "unit_task", "unit": "GU-1", "code": "pump_check", "interval": "6 months"},
]  # fmt: skip
OTHERS = [
    *FLEET,
    visit(1, by="others", evidence="reported", firm="Another firm", outcome="running"),
    visit(2, replacements=[
        {"component": "pump-1", "reason": "unknown", "condition": "unknown"} | BY_OTHERS,
    ]),
]  # fmt: skip
RETIRED = [
    *FLEET,
    {"record": "unit", "tag": "GU-2", "site": "quay"},
    visit(1, unit="GU-2", outcome="down"),
    {"record": "unit", "tag": "GU-2", "site": "quay", "retired_on": "2026-06-09"},
    visit(2, "2026-06-01", unit="GU-2"),
]
LATE = [*FLEET, visit(3, "2026-06-08"), visit(1, "2026-05-01"), visit(2, "2026-06-07"), visit(4, "2020-02-29")]
NAMES = [
    {"record": "customer", "code": "Z", "name": LONG},
    {"record": "customer", "code": "a", "name": "مقهى الفانوس", "contact": "\u202eright to left\u202c"},
    {"record": "customer", "code": "_".join("ab"), "name": "Zażółć 🍺👩🏽‍🔧", "phone": "\u2028\u2029\x85\x0b\x0c\x1c"},
    {"record": "customer", "code": "b.1-2", "name": ' "quoted" \\ \t\r\n ', "email": "e\u0301 is not \u00e9"},
    RHEA | {"left_on": "2025-12-31", "name": "李"},
]
FOUND = [
    *FLEET,
    visit(1, readings=[read("1.3 A", "current", component="agitator-1", kind="agitator")]),
    visit(2, "2026-06-09", observations=[{"code": "pump_noisy", "component": "agitator-1"}]),
]
TAKEN_OVER = [
    CUSTOMER | {"care_from": "2026-03-02"}, RHEA, SITE | {"care_from": "2026-04-06"},
    UNIT | {"care_from": "2026-05-04", "last_done": [
        {"task": "condenser_clean", "on": "2025-10-14"}, {"task": "pump_check", "on": "2025-10"},
        {"task": "trunk_check", "on": "2025"}, {"task": "glycol_change"},
    ]},
    {"record": "first_date", "unit": "GU-1", "task": "electrical_check", "on": "2026-07-07", "since": "2026-06-15"},
]  # fmt: skip
DATABASES = {
    "nothing": [],
    "fleet": FLEET,
    "corrections and voids": CORRECTED,
    "settings": SETTINGS,
    "others": OTHERS,
    "a retired unit": RETIRED,
    "taken over": TAKEN_OVER,
    "posted late": LATE,
    "all of Unicode": NAMES,
    "components found on the roof": FOUND,
}


OF_EACH_DATABASE = (
    "id", "version", "log_version", "due_version", "fingerprint", "posted_at", "posted_by", "former",
)  # fmt: skip


def facts(shop):
    """What the tables hold, without what each database makes for itself: identities, versions, when it was posted."""
    result = {}
    for name, rows in shop.dump().items():
        columns = metadata.tables[name].columns.keys()
        own = [n for n, column in enumerate(columns) if column.endswith("_id") or column in OF_EACH_DATABASE]
        result[name] = sorted(repr([part for n, part in enumerate(row) if n not in own]) for row in rows)
    return result


def due(shop):
    """(task, day, basis) of all due items."""
    return sorted((row[1], *row[4:6]) for row in shop.dump()["due_item"])


@pytest.mark.parametrize("name", DATABASES)
def test_what_is_exported_and_imported_is_exported_the_same(shop, other, name):
    result = shop.import_records(DATABASES[name])
    exported = shop.export_records()
    other.import_records(exported)

    assert sum(result.added.values()) + sum(result.changed.values()) == len(DATABASES[name])
    assert other.export_records() == exported
    assert facts(other) == facts(shop)
    assert orjson.dumps(DATABASES[name][0]["code"]) in exported if DATABASES[name] else exported == b""


@pytest.mark.parametrize("name", DATABASES)
def test_taking_in_the_same_file_again_changes_nothing(shop, name):
    shop.import_records(DATABASES[name])
    before = shop.dump()
    shop.now += timedelta(days=30)
    result = shop.import_records(DATABASES[name])

    assert shop.dump() == before
    assert (sum(result.added.values()), sum(result.changed.values()), result.errors) == (0, 0, [])


@pytest.mark.parametrize("name", DATABASES)
def test_a_database_imports_its_own_file_without_a_change(shop, name):
    shop.import_records(DATABASES[name])
    before = shop.dump()
    shop.now += timedelta(days=30)
    result = shop.import_records(shop.export_records())

    assert shop.dump() == before
    assert (sum(result.added.values()), sum(result.changed.values()), result.errors) == (0, 0, [])


@pytest.mark.parametrize("name", DATABASES)
def test_due_items_are_those_that_a_refresh_of_all_units_finds(shop, name):
    shop.import_records(DATABASES[name])
    before = shop.dump()["due_item"]
    refresh_range(shop.database, 1, 1000)

    assert shop.dump()["due_item"] == before


def test_the_demonstration_fleet_comes_through_whole(shop, other):
    shop.import_records(demo_fleet())
    exported, rows = shop.export_records(), shop.dump()
    result = other.import_records(exported)
    shop.import_records(exported)

    assert other.export_records() == exported
    assert shop.dump() == rows
    assert result.added["visit"] == sum(record["record"] == "visit" for record in demo_fleet()) > 300
    assert facts(other) == facts(shop)


@pytest.mark.parametrize("name", DATABASES)
def test_a_database_of_many_pages_is_exported_whole_and_in_the_same_order(shop, monkeypatch, name):
    shop.import_records(DATABASES[name])
    on_one_page = shop.export_records()
    monkeypatch.setattr(exporting, "CHUNK", 1)

    assert shop.export_records() == on_one_page


@pytest.mark.parametrize(
    "taken_back",
    [
        {"record": "task", "code": "pump_check", "interval": None, "longest": None, "minutes": None, "bring": None},
        {"record": "unit_task", "unit": "GU-1", "code": "pump_check", "interval": None},
    ],
)
def test_a_setting_taken_back_leaves_no_line(shop, other, taken_back):
    shop.import_records(SETTINGS)
    shop.import_records([SETTINGS[-1] | {"interval": None}, taken_back])
    other.import_records(shop.export_records())

    assert other.export_records() == shop.export_records()


def test_a_unit_retired_to_a_day_before_its_visits_comes_through(shop, other):
    shop.import_records(CORRECTED)
    shop.import_records([UNIT | {"retired_on": "2026-01-31"}])
    other.import_records(shop.export_records())

    assert other.export_records() == shop.export_records()
    for each in (shop, other):
        with each.database.reading() as store:
            assert due_at(store, UNIT["tag"], each.actor.at)[0] == []


@pytest.mark.parametrize("zone", ["Europe/Berlin", "Asia/Kathmandu", "Pacific/Kiritimati"])
def test_a_site_moved_to_another_time_zone_comes_through(shop, other, zone):
    shop.import_records(CORRECTED)
    shop.import_records([SITE | {"time_zone": zone}])
    before = shop.dump()
    exported = shop.export_records()
    shop.import_records(exported)
    other.import_records(exported)

    assert other.export_records() == exported
    assert shop.dump() == before


# --- root causes -----------------------------------------------------------------------------------------------------

BURNT = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}
FAILING = [visit(n, f"2026-0{n}-15", replacements=[BURNT]) for n in range(1, 6)]


def decide(shop, state, note="a bad batch"):
    with shop.database.writing() as store:
        (case,) = store.root_causes.in_order(0, 9)
        return root_causes.decide(store, shop.actor, case, state=state, note=note)


def cases(shop):
    """The cases as they stand, without their number of changes."""
    with shop.database.reading() as store:
        return [replace(case, id=0, version=0) for case in store.root_causes.in_order(0, 9)]


def root_cause_lines(shop):
    return [line for line in map(orjson.loads, shop.export_records().splitlines()) if line["record"] == "root_cause"]


def test_what_was_imported_is_searched_at_the_end(shop):
    shop.import_records([*FLEET, *FAILING])
    (case,) = cases(shop)

    assert (case.unit, case.kind, case.first_seen) == ("GU-1", "power_switch", NOW)


def test_failures_that_a_file_takes_back_leave_no_case(shop):
    shop.import_records([*FLEET, *FAILING, *(void(n, "2026-06-08T18:00:00Z") for n in range(2, 6))])

    assert cases(shop) == []


@pytest.mark.parametrize("state", ["confirmed", "dismissed", "resolved"])
def test_a_decision_survives(shop, other, state):
    shop.import_records([*FLEET, *FAILING])
    decide(shop, state)
    exported = shop.export_records()
    result = other.import_records(exported)

    assert (cases(other), result.added["root_cause"]) == (cases(shop), 1)
    assert (cases(other)[0].state, other.export_records()) == (state, exported)
    assert shop.import_records(exported).unchanged["root_cause"] == 1


def test_an_undecided_case_keeps_the_instant_at_which_it_was_first_seen(shop, other):
    shop.import_records([*FLEET, *FAILING])
    other.now += timedelta(days=20)
    other.import_records(shop.export_records())

    assert cases(other)[0].first_seen == NOW


def test_a_dismissed_case_stays_dismissed_where_its_file_is_imported(shop, other):
    shop.import_records([*FLEET, *FAILING])
    decide(shop, "dismissed")
    other.import_records([*FLEET, *FAILING])
    result = other.import_records(root_cause_lines(shop))

    assert (cases(other)[0].state, result.changed["root_cause"]) == ("dismissed", 1)


def test_what_was_decided_later_stands(shop, other):
    shop.import_records([*FLEET, *FAILING])
    other.import_records([*FLEET, *FAILING])
    decide(shop, "dismissed")
    other.now += timedelta(hours=1)
    decide(other, "confirmed")

    assert other.import_records(root_cause_lines(shop)).unchanged["root_cause"] == 1
    assert cases(other)[0].state == "confirmed"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"decided_by": None}, "decided_by"),
        ({"note": None}, "note"),
        ({"resolved_on": None}, "resolved_on"),
        ({"decided_at": "2026-07-01T00:00:00Z"}, "decided_at"),
        ({"state": "solved"}, "state"),
        ({"tier": "sure"}, "tier"),
        ({"probability_of_chance": 1.5}, "probability_of_chance"),
        ({"unit": "GU-9"}, "unit"),
        ({"remedy": None}, "remedy"),
    ],
)
def test_a_case_that_cannot_be_true_is_refused(shop, change, field):
    shop.import_records([*FLEET, *FAILING])
    decide(shop, "resolved")
    line = {name: value for name, value in (root_cause_lines(shop)[0] | change).items() if value is not None}

    assert [fault[1] for fault in shop.refused([line])] == [field]


# --- any visit -------------------------------------------------------------------------------------------------------

TYPED = {
    "bath_temperature": ["degF"],
    "glycol_strength": ["mass%", "vol%"],
    "supply_voltage": ["V", "mV"],
    "bath_level": ["%"],
    "suction_pressure": ["psi", "kPa", "inHg"],
    "current": ["A", "mA"],
    "frost_distance_after_capillary": ["in", "mm", "cm"],
}
CHECKS = ["pump_check", "trunk_check"]
TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1, max_size=60)
ARRIVAL = st.datetimes(datetime(2019, 1, 1), datetime(2026, 6, 8))
OFFSET = st.integers(-14 * 4, 14 * 4).map(lambda quarters: timezone(timedelta(minutes=15 * quarters)))


@st.composite
def readings(draw):
    quantity = draw(st.sampled_from(sorted(TYPED)))
    unit = draw(st.sampled_from(TYPED[quantity]))
    number = draw(st.decimals(0, 100, places=2))
    value = draw(st.sampled_from([f"{number} {unit}", f" {number}{unit} ", {"value": float(number), "unit": unit}]))
    result = read(value, quantity, when=draw(st.sampled_from(["as_found", "as_left"])))
    if quantity == "current":
        result["component"] = draw(st.sampled_from(["fan-1", "pump-1"]))
    return result | draw(st.sampled_from([{}, {"evidence": "reported"}, {"tap": None}]))


@st.composite
def visits(draw):
    arrived, offset = draw(ARRIVAL).replace(tzinfo=UTC), draw(OFFSET)
    shown = {
        "arrived_at": arrived.astimezone(offset).isoformat(),
        "kind": draw(st.sampled_from(["maintenance", "service_call", "follow_up", "installation"])),
        "left_at": (arrived + timedelta(seconds=draw(st.integers(0, 9000)))).astimezone(UTC).isoformat(),
        "readings": draw(st.lists(readings(), max_size=4)),
        "tasks": [{"task": task, "result": "done"} for task in draw(st.sets(st.sampled_from(CHECKS)))],
        "observations": [{"code": "other", "note": note} for note in draw(st.lists(TEXT, max_size=2))],
        "work": draw(TEXT | st.none()),
        "outcome": draw(st.sampled_from(["running", "recovering", "down", None])),
    }  # fmt: skip
    return {name: shown[name] for name in draw(st.permutations(sorted(shown)))}


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(many=st.lists(visits(), min_size=1, max_size=6))
def test_any_visits_come_through(open_shops, many):
    shop, other = open_shops
    shop.empty()
    other.empty()
    records = [visit(n) | result for n, result in enumerate(many)]
    shop.import_records([*FLEET, *records])
    rows = shop.dump()
    exported = shop.export_records()
    other.import_records(exported)
    shop.import_records(records)
    shop.import_records(exported)

    assert len(rows["visit"]) == len(many)
    assert other.export_records() == exported
    assert shop.dump() == rows


# --- what a file may look like ---------------------------------------------------------------------------------------


def lines(*records):
    return [orjson.dumps(record) for record in records]


@pytest.mark.parametrize(
    "dressed",
    [
        b"\n".join(lines(*FLEET)),
        b"\n".join(lines(*FLEET)) + b"\n",
        b"\r\n".join(lines(*FLEET)) + b"\r\n",
        b"\xef\xbb\xbf" + b"\n".join(lines(*FLEET)),
        b"\n \n\t\r\n" + b"\n\n".join(lines(*FLEET)) + b"\n\n\n",
    ],
    ids=["no last newline", "a last newline", "CRLF", "byte order mark", "blank lines"],
)
def test_a_file_may_be_dressed_in_many_ways(shop, dressed):
    result = shop.import_records(dressed)

    assert (result.lines, result.added) == (4, {"customer": 1, "technician": 1, "site": 1, "unit": 1})


def test_a_line_keeps_its_number_although_blank_lines_are_skipped(shop):
    result = shop.refused(b"\n\n" + b"\r\n".join(lines(*FLEET)) + b"\r\n\r\nnonsense")

    assert [(line, field) for line, field, _, _ in result] == [(8, "line")]


UNREADABLE = {
    b'{"record": "customer", ': ("line", "JSON"),
    b'{"record": "customer", "code": "\xff", "name": "x"}': ("line", "UTF-8"),
    orjson.dumps(CUSTOMER).decode().encode("utf-16"): ("line", "UTF-8"),
    b"[1, 2]": ("line", "JSON object with the field record"),
    b"3": ("line", "JSON object with the field record"),
    b'{"code": "lantern", "name": "x"}': ("record", "visit"),
    b'{"record": "invoice", "code": "x"}': ("record", "one of"),
    b'{"record": ["customer"]}': ("record", "one of"),
    b'{"record": "customer", "code": "x", "name": "a", "name": "b"}': ("name", "more than once"),
    b'{"record": "customer", "code": "x", "name": "\\ud800"}': ("name", "surrogate"),
    b'{"record": "customer", "code": "x", "name": "\\u0000"}': ("name", "NUL"),
    b'{"record": "site", "code": "x", "customer": "lantern", "name": "x", "time_zone": "UTC", "latitude": NaN}': (
        "latitude", "finite"),
    b"[" * 5000: ("body", "deep"),
    b"[" * 5000 + b"]" * 5000: ("body", "deep"),
    b'{"record": "customer", "code": "x", "name": "x", "colour": "' + b"[" * 5000 + b'"}': ("colour", "Unknown field"),
    b'{"record": "customer", "code": "x", "name": "x", "colour": "red"}': ("colour", "Unknown field"),
    b'{"record": "customer", "code": "x", "name": "x", "version": 3}': ("version", "Unknown field"),
    b'{"record": "customer", "code": "no spaces", "name": "x"}': ("code", "letters"),
    b'{"record": "customer", "name": "x"}': ("code", "required"),
}  # fmt: skip


@pytest.mark.parametrize("line", UNREADABLE, ids=[str(n) for n in range(len(UNREADABLE))])
def test_a_line_that_cannot_be_read_is_reported_by_number_and_field(shop, line):
    field, word = UNREADABLE[line]
    result = shop.refused(orjson.dumps(CUSTOMER | {"code": "good"}) + b"\n" + line.replace(b"\n", b"") + b"\n")

    assert [(number, where) for number, where, _, _ in result] == [(2, field)]
    assert word in result[0][3]


UNTRUE = {
    "bare number": (visit(9, readings=[read("47 degF"), read(47)]), ["readings.1.value"], "no unit"),
    "wrong unit": (visit(9, readings=[read("47 V")]), ["readings.0.value"], "temperature"),
    "beyond physics": (visit(9, readings=[read("300 degC")]), ["readings.0.value"], "must be from"),
    "unknown unit": (visit(9, unit="GU-9"), ["unit"], "no unit 'GU-9'"),
    "unknown technician": (visit(9, technician="ghost"), ["technician"], "ghost"),
    "component elsewhere": (
        visit(9, observations=[{"code": "pump_noisy", "component": "pump-7"}]), ["observations.0.component"], "pump-1"),
    "no id": ({name: part for name, part in visit(9).items() if name != "id"}, ["id"], "required"),
    "future": (visit(9, "2026-07-01"), ["arrived_at"], "future"),
    "two faults": (visit(9, left_at="2026-06-01T00:00:00Z", technician="ghost"), ["left_at", "technician"], "before"),
    "unknown customer": (SITE | {"code": "new", "customer": "ghost"}, ["customer"], "ghost"),
    "unknown site": (UNIT | {"tag": "GU-9", "site": "ghost"}, ["site"], "ghost"),
    "site to another customer": (SITE | {"customer": "other"}, ["customer"], "stays"),
    "unknown task": ({"record": "task", "code": "polish", "interval": "1 month"}, ["code"], "one of"),
    "setting that contradicts itself": (
        {"record": "task", "code": "pump_check", "interval": "10 years"}, ["interval"], "longest allowed"),
    "setting at no unit": ({"record": "unit_task", "unit": "GU-9", "code": "pump_check"}, ["unit"], "GU-9"),
    "correction of nothing": (change(9, "2026-06-09T00:00:00Z", why="x"), ["record"], "no visit"),
    "correction without why": (change(1, "2026-06-09T00:00:00Z", work="x"), ["correction.why"], ""),
    "correction to come": (change(1, "2027-01-01T00:00:00Z", why="x", work="x"), ["at"], "future"),
    "void of nothing": (void(9, "2026-06-09T00:00:00Z"), ["record"], "no visit"),
    "void to come": (void(1, "2027-01-01T00:00:00Z"), ["at"], "future"),
    "component of another kind": (
        visit(9, readings=[read("1 A", "current", component="fan-1", kind="pump")]), ["readings.0.kind"],
        "fan-1 is recorded as condenser_fan"),
    "visit with another text": (visit(1, work="something else"), ["record"], "other content"),
}  # fmt: skip


@pytest.mark.parametrize("name", UNTRUE)
def test_what_cannot_be_true_is_reported_by_number_and_field(shop, name):
    record, fields, word = UNTRUE[name]
    shop.import_records([*FLEET, visit(1)])
    result = shop.refused([CUSTOMER, record, visit(2)])

    assert [(number, where) for number, where, _, _ in result] == [(2, field) for field in fields]
    assert word in result[0][3]


def test_what_is_referred_to_must_come_first(shop):
    result = shop.refused([UNIT, SITE, visit(1), CUSTOMER, RHEA])

    assert [(line, field) for line, field, _, _ in result] == [
        (1, "site"),
        (2, "customer"),
        (2, "technician"),
        (3, "unit"),
    ]


def test_the_value_given_is_reported_with_its_error(shop):
    result = shop.refused([*FLEET, visit(1, readings=[read(47)])])

    assert result[0][2] == 47


def test_every_error_of_a_file_is_reported(shop):
    result = shop.refused([*FLEET, *(visit(n, readings=[read(n)]) for n in range(300))])

    assert [line for line, _, _, _ in result] == list(range(5, 305))


def test_a_line_over_the_limit_is_reported_and_the_longest_is_taken(shop):
    frame = orjson.dumps(CUSTOMER)
    result = shop.refused(b"%b\n%b" % (frame, frame + b" " * (LONGEST_LINE + 1 - len(frame))))

    assert [(line, field, str(LONGEST_LINE) in message) for line, field, _, message in result] == [(2, "line", True)]
    assert shop.import_records(frame + b" " * (LONGEST_LINE - len(frame))).added == {"customer": 1}


@pytest.mark.parametrize("kind", sorted(SCHEMAS))
def test_every_kind_of_record_is_read_strictly(shop, kind):
    result = shop.refused([{"record": kind, "surprise": 1}])

    assert "surprise" in {field for _, field, _, _ in result}


# --- keeping the good ------------------------------------------------------------------------------------------------


def test_the_good_lines_are_stored_when_asked_and_the_others_reported(shop, other):
    bad = [visit(7, readings=[read(47)]), visit(8, unit="GU-9"), SITE | {"customer": "other"}, b"nonsense"]
    mixed = [*FLEET[:2], bad[2], *FLEET[2:], bad[0], visit(1), bad[1], visit(2)]
    result = shop.import_records(b"\n".join([*lines(*mixed), bad[3]]), keep_good=True)
    other.import_records([*FLEET, visit(1), visit(2)])

    assert [error.line for error in result.errors] == [3, 6, 8, 10]
    assert shop.export_records() == other.export_records()


def test_a_bad_visit_leaves_no_component_behind(shop):
    found = read("1.3 A", "current", component="agitator-1", kind="agitator")
    shop.import_records([*FLEET, visit(1), visit(2, readings=[found, read(47)])], keep_good=True)
    shop.import_records([visit(3, readings=[found, read("300 degC")])], keep_good=True)
    shop.import_records(
        [change(1, "2026-06-09T00:00:00Z", why="x", readings=[found, read("300 degC")])], keep_good=True
    )

    assert "agitator-1" not in {row[1] for row in shop.dump()["component"]}


def test_due_items_follow_the_good_lines(shop):
    shop.import_records([*FLEET, visit(1, outcome="down"), visit(2, readings=[read(47)])], keep_good=True)

    assert "follow_up" in {row[1] for row in shop.dump()["due_item"]}


# --- what is already in the database ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "kind"),
    [
        (CUSTOMER | {"name": "The Lantern"}, "customer"),
        (RHEA | {"left_on": "2026-06-01"}, "technician"),
        (SITE | {"closed_weekdays": []}, "site"),
        (UNIT | {"bath": {"set_point": "29 degF"}}, "unit"),
        (UNIT | {"components": [{"code": "fan-2", "kind": "condenser_fan"}]}, "unit"),
    ],
)
def test_a_changed_line_brings_the_record_up_to_date(shop, changed, kind):
    shop.import_records(FLEET)
    result = shop.import_records([changed])
    again = shop.import_records([changed])

    assert (result.changed, result.added, result.unchanged) == ({kind: 1}, {}, {})
    assert (again.changed, again.unchanged) == ({}, {kind: 1})
    new = {"name", "left_on", "set_point", "fan-2"}.intersection(str(changed).replace("'", " ").split())
    assert all(word.encode() in shop.export_records() for word in new)


def test_what_a_changed_line_does_not_report_stays(shop):
    shop.import_records(FLEET)
    shop.import_records([{"record": "unit", "tag": "GU-1", "site": "quay", "bath": {"set_point": "29 degF"}}])
    unit = next(
        record for record in map(orjson.loads, shop.export_records().splitlines()) if record["record"] == "unit"
    )

    assert unit["bath"] == {"volume": "38 L", "set_point": "29 degF"}
    assert [component["code"] for component in unit["components"]] == ["switch-1", "pump-1", "fan-1"]


@pytest.mark.parametrize(
    "same",
    [
        visit(1, arrived_at="2026-06-08T20:00:00+02:00"),
        visit(1, arrived_at="2026-06-08T12:00:00.000-06:00"),
        visit(1, by="us", evidence="seen", left_at=None, readings=[]),
        dict(reversed(visit(1).items())),
        visit(1) | {"id": uuid(1).upper()},
    ],
)
def test_a_visit_in_the_database_may_come_again_in_other_words(shop, same):
    shop.import_records([*FLEET, visit(1)])
    before = shop.dump()

    assert shop.import_records([same]).unchanged == {"visit": 1}
    assert shop.dump() == before


def test_a_corrected_visit_is_known_by_its_first_text(shop):
    shop.import_records(CORRECTED)

    assert shop.import_records([CORRECTED[4]]).unchanged == {"visit": 1}
    assert shop.refused([CORRECTED[4] | {"outcome": "running"}])[0][:2] == (1, "record")


def test_a_site_that_closes_after_the_visits_of_the_file_moves_their_due_dates(shop, other):
    followed_up = visit(1, "2026-06-08", outcome="down")
    closed = SITE | {"closed_weekdays": ["tuesday"]}
    shop.import_records([*FLEET, followed_up, closed])
    other.import_records([CUSTOMER, RHEA, closed, UNIT, followed_up])

    assert due(shop) == due(other)
    assert ("follow_up", "2026-06-10") in {row[:2] for row in due(shop)}


def test_a_component_named_by_a_correction_is_known_to_the_visits_after_it(shop):
    part = {"component": "contactor-9", "reason": "failed", "condition": "burnt", "evidence": "seen"}
    named = change(1, "2026-06-08T20:00:00Z", why="forgotten", replacements=[part | {"kind": "contactor"}])
    result = shop.import_records([*FLEET, visit(1), visit(2), named, visit(3, replacements=[part])])

    assert result.errors == []


def test_each_visit_imported_stands_in_the_audit_trail(shop):
    shop.import_records([*FLEET, visit(1)])
    with shop.database.reading() as store:
        result = [
            (entry.action, entry.resource, entry.key)
            for entry in store.audit.page(AuditFilter(), before=None, limit=100)
        ]

    assert ("imported", "visit", uuid(1)) in result


def learned(shop):
    """The figures learned on each day, with the units of which readings may show a fault by their tags."""
    with shop.database.reading() as store:
        return list(baseline_lines.lines(store))


def night(shop):
    root_causes.search_fleet(shop.database, shop.now, gap=lambda: None)


def test_the_figures_of_each_day_are_imported_and_weigh_the_root_causes_of_that_day(shop, other):
    """Two nights; the root causes of the day between are weighed by the first one's figures, there as here."""
    renamed = [record | ({"tag": "GU-9"} if record["record"] == "unit" else {}) for record in FLEET]
    other.import_records(renamed)  # so that identities differ
    shop.import_records([*FLEET, *FAILING])
    night(shop)
    shop.now += timedelta(days=1)
    shop.import_records([visit(6, "2026-06-10", replacements=[BURNT])])
    night(shop)
    exported = shop.export_records()
    other.now = shop.now
    result = other.import_records(exported)

    assert [line["at"][:10] for line in learned(shop)] == ["2026-06-09", "2026-06-10"]
    assert (result.added["baseline"], learned(other)) == (2, learned(shop))
    assert [root_cause.probability_of_chance for root_cause in cases(other)] == [
        root_cause.probability_of_chance for root_cause in cases(shop)
    ]
    assert shop.import_records(exported).unchanged["baseline"] == 2


@pytest.mark.parametrize(
    ("figures", "field"),
    [({}, "figures"), ({"measured": "GU-1"}, "figures.measured"), ({"settings": {}}, "figures")],
)
def test_figures_that_could_not_be_read_again_are_refused(shop, figures, field):
    line = {"record": "baseline", "at": "2026-06-09T07:00:00Z", "figures": figures}

    assert [fault[1] for fault in shop.refused([line])] == [field]


def test_figures_of_days_to_come_are_refused(shop):
    line = {"record": "baseline", "at": "2026-06-19T07:00:00Z", "figures": {"layout": "x", "settings": {}}}

    assert [fault[1] for fault in shop.refused([line])] == ["at"]


def test_a_setting_of_a_unit_that_was_taken_back_is_known_for_the_time_before(shop, other):
    shop.import_records(FLEET)
    for interval in ("40 days", None):
        with shop.database.writing() as store:
            _, former = tasks.task_at(store, "GU-1", "condenser_clean")
            tasks.set_task_at(store, shop.actor, "GU-1", former, {"interval": interval})
        shop.now += timedelta(hours=1)
    exported = shop.export_records()
    other.now = shop.now
    other.import_records(exported)
    with shop.database.reading() as here, other.database.reading() as there:
        changes = here.log_of("GU-1").setting_changes

        assert there.log_of("GU-1").setting_changes == changes
        assert [dict(change.after) for change in changes] == [{"interval": "40 days"}, {}]
    assert other.export_records() == exported
