"""Group commit on SQLite: many bodies, one COMMIT, and no answer before it."""

import resource
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from random import Random
from threading import Event, Lock
from time import sleep

import pytest
from sqlalchemy import text

from service.domain.errors import Unavailable
from service.storage.engine import group_writer
from service.storage.engine.statements import Statement

FILL = Statement(text("INSERT INTO jar (name, n) VALUES (:name, 1)"))
FILL_OR_UNDO_ALL = Statement(text("INSERT OR ROLLBACK INTO jar (name, n) VALUES (:name, 1)"))
NAMES = Statement(text("SELECT name FROM jar ORDER BY name"))


def fill(name):
    return lambda link: link.run(FILL, name=name)


def fail(link):
    link.run(FILL, name="failed")
    raise LookupError


def stored(jars):
    with jars.reading() as link:
        return [name for (name,) in link.rows(NAMES)]


def until(condition):
    """Wait for what another thread is about to do; ten seconds mean that it never will."""
    for _ in range(2000):
        if condition():
            return
        sleep(0.005)
    pytest.fail("it did not come")


def write(jars, body):
    with jars.writing() as link:
        body(link)


@contextmanager
def queued(jars, *bodies):
    """Threads that wait in this order for their turn; the first goes on when the block is left."""
    begun, released = Event(), Event()

    def first(link):
        begun.set()
        released.wait(10)
        bodies[0](link)

    with ThreadPoolExecutor(len(bodies)) as pool:
        futures = [pool.submit(write, jars, first)]
        assert begun.wait(10)
        for number, body in enumerate(bodies[1:], 1):
            futures.append(pool.submit(write, jars, body))
            until(lambda behind=number: jars.place.writer.waiting == behind)
        yield futures
        released.set()


def together(jars, *bodies):
    """Run bodies in order in one batch; what each got: None for stored, or its exception."""
    with queued(jars, *bodies) as futures:
        pass
    return [type(future.exception()) if future.exception() else None for future in futures]


def commits(jars, *bodies):
    """How many COMMITs SQLite saw while the bodies ran together."""
    seen = []

    def first(link):
        link.plain("SELECT 1").connection.set_trace_callback(seen.append)
        bodies[0](link)

    together(jars, first, *bodies[1:])
    return seen.count("COMMIT")


def test_bodies_that_wait_for_each_other_share_one_commit(sqlite_jars):
    assert commits(sqlite_jars, *map(fill, "abcde")) == 1
    assert stored(sqlite_jars) == list("abcde")


def test_a_full_batch_is_committed_and_the_next_begun(sqlite_jars):
    sqlite_jars.place.writer.limit = 2

    assert commits(sqlite_jars, *map(fill, "abcde")) == 3
    assert stored(sqlite_jars) == list("abcde")


@pytest.mark.parametrize("place", [0, 1, 2, 3])
def test_one_failing_body_leaves_the_others(sqlite_jars, place):
    bodies = [fill(name) for name in "abc"]
    bodies.insert(place, fail)

    answers = together(sqlite_jars, *bodies)

    assert [answer for answer in answers if answer] == [LookupError]
    assert answers[place] is LookupError
    assert stored(sqlite_jars) == list("abc")


def test_even_an_exit_leaves_the_others(sqlite_jars):
    def leave(link):
        raise SystemExit

    assert together(sqlite_jars, fill("a"), leave, fill("b")) == [None, SystemExit, None]
    assert stored(sqlite_jars) == ["a", "b"]


def test_bodies_that_all_fail_leave_nothing_and_no_lock(sqlite_jars):
    assert together(sqlite_jars, fail, fail, fail) == [LookupError] * 3

    write(sqlite_jars, fill("a"))
    assert stored(sqlite_jars) == ["a"]


@pytest.mark.parametrize("before", [[], ["a"]])
def test_a_body_does_not_see_the_work_of_one_that_failed(sqlite_jars, before):
    seen = []

    together(sqlite_jars, *map(fill, before), fail, lambda link: seen.extend(link.rows(NAMES)))

    assert seen == [(name,) for name in before]


def test_nobody_is_reported_before_the_commit(sqlite_jars):
    result: list[bool] = []
    everyone: list[Future[None]] = []

    def look_back(link):
        wait(everyone[:1], timeout=0.2)
        result.append(everyone[0].done())

    with queued(sqlite_jars, fill("a"), look_back) as futures:
        everyone += futures

    assert result == [False]
    assert everyone[0].exception() is None


def test_what_waits_for_its_commit_cannot_be_read(sqlite_jars):
    seen = []

    together(sqlite_jars, fill("a"), lambda _: seen.append(stored(sqlite_jars)))

    assert seen == [[]]


def test_a_body_that_makes_sqlite_undo_everything_fails_all_who_shared_it(sqlite_jars):
    write(sqlite_jars, fill("a"))

    def undo_all(link):
        link.run(FILL_OR_UNDO_ALL, name="a")

    answers = together(sqlite_jars, fill("b"), undo_all, fill("c"))

    assert answers[0] is Unavailable
    assert answers[2] is None
    assert stored(sqlite_jars) == ["a", "c"]


