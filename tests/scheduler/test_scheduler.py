"""The clockwork: each site's day once, however many clocks tick, stop, jump or go back."""

import logging
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Thread
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import orjson
import pytest
from sqlalchemy import select, text

from service import clock
from service.app import open_database
from service.domain.audit import Actor
from service.domain.errors import Unavailable
from service.domain.instants import to_text
from service.scheduler import keep_house, refresh_days, search_fleet, start
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.migrating import upgrade
from service.storage.tables import metadata
from service.usecases import due, importing
from service.usecases.system import Book

MIGRATIONS = Path(__file__).parents[2] / "migrations"
NOW = datetime(2026, 6, 9, 21, 0, tzinfo=UTC)
ZONES = ("Europe/Berlin", "America/Denver", "Australia/Lord_Howe", "Pacific/Kiritimati", "Pacific/Pago_Pago")
Opener = Callable[[], Book]


def fleet(sites: int) -> Iterator[bytes]:
    yield orjson.dumps({"record": "customer", "code": "lantern", "name": "The Lantern Room"})
    for n in range(sites):
        site = {"code": f"s{n}", "customer": "lantern", "name": f"Site {n}", "time_zone": ZONES[n % len(ZONES)]}
        yield orjson.dumps({"record": "site"} | site)
        yield orjson.dumps({"record": "unit", "tag": f"GU-{n}", "site": f"s{n}", "installed_on": "2020-01-01"})


@pytest.fixture
def open_book(database_url: str, tmp_path: Path) -> Iterator[Opener]:
    """Opens one more book over the same database, as one more process would."""
    upgrade(database_url, MIGRATIONS)
    with ExitStack() as stack:

        def opened() -> Book:
            book = open_database(Settings(database_url=database_url, home=tmp_path))
            stack.callback(book.close)
            return book

        yield opened


@pytest.fixture
def book(open_book: Opener) -> Book:
    """Five sites in five zones, a unit at each."""
    made = open_book()
    take_in(made, fleet(len(ZONES)))
    return made


def take_in(book: Book, raw: Any) -> None:
    with book.writing() as store:
        importing.take_in(store, Actor("tester", "owner", None, NOW), read_lines(raw), keep_good=False)


