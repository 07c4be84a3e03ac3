"""Jobs in worker processes: answers come back whole, failures as failures, and nothing is left behind."""

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from multiprocessing import active_children
from threading import Thread

import pytest

from service.domain.errors import Fault, Invalid, NotFound, Stale, Unavailable
from service.processes import pool as pools
from service.processes.pool import NoWorker, Pool

SECONDS = 60
LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="asks /proc for the process")


@pytest.fixture(scope="module")
def lasting():
    with closing(Pool(processes=1, seconds=SECONDS)) as made:
        yield made


@pytest.fixture
def renewed():
    with closing(Pool(processes=1, jobs=3, seconds=SECONDS)) as made:
        yield made


def own_process():
    return os.getpid()


def priority():
    return os.nice(0)


def fails(kind, *given):
    raise kind(*given)


def odd_failure():
    class Local(Exception):
        pass

    raise Local("a5")


def kill_itself():
    os.kill(os.getpid(), signal.SIGKILL)


def stop_itself():
    os.kill(os.getpid(), signal.SIGSTOP)


def never_done():
    while True:
        pass


def slowly(seconds):
    time.sleep(seconds)
    return b"done"


def size_of(content):
    return len(content)


@pytest.mark.skipif(not hasattr(os, "nice"), reason="there are no priorities of this kind on Windows")
def test_others_go_first_by_as_much_as_is_asked_for():
    with closing(Pool(processes=1, seconds=SECONDS, niceness=7)) as made:
        assert made(priority) == min(os.nice(0) + 7, 19)


def test_a_process_is_renewed_after_some_jobs(renewed):
    done = [renewed(own_process) for _ in range(7)]

    assert os.getpid() not in done
    assert [done.count(each) for each in dict.fromkeys(done)] == [3, 3, 1]


def test_what_is_larger_than_a_pipe_holds_goes_both_ways(lasting):
    content = os.urandom(3_000_000)
    assert lasting(size_of, content) == len(content)
    assert lasting(bytes, content) == content


@pytest.mark.parametrize(
    ("kind", "given"),
    [
        (KeyError, ("a5",)),
        (NotFound, ("unit", "GU-1")),
        (Invalid, ([Fault("year", 2030, "give a year from 2000 to 2026")] * 60,)),
        (Stale, ("unit", "GU-1")),
        (Unavailable, ("The database is busy with another writer.",)),
    ],
)
def test_what_is_raised_there_is_raised_here(lasting, kind, given):
    with pytest.raises(kind) as raised:
        lasting(fails, kind, *given)

    assert str(raised.value) == str(kind(*given))
    assert {**vars(raised.value), "__notes__": None} == {**vars(kind(*given)), "__notes__": None}
    assert "test_pool.py" in raised.value.__notes__[0]


def test_an_error_that_cannot_come_back_is_named(lasting):
    with pytest.raises(RuntimeError, match=r"Local\('a5'\)"):
        lasting(odd_failure)
    assert lasting(slowly, 0) == b"done"


def test_a_process_that_dies_makes_one_job_unavailable_and_not_the_next(lasting):
    with pytest.raises(NoWorker):
        lasting(kill_itself)

    assert lasting(slowly, 0) == b"done"


@LINUX
def test_a_job_whose_process_was_killed_by_others_is_done_by_the_next(lasting):
    with ThreadPoolExecutor(1) as other:
        killed = lasting(own_process)
        under_way = other.submit(lasting, slowly, 0.5)
        while not lasting._busy:
            time.sleep(0.01)
        os.kill(killed, signal.SIGKILL)
        assert under_way.result() == b"done"
    os.kill(lasting(own_process), signal.SIGKILL)  # while it is idle
    assert lasting(slowly, 0) == b"done"


@pytest.mark.parametrize("job", [never_done, stop_itself])
def test_a_job_that_takes_too_long_is_given_up(monkeypatch, lasting, job):
    monkeypatch.setattr(pools, "LOOK", 0.05)
    monkeypatch.setattr(lasting, "_seconds", 1)
    with pytest.raises(NoWorker):
        lasting(job)
    monkeypatch.setattr(lasting, "_seconds", SECONDS)
    assert lasting(slowly, 0) == b"done"