@contextmanager
def no_room_on_disk():
    """No file may grow: the operating system then refuses SQLite's write as a full disk would."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_commit_that_fails_fails_all_who_shared_it(sqlite_jars):
    with no_room_on_disk():
        answers = together(sqlite_jars, *map(fill, "abc"))

    assert answers == [Unavailable] * 3


def test_writing_heals_when_the_disk_has_room_again(sqlite_jars):
    with no_room_on_disk():
        together(sqlite_jars, *map(fill, "abc"))

    write(sqlite_jars, fill("d"))
    assert stored(sqlite_jars) == ["d"]


def lose_connection(link):
    link.plain("SELECT 1").connection.close()


def test_writing_heals_when_its_connection_dies_at_work(sqlite_jars):
    assert together(sqlite_jars, fill("a"), lose_connection, fill("b"))[0] is Unavailable

    write(sqlite_jars, fill("c"))
    assert stored(sqlite_jars) == ["b", "c"]


def test_writing_heals_when_its_connection_dies_while_idle(sqlite_jars):
    with sqlite_jars.writing() as link:
        connection = link.plain("SELECT 1").connection
    connection.close()

    with pytest.raises(Exception, match="closed"):
        write(sqlite_jars, fill("a"))

    write(sqlite_jars, fill("b"))
    assert stored(sqlite_jars) == ["b"]


def test_reading_goes_on_while_the_disk_is_full(sqlite_jars):
    write(sqlite_jars, fill("a"))

    with no_room_on_disk():
        assert stored(sqlite_jars) == ["a"]


def test_the_probe_sees_a_full_disk(sqlite_jars):
    with no_room_on_disk(), pytest.raises(Unavailable, match="disk"):
        sqlite_jars.writable()

    sqlite_jars.writable()


def test_who_waits_too_long_is_reported_so_and_the_rest_is_stored(sqlite_jars):
    with queued(sqlite_jars, fill("a")) as futures:
        sqlite_jars.place.writer.patience = 0.02
        with pytest.raises(Unavailable, match="busy"):
            write(sqlite_jars, fill("b"))
        sqlite_jars.place.writer.patience = 5

    assert futures[0].exception() is None
    assert stored(sqlite_jars) == ["a"]


def test_who_waits_too_long_for_the_commit_is_reported_that_it_is_not_known(sqlite_jars):
    sqlite_jars.place.writer.patience = 5
    everyone: list[Future[None]] = []

    with queued(sqlite_jars, fill("a"), lambda link: wait(everyone[:1], timeout=10)) as futures:
        everyone += futures
        sqlite_jars.place.writer.patience = 0.02

    assert "may or may not be stored" in str(everyone[0].exception())
    assert stored(sqlite_jars) == ["a"]


class LateLock:
    """A turn that is handed over in the very moment in which its thread gives up waiting."""

    def __init__(self):
        self.lock, self.was_late = Lock(), False
        self.release = self.lock.release

    def acquire(self, timeout=-1):
        in_time = self.lock.acquire(timeout=timeout)
        if timeout != -1 and not self.was_late:
            self.was_late = True
            self.lock.release()
            return False
        return in_time


def test_a_turn_that_comes_at_the_last_moment_is_taken(sqlite_jars, monkeypatch):
    turns = iter([Lock(), LateLock(), LateLock()])
    monkeypatch.setattr(group_writer, "Lock", lambda: next(turns))

    assert together(sqlite_jars, fill("a"), fill("b"), fill("c")) == [None, None, None]
    assert stored(sqlite_jars) == ["a", "b", "c"]


def test_whoever_was_reported_yes_is_stored_and_the_others_are_not(sqlite_jars):
    sqlite_jars.place.writer.patience = 0.004  # about the length of a few bodies: turns are given up as they come
    told_yes: list[str] = []
    told_no: list[str] = []

    def client(number):
        chance = Random(number)
        for turn in range(40):
            name = f"{number:02}-{turn:02}"
            try:
                write(sqlite_jars, lambda link, name=name: (link.run(FILL, name=name), sleep(chance.random() / 500)))
            except Unavailable as error:
                told_no.extend([name] * ("busy" in str(error)))
            else:
                told_yes.append(name)

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(client, range(8)))

    names = set(stored(sqlite_jars))
    assert set(told_yes) <= names
    assert not set(told_no) & names
    assert told_no
    assert told_yes
    assert sqlite_jars.place.writer.waiting == 0


def test_a_commit_of_seconds_refuses_neither_who_shares_it_nor_who_comes_meanwhile(sqlite_jars, monkeypatch):
    """A slow disk, many times as slow as the patience that a lock is waited for."""
    sqlite_jars.place.writer.patience = 0.05
    run = group_writer._Batch.run

    def slowly(batch, sql):
        if sql == "COMMIT":
            sleep(0.5)
        run(batch, sql)

    monkeypatch.setattr(group_writer._Batch, "run", slowly)
    with ThreadPoolExecutor(6) as pool:
        futures = [pool.submit(write, sqlite_jars, fill(name)) for name in "abcdef"]
    monkeypatch.undo()

    assert [future.exception() for future in futures] == [None] * 6
    assert stored(sqlite_jars) == list("abcdef")
