"""What a summary takes: figures against the bare SQL, PDF against bare typesetting, and the memory left behind."""

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from typing import Any

from service.app import open_database
from service.domain.audit import Actor
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.engine import database as engine
from service.storage.engine.sqlite import driver
from service.storage.migrating import upgrade
from service.storage.store import Store
from service.usecases.system import FleetDatabase
from service.usecases.transfer import importing
from service.usecases.year import kept_years, summaries
from tests.benchmarks.programs import OURS, megabytes
from tests.benchmarks.ratios import Figure
from tests.benchmarks.run import Run
from tests.summary_recount.generated import fleet

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
OF_CUSTOMER = "u.customer_id = (SELECT id FROM customer WHERE code = 'lantern')"
BARE_SQL = (
    *(f"SELECT * FROM {table}" for table in ("customer", "site", "unit", "component")),
    f"""SELECT u.tag, v.version, v.uuid, v.day, v.arrived_at, v.left_at, v.kind, v.by_whom, v.evidence, t.code,
               v.symptom, v.reported_at, v.words, v.work, v.advice, v.outcome
        FROM unit u JOIN visit v ON v.unit_id = u.id LEFT JOIN technician t ON t.id = v.technician_id
        WHERE {OF_CUSTOMER} AND v.void IS NULL ORDER BY v.arrived_at, v.id""",
    f"""SELECT u.tag, r.task, r.day, r.result, r.as_found, r.reason, v.uuid
        FROM unit u JOIN visit v ON v.unit_id = u.id JOIN task_result r ON r.visit_id = v.id
        WHERE {OF_CUSTOMER} AND v.void IS NULL ORDER BY v.arrived_at, v.id, r.position""",
    f"""SELECT u.tag, v.uuid, v.day, r.quantity, r.component, r.tap, r.value, r.dimension, r.entered,
               r.sample_temperature, r.sample_temperature_entered, r.at, r.moment, r.evidence
        FROM unit u JOIN visit v ON v.unit_id = u.id JOIN reading r ON r.visit_id = v.id
        WHERE {OF_CUSTOMER} AND v.void IS NULL AND v.day BETWEEN '2026-01-01' AND '2026-12-31'
        ORDER BY v.arrived_at, v.id, r.position""",
    f"""SELECT u.tag, r.component, c.kind, r.day, r.reason, r.condition, r.evidence, r.by_whom, v.uuid, r.note
        FROM unit u JOIN visit v ON v.unit_id = u.id JOIN replacement r ON r.visit_id = v.id
        JOIN component c ON c.unit_id = r.unit_id AND c.code = r.component
        WHERE {OF_CUSTOMER} AND v.void IS NULL ORDER BY v.arrived_at, v.id, r.position""",
    f"SELECT u.tag, s.task, s.changes FROM unit u JOIN unit_task_setting s ON s.unit_id = u.id WHERE {OF_CUSTOMER}",
)
DOCUMENTS = 300
BARE = """
import typst
from service.rendering.year.summary_pdf import HERE
text = b'#set document(title: [x])\\n#set text(font: "Open Sans")\\n' + b'#lorem(200)\\n#pagebreak()\\n' * 5 + b'x'
typst.compile(text, font_paths=[HERE / "fonts"], ignore_system_fonts=True, format="pdf", pdf_standards=["ua-1"])
"""
COLD = """
from service.rendering.year.summary_pdf import render
from tests.rendering.test_summary_documents import a_summary, a_unit
render(a_summary(*(a_unit(f"GU-{n}", visits=8) for n in range(3))))
"""