def test_where_no_process_starts_it_is_said_and_the_next_job_tries_again(renewed, monkeypatch):
    def refused(niceness):
        raise BlockingIOError(11, "Resource temporarily unavailable")

    with monkeypatch.context() as patched:
        patched.setattr(pools, "_Worker", refused)
        with pytest.raises(NoWorker, match="No process can be started"):
            renewed(slowly, 0)

    assert renewed(slowly, 0) == b"done"


def test_where_no_thread_can_look_after_processes_none_is_started_and_the_next_job_tries_again(monkeypatch):
    class Refused(Thread):
        def start(self):
            raise RuntimeError("can't start new thread")

    with closing(Pool(processes=1, seconds=SECONDS)) as made:
        with monkeypatch.context() as patched:
            patched.setattr(pools, "Thread", Refused)
            with pytest.raises(NoWorker, match="No process can be started"):
                made(slowly, 0)
        assert made(slowly, 0) == b"done"


def test_more_jobs_than_may_wait_are_refused():
    with closing(Pool(processes=1, waiting=1, seconds=SECONDS)) as made, ThreadPoolExecutor(1) as other:
        under_way = other.submit(made, slowly, 1)
        while not made._busy:
            time.sleep(0.01)
        with pytest.raises(Unavailable, match="at once"):
            made(slowly, 0)
        assert under_way.result() == b"done"
        assert made(slowly, 0) == b"done"


def test_no_more_processes_run_than_were_asked_for_and_each_job_is_done_once():
    with closing(Pool(processes=2, jobs=30, seconds=SECONDS)) as made, ThreadPoolExecutor(8) as others:
        assert sorted(others.map(lambda n: made(size_of, b"x" * n), range(40))) == list(range(40))
        assert len(made._idle) <= 2
        assert not made._busy


def test_what_is_under_way_or_waits_when_the_pool_is_closed_is_unavailable_and_so_is_what_comes_later():
    made = Pool(processes=1, seconds=SECONDS)
    with ThreadPoolExecutor(8) as others:
        asked = [others.submit(made, slowly, SECONDS) for _ in range(8)]
        while not made._busy:
            time.sleep(0.01)
        made.close()
        ends = [each.exception() for each in asked]

    assert {type(end) for end in ends} == {Unavailable}
    with pytest.raises(Unavailable, match="stopped"):
        made(slowly, 0)


@LINUX
def test_nothing_is_left_of_processes_that_ended(renewed, monkeypatch):
    monkeypatch.setattr(pools, "LOOK", 0.05)
    before = set(active_children())
    seen = [renewed(own_process) for _ in range(4)]
    while len(renewed._ending):
        time.sleep(0.01)
    assert [os.path.exists(f"/proc/{each}") for each in dict.fromkeys(seen)] == [False, True]

    renewed.close()
    assert not any(os.path.exists(f"/proc/{each}") for each in seen)
    assert set(active_children()) <= before


KILLED = """
import os, signal
from service.processes.pool import Pool
from tests.processes.test_pool import own_process
if __name__ == "__main__":
    print(Pool(processes=1, seconds=60)(own_process), flush=True)
    os.kill(os.getpid(), signal.SIGKILL)
"""


@LINUX
def test_the_processes_end_with_a_server_that_was_killed(tmp_path):
    program = tmp_path / "killed.py"
    program.write_text(KILLED)
    ran = subprocess.run(
        [sys.executable, str(program)], env=os.environ | {"PYTHONPATH": os.getcwd()}, capture_output=True, check=False
    )
    worker = int(ran.stdout)

    for _ in range(1000):
        if not _runs(worker):
            return
        time.sleep(0.01)
    pytest.fail("the worker process goes on without its server")


def _runs(process):
    try:
        with open(f"/proc/{process}/stat") as status:
            return status.read().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False