class Clock:
    """A clock that stands where it is put."""

    def __init__(self, now: datetime = NOW) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def worked(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often each unit's due items were worked out."""
    counted: Counter[str] = Counter()
    whole = due.refresh_places

    def counting(store: Any, places: Any, tasks: Any) -> Any:
        counted.update(place.tag for place in places)
        return whole(store, places, tasks)

    monkeypatch.setattr(due, "refresh_places", counting)
    return counted


def tick(book: Book, now: datetime = NOW) -> list[datetime]:
    """One tick; the instants that it reported as done."""
    done: list[datetime] = []
    refresh_days(book, Clock(now), done.append)
    return done


def dump(book: Book, *left_out: str) -> dict[str, Any]:
    with book.reading() as store:
        tables = [table for table in metadata.sorted_tables if table.name not in left_out]
        return {table.name: sorted(store.link.core(select(table)), key=repr) for table in tables}


def ledger(book: Book) -> list[str]:
    """The days done, one for each site and day."""
    return sorted(row[2] for row in dump(book)["day_done"])


def lose_due_items(book: Book) -> None:
    with book.writing() as store:
        store.link.core(text("DELETE FROM due_item"))


def test_a_tick_does_every_sites_day_and_the_next_finds_nothing_to_do(book: Book, worked: Counter[str]) -> None:
    before = dump(book, "day_done")
    lose_due_items(book)

    assert tick(book) == [NOW]
    assert tick(book, NOW + timedelta(minutes=30)) == [NOW + timedelta(minutes=30)]
    assert set(worked.values()) == {1}
    assert dump(book, "day_done") == before
    # at 21:00 UTC it is the 10th east of +03:00: in Kiritimati (+14:00) and on Lord Howe (+10:30), IANA data for 2026
    assert ledger(book) == ["2026-06-09"] * 3 + ["2026-06-10"] * 2


def test_two_books_in_many_threads_do_each_sites_day_once(open_book: Opener, worked: Counter[str]) -> None:
    books = [open_book(), open_book()]
    take_in(books[0], fleet(50))
    worked.clear()
    threads = [Thread(target=tick, args=(books[n % 2],)) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    tick(books[0])  # who found another at work leaves what remains to the next tick

    assert len(ledger(books[0])) == 50
    assert (len(worked), set(worked.values())) == (50, {1})


def test_a_missed_week_catches_up_in_one_run(book: Book, worked: Counter[str]) -> None:
    tick(book)
    before = dump(book)["due_item"]
    lose_due_items(book)
    worked.clear()
    tick(book, NOW + timedelta(days=7))

    assert dump(book)["due_item"] == before != []
    assert set(worked.values()) == {1}
    assert sorted(set(ledger(book))) == ["2026-06-09", "2026-06-10", "2026-06-16", "2026-06-17"]


@pytest.mark.parametrize("back", [timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)])
def test_a_clock_set_back_changes_nothing(book: Book, worked: Counter[str], back: timedelta) -> None:
    for day in (-1, 0):
        tick(book, NOW + timedelta(days=day))
    before = dump(book)
    worked.clear()
    tick(book, NOW - back)
    tick(book)

    assert dump(book) == before
    assert worked == {}


# Berlin goes to summer time on 29 March 2026 and back on 25 October, Denver back on 1 November, Lord Howe by half an
# hour on 5 April (IANA time zone database): each local day is counted by its own midnights, whatever its length.
@pytest.mark.parametrize(
    ("zone", "first", "days"),
    [
        ("Europe/Berlin", (2026, 3, 28), ["2026-03-28", "2026-03-29", "2026-03-30"]),
        ("Europe/Berlin", (2026, 10, 24), ["2026-10-24", "2026-10-25", "2026-10-26"]),
        ("America/Denver", (2026, 10, 31), ["2026-10-31", "2026-11-01", "2026-11-02"]),
        ("Australia/Lord_Howe", (2026, 4, 4), ["2026-04-04", "2026-04-05", "2026-04-06"]),
    ],
)
def test_each_local_day_is_done_once_where_the_clocks_change(
    book: Book, worked: Counter[str], zone: str, first: tuple[int, int, int], days: list[str]
) -> None:
    begins = datetime(*first, tzinfo=ZoneInfo(zone)).astimezone(UTC)
    ends = datetime(*first, tzinfo=ZoneInfo(zone)) + timedelta(days=3)  # by the wall clock
    ran: list[str] = []
    instant = begins
    while instant < ends.astimezone(UTC):
        worked.clear()
        tick(book, instant)
        ran += [instant.astimezone(ZoneInfo(zone)).date().isoformat()] * worked[f"GU-{ZONES.index(zone)}"]
        instant += timedelta(minutes=30)

    assert ran == days


class Ailing:
    """A book that cannot be had the first time."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.asked = 0

    def writing(self) -> Any:
        self.asked += 1
        if self.asked == 1:
            raise Unavailable("The database is busy with another writer.")
        return self.book.writing()


def test_a_book_that_cannot_be_had_is_told_and_the_next_tick_does_the_work(
    book: Book, caplog: pytest.LogCaptureFixture
) -> None:
    ailing: Any = Ailing(book)

    assert tick(ailing) == []
    assert [(record.levelname, "busy" in record.getMessage()) for record in caplog.records] == [("WARNING", True)]
    assert ledger(book) == []
    assert tick(ailing) == [NOW]
    assert len(ledger(book)) == 5


def test_housekeeping_too_waits_for_a_book_that_cannot_be_had(book: Book, caplog: pytest.LogCaptureFixture) -> None:
    keep_answer(book, "old", 400)
    ailing: Any = Ailing(book)
    keep_house(ailing, Clock())

    assert [record.levelname for record in caplog.records] == ["WARNING"]
    assert len(dump(book)["answer"]) == 1
    keep_house(ailing, Clock())
    assert dump(book)["answer"] == []


def test_what_was_refreshed_is_told_once(book: Book, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.INFO, "glycol_fleet.scheduler"):
        tick(book)
        tick(book)

    assert [record.getMessage() for record in caplog.records] == ["refreshed the due items of 5 sites"]


def test_a_fault_in_one_turn_leaves_its_days_undone(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as broken:
        broken.setattr(due, "refresh_places", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            tick(book)

    assert ledger(book) == []
    tick(book)
    assert len(ledger(book)) == 5


# --- housekeeping ----------------------------------------------------------------------------------------------------


def keep_answer(book: Book, key: str, days_ago: int) -> None:
    with book.writing() as store:
        given_at = to_text(NOW - timedelta(days=days_ago))
        store.answers.keep("", key, fingerprint="f", visit=key, body="{}", given_at=given_at)


def test_housekeeping_forgets_old_answers_and_days_and_nothing_else(book: Book) -> None:
    for days_ago in (0, 13, 14, 15, 40):
        tick(book, NOW - timedelta(days=days_ago))
    for days_ago in (0, 89, 90, 91, 400):
        keep_answer(book, str(days_ago), days_ago)
    before = dump(book, "answer", "day_done")
    keep_house(book, Clock())

    assert {row[1] for row in dump(book)["answer"]} == {"0", "89", "90"}
    assert sorted(set(ledger(book))) == ["2026-05-26", "2026-05-27", "2026-05-28", "2026-06-09", "2026-06-10"]
    assert dump(book, "answer", "day_done") == before


def test_a_day_is_not_done_again_because_its_row_was_forgotten(book: Book, worked: Counter[str]) -> None:
    tick(book)
    keep_house(book, Clock())
    worked.clear()
    tick(book)

    assert worked == {}


# --- the real clockwork ----------------------------------------------------------------------------------------------


def test_the_clockwork_ticks_at_once_and_ends_when_asked(book: Book) -> None:
    ticked = Event()
    clockwork = start(book, clock.now, lambda _: ticked.set())
    came = ticked.wait(20)
    clockwork.shutdown(wait=True)

    assert came
    assert not clockwork.running
    assert len(ledger(book)) == 5


FAILING = [
    {"record": "visit", "id": str(UUID(int=(0x7 << 76) + (0x8 << 60) + n)), "unit": "GU-1", "kind": "service_call",
     "arrived_at": f"2026-0{n}-15T18:00:00Z",
     "replacements": [{"component": "switch-1", "kind": "power_switch", "reason": "failed", "condition": "burnt",
                       "evidence": "seen"}]}
    for n in range(1, 6)
]  # fmt: skip


def test_the_fleet_is_searched_for_root_causes_once_a_day(book: Book, caplog: pytest.LogCaptureFixture) -> None:
    take_in(book, map(orjson.dumps, FAILING))
    (found,) = dump(book)["root_cause"]
    with book.writing() as store:
        store.link.core(text("DELETE FROM root_cause"))
    with caplog.at_level(logging.INFO):
        for hours in (0, 1, 2):
            search_fleet(book, Clock(NOW + timedelta(hours=hours)))

    assert [row[1:4] for row in dump(book)["root_cause"]] == [found[1:4]]
    assert caplog.messages == ["searched 1 units for root causes"]


def test_a_search_that_cannot_be_made_waits_for_the_next_tick(book: Book, caplog: pytest.LogCaptureFixture) -> None:
    class Held:
        def reading(self) -> Any:
            raise Unavailable("it is held by another process")

    search_fleet(Held(), Clock())  # type: ignore[arg-type]

    assert caplog.messages == ["the search for root causes waits for the next tick: it is held by another process"]
    assert ledger(book) == []


def test_no_job_hangs_on_a_local_time_or_is_given_up_when_late(book: Book) -> None:
    clockwork = start(book, clock.now, lambda _: None)
    jobs = clockwork.get_jobs()
    clockwork.shutdown(wait=True)

    assert {job.name: job.trigger.interval for job in jobs} == {
        "refresh_days": timedelta(seconds=30),
        "search_fleet": timedelta(minutes=5),
        "keep_house": timedelta(hours=6),
    }
    assert {(job.coalesce, job.max_instances, job.misfire_grace_time) for job in jobs} == {(True, 1, None)}
    assert {str(job.trigger.timezone) for job in jobs} == {"UTC"}
