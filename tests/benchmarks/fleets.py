"""Large databases, written straight into the tables: an invented fleet with its history and its due items."""

import json
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from service import clock
from service.app import open_database
from service.domain.instants import local_day
from service.domain.maintenance.catalogue import CATALOGUE
from service.settings import from_environment
from service.storage.engine.sqlite import driver
from service.usecases.maintenance.due import rules
from tests.benchmarks.bodies import TASKS
from tests.benchmarks.programs import OURS, environment

ZONE = "America/Denver"
UNITS_A_SITE, SITES_A_CUSTOMER, TECHNICIANS = 5, 10, 20
COMPONENTS = ("condenser_fan fan-1", "contactor contactor-1", "pump pump-1", "temperature_controller thermostat-1")
DAYS_BETWEEN = 90
DUE_ROWS = 1500
BATH = {"volume": [0.038, "volume", "38 L"], "glycol": "propylene", "set_point": [270.93, "temperature", "28 degF"]}
WHY = "Last done on 2026-03-09 (lightly fouled). The interval is 3 months, as set for this task; nothing changes it."
NUMBERS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < :{0}) "
EACH_VISIT = "WITH RECURSIVE r(round) AS (SELECT 1 UNION ALL SELECT round + 1 FROM r WHERE round < :visits) "
SPREAD_DAY = f"date(:today, printf('-%d days', :idle + 1 + u.id % {DAYS_BETWEEN} + {DAYS_BETWEEN} * (:visits - round)))"
FILL = (
    f"""INSERT INTO technician (id, code, name, version)
        {NUMBERS.format("technicians")} SELECT i, 'tech-' || i, 'Technician ' || i, 1 FROM n""",
    f"""INSERT INTO customer (id, code, name, phone, version)
        {NUMBERS.format("customers")} SELECT i, 'customer-' || i, 'Customer ' || i, '555 0100', 1 FROM n""",
    f"""INSERT INTO site (id, customer_id, code, name, address, time_zone, latitude, longitude, surroundings,
                          closed_weekdays, access, technician_id, version)
        {NUMBERS.format("sites")} SELECT i, (i - 1) / :sites_a_customer + 1, 'site-' || i, 'Site ' || i,
               i || ' Harbour Street', :zone, 39.74, -104.99, CASE i % 3 WHEN 0 THEN 'greasy' END,
               CASE i % 4 WHEN 0 THEN 'monday' ELSE '' END, 'by the yard', i % :technicians + 1, 1 FROM n""",
    f"""INSERT INTO unit (id, customer_id, site_id, tag, maker, model, serial, place, installed_on, registered_on,
                          bath, version, log_version, due_version, due_rules)
        {NUMBERS.format("units")} SELECT i, (i - 1) / :units_a_site / :sites_a_customer + 1,
               (i - 1) / :units_a_site + 1, printf('GU-%06d', i), 'Northfall', 'NF-3', printf('S%07d', i),
               'above the walk-in', date(:today, '-1000 days'), date(:today, '-900 days'), :bath, 1, 1, 1, 0
        FROM n""",
    """INSERT INTO component (unit_id, code, customer_id, position, kind, details)
       SELECT u.id, substr(c.value, instr(c.value, ' ') + 1), u.customer_id, c.key,
              substr(c.value, 1, instr(c.value, ' ') - 1), '{"maker":"Northfall"}'
       FROM unit u, json_each(:components) c""",
    f"""INSERT INTO visit (id, customer_id, unit_id, site_id, uuid, kind, by_whom, evidence, technician_id, arrived_at,
                           left_at, day, work, outcome, posted_at, posted_by, fingerprint, version)
        {EACH_VISIT} SELECT (round - 1) * :units + u.id, u.customer_id, u.id, u.site_id,
               printf('00000000-0000-7000-8000-%012x', (round - 1) * :units + u.id), 'maintenance', 'us', 'seen',
               u.id % :technicians + 1, {SPREAD_DAY} || 'T16:00:00.000000Z', {SPREAD_DAY} || 'T17:00:00.000000Z',
               {SPREAD_DAY}, 'The usual round.', 'running', {SPREAD_DAY} || 'T18:00:00.000000Z', 'benchmark',
               printf('%064x', u.id), 1 FROM r, unit u""",
    """INSERT INTO task_result (visit_id, position, customer_id, unit_id, task, result, as_found, day, void)
       SELECT v.id, t.key, v.customer_id, v.unit_id, t.value, 'done',
              CASE WHEN t.value IN ('condenser_clean', 'strainer_clean')
                   THEN CASE v.id % 3 WHEN 0 THEN 'clean' WHEN 1 THEN 'light' ELSE 'heavy' END END, v.day, 0
       FROM visit v, json_each(:tasks) t""",
    f"""INSERT INTO reading (visit_id, position, customer_id, unit_id, quantity, value, dimension, entered, moment,
                             evidence)
        {NUMBERS.format("readings")} SELECT v.id, n.i - 1, v.customer_id, v.unit_id, 'bath_temperature', 271.2,
               'temperature', '28.5 degF', 'as_found', 'seen' FROM visit v, n WHERE :readings > 0""",
    """INSERT INTO due_item (unit_id, task, customer_id, site_id, due_on, basis, why, interval, last_done_on)
       SELECT u.id, t.value, u.customer_id, u.site_id,
              CASE u.id % :one_in WHEN 0 THEN date(:today, printf('-%d days', u.id % 10))
                   ELSE date(:today, printf('+%d days', 1 + (u.id * 7 + t.key * 13) % 360)) END,
              'interval', :why, '3 months', date(:today, '-90 days')
       FROM unit u, json_each(:tasks) t""",
    "INSERT INTO task_setting (task, changes, version) SELECT value, '{\"applies\":false}', 1 FROM json_each(:others)",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fleet:
    """How much is in the database; `today` is the day at every site."""

    units: int
    visits: int  # at each unit, each with a result for each of the five tasks
    readings: int  # of each visit
    idle: int  # days since the last visit of all
    today: date

    @property
    def due_rows(self) -> int:
        """How many due items have a date of today or before."""
        return self.units // self.one_in * len(TASKS)

    @property
    def one_in(self) -> int:
        """One unit in so many has all its tasks due."""
        return max(2, self.units * len(TASKS) // DUE_ROWS)


def fleet(units: int, *, visits: int, readings: int = 0, idle: int = 0) -> Fleet:
    """A fleet as of today."""
    return Fleet(units=units, visits=visits, readings=readings, idle=idle, today=local_day(clock.now(), ZONE))


def build(database: Path, wanted: Fleet) -> Path:
    """Make the file. Its due items count as worked out by the rules of now, so that a server leaves them alone."""
    OURS.command(database, "migrate")
    connection = driver().connect(str(database), isolation_level=None)
    for pragma in ("synchronous=OFF", "cache_size=-200000", "temp_store=MEMORY"):
        connection.execute(f"PRAGMA {pragma}")
    connection.execute("BEGIN")
    for statement in FILL:
        connection.execute(statement, _parameters(wanted))
    connection.execute("COMMIT")
    connection.execute("UPDATE unit SET due_rules = ?", (_rules(database),))
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    return database


def _rules(database: Path) -> int:
    opened = open_database(from_environment(environment(database)))
    with opened.reading() as store:
        found = rules(store)
    opened.close()
    return found


def _parameters(wanted: Fleet) -> dict[str, Any]:
    return {
        "units": wanted.units,
        "sites": wanted.units // UNITS_A_SITE,
        "customers": wanted.units // UNITS_A_SITE // SITES_A_CUSTOMER,
        "technicians": TECHNICIANS,
        "units_a_site": UNITS_A_SITE,
        "sites_a_customer": SITES_A_CUSTOMER,
        "visits": wanted.visits,
        "readings": wanted.readings,
        "idle": wanted.idle,
        "one_in": wanted.one_in,
        "zone": ZONE,
        "today": wanted.today.isoformat(),
        "bath": json.dumps(BATH),
        "components": json.dumps(COMPONENTS),
        "tasks": json.dumps(TASKS),
        "others": json.dumps([task.code for task in CATALOGUE if task.interval and task.code not in TASKS]),
        "why": WHY,
    }
