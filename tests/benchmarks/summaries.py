"""What a summary takes: figures against the bare SQL, PDF against bare typesetting, and the memory left behind."""

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

from sqlalchemy.dialects.sqlite.base import dialect

from service.app import open_database
from service.domain.audit import Actor
from service.domain.instants import to_text
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage import summaries as rows
from service.storage.engine.sqlite import driver
from service.storage.migrating import upgrade
from service.usecases import importing, summaries
from service.usecases.system import Book
from tests.benchmarks.programs import OURS, megabytes
from tests.benchmarks.ratios import Figure
from tests.benchmarks.run import Run
from tests.summary_recount.generated import fleet

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
STATEMENTS = (rows.VISITS, rows.PERFORMED, rows.READINGS, rows.REPLACEMENTS, rows.SETTINGS)
TABLES = ("customer", "site", "unit", "component")
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
    """The figures of one customer's year against the same rows by bare SQL, and the memory of many of them."""
    for name, days in (("in three years", 1040), ("in one year", 300)):
        database, bare = _database(run, days), _bare(run, days)
        taken = [(_seconds(partial(_summarised, database)), _seconds(bare)) for _ in range(run.rounds)]
        what = f"figures of 60 units, 400 visits {name}"
        yield Figure(what, tuple(figures * 1e3 for figures, _ in taken), unit="ms")
        yield Figure(f"{what} / bare SQL", tuple(figures / floor for figures, floor in taken), goal=8)
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


def _database(run: Run, days: int) -> Book:
    """A database with one generated customer."""
    file = _file(run, days)
    settings, new = Settings(database_url=f"sqlite:///{file}", home=run.folder), not file.exists()
    if new:
        upgrade(settings.database_url, Path("migrations").absolute())
    database = open_database(settings)
    if new:
        lines = (json.dumps(record).encode() for record in fleet(units=60, visits=400, seed=1, days=days))
        with database.writing() as store:
            importing.take_in(store, Actor("benchmark", "owner", None, NOW), read_lines(lines), keep_good=False)
    return database


def _summarised(database: Book) -> object:
    with database.reading() as store:
        return summaries.summarise(store, "lantern", 2026, as_of=NOW, program_version="0", units_shown=None)


def _bare(run: Run, days: int) -> Callable[[], object]:
    """The statements that find the customer's rows, on the driver alone."""
    connection: Any = driver().connect(_file(run, days))
    given = {"code": "lantern", "as_of": to_text(NOW), "since": "2026-01-01", "until": "2026-12-31"}
    texts = [
        (plain.text, plain.constants | {name: given[name] for name in plain.wanted})
        for plain in (statement.plain(dialect(paramstyle="named")) for statement in STATEMENTS)
    ]
    texts += [(f"SELECT * FROM {table}", {}) for table in TABLES]
    return lambda: [connection.execute(text, params).fetchall() for text, params in texts]


def _seconds(work: Callable[[], object]) -> float:
    """The median of a few runs after one to warm up [s]."""
    work()
    taken = []
    for _ in range(7):
        start = perf_counter()
        work()
        taken.append(perf_counter() - start)
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