def figures(run: Run) -> Iterator[Figure]:
    """One customer's year against the same rows by bare SQL: nothing kept, from stored years, again; and the memory."""
    for name, days in (("in three years", 1040), ("in one year", 300)):
        kept, bare = _database(run, days), _bare(run, days)
        fresh = engine.open_database(_settings(run, days).database_url, Store)  # with nothing in memory
        what = f"figures of 60 units, 400 visits {name}"
        asked = ((fresh, ", nothing kept", None), (fresh, ", from stored years", 6), (kept, ", again that day", None))
        for database, logs, goal in asked:
            if goal:  # as the clockwork does after the first letter
                _summarised(kept)
                kept_years.store_made(kept)
            taken = [(_seconds(partial(_summarised, database)), _seconds(bare)) for _ in range(run.rounds)]
            yield Figure(f"{what}{logs}", tuple(figures * 1e3 for figures, _ in taken), unit="ms")
            ratios = tuple(figures / floor for figures, floor in taken)
            yield Figure(f"{what}{logs} / bare SQL", ratios, goal=goal)
        for database in (fresh, kept):
            database.close()
    yield _memory(run)


def _memory(run: Run) -> Figure:
    """The process after each of many summaries, the last sixth against the first, which is fifty of them."""
    database, held = _database(run, 1040), []
    for _ in range(run.scaled(DOCUMENTS)):
        _summarised(database)
        held.append(megabytes())
    database.close()
    part = max(len(held) // 6, 1)
    ratio = median(held[-part:]) / median(held[:part])
    return Figure(f"memory over {len(held)} summaries, the last sixth / the first", (ratio,), goal=1.1)


def _file(run: Run, days: int) -> Path:
    return run.folder / f"customer-{days}.sqlite3"


def _settings(run: Run, days: int) -> Settings:
    return Settings(database_url=f"sqlite:///{_file(run, days)}", home=run.folder)


def _database(run: Run, days: int) -> FleetDatabase:
    """A database with one generated customer."""
    settings, new = _settings(run, days), not _file(run, days).exists()
    if new:
        upgrade(settings.database_url, Path("migrations").absolute())
    database = open_database(settings)
    if new:
        lines = (json.dumps(record).encode() for record in fleet(units=60, visits=400, seed=1, days=days))
        with database.writing() as store:
            importing.import_records(store, Actor("benchmark", "owner", None, NOW), read_lines(lines), keep_good=False)
    return database


def _summarised(database: FleetDatabase) -> object:
    with database.reading() as store:
        return summaries.summarise(store, "lantern", 2026, as_of=NOW, program_version="0", units_shown=None)


def _bare(run: Run, days: int) -> Callable[[], object]:
    """The statements that find the customer's rows, on the driver alone."""
    connection: Any = driver().connect(_file(run, days))
    return lambda: [connection.execute(text).fetchall() for text in BARE_SQL]


def _seconds(work: Callable[[], object]) -> float:
    """The processor time of a run, the median of a few after one to warm up [s]."""
    work()
    taken = []
    for _ in range(7):
        start = process_time()
        work()
        taken.append(process_time() - start)
    return median(taken)


def pdf(run: Run) -> Iterator[Figure]:
    """A six-page PDF in a fresh process, and again in a process that has made one."""
    from service.rendering.year.summary_pdf import render
    from tests.rendering.test_summary_documents import a_summary, a_unit

    cold = [(OURS.seconds_of("-c", COLD), OURS.seconds_of("-c", BARE)) for _ in range(run.rounds)]
    yield Figure("summary PDF, cold", tuple(taken for taken, _ in cold), unit="s", goal=1.5)
    yield Figure("summary PDF, cold / bare typesetting", tuple(taken / floor for taken, floor in cold))
    warm, resident = [], []
    for number in range(run.scaled(300)):
        summary = a_summary(*(a_unit(f"GU-{number}-{n}", visits=8) for n in range(3)))
        start = perf_counter()
        render(summary)
        warm.append(perf_counter() - start)
        resident.append(megabytes())
    yield Figure("summary PDF, warm", tuple(warm[1:]), unit="s", goal=0.4)
    third = len(resident) // 3
    yield Figure("memory after all PDFs / after a third", (resident[-1] / resident[third],), goal=1.2)
