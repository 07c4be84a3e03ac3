"""Documents in worker processes: they come back whole, failures come back as failures, and nothing is left behind."""

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from service.domain.errors import Unavailable
from service.rendering.pool import NICENESS, DocumentPool
from service.rendering.year.formats import write_summary
from tests.benchmarks.renders import changing
from tests.rendering.test_summary_documents import a_summary, a_unit


@pytest.fixture
def pool():
    made = DocumentPool(processes=1, documents=3, seconds=60)
    yield made
    made.close()


def own_process():
    return str(os.getpid()).encode()


def priority():
    return str(os.nice(0)).encode()


def out_of_range():
    raise KeyError("a5")


def kill_itself():
    os.kill(os.getpid(), signal.SIGKILL)
    return b""


def never_done():
    while True:
        pass


def slowly(seconds):
    time.sleep(seconds)
    return b"done"


@pytest.mark.parametrize("form", ["pdf", "xlsx"])
def test_a_document_is_the_one_that_this_process_writes(pool, form):
    summary = a_summary(a_unit("GU-1", visits=2))

    assert pool(write_summary, summary, form, None, None) == write_summary(summary, form)


@pytest.mark.skipif(not hasattr(os, "nice"), reason="there are no priorities of this kind on Windows")
def test_a_document_comes_after_the_requests_that_are_answered_meanwhile(pool):
    assert int(pool(priority)) == min(os.nice(0) + NICENESS, 19)


def test_processes_are_renewed_after_some_documents(pool):
    written = [pool(own_process) for _ in range(7)]

    assert str(os.getpid()).encode() not in written
    assert [written.count(each) for each in dict.fromkeys(written)] == [3, 3, 1]


def test_what_is_raised_there_is_raised_here(pool):
    with pytest.raises(KeyError, match="a5"):
        pool(out_of_range)


def test_a_process_that_dies_makes_one_document_unavailable_and_not_the_next(pool):
    with pytest.raises(Unavailable):
        pool(kill_itself)

    assert pool(slowly, 0) == b"done"


@pytest.mark.skipif(not hasattr(signal, "alarm"), reason="there is no alarm on Windows")
def test_a_document_that_takes_too_long_is_given_up():
    pool = DocumentPool(processes=1, seconds=1)
    try:
        with pytest.raises(Unavailable):
            pool(never_done)
        assert pool(slowly, 0) == b"done"
    finally:
        pool.close()


def test_more_documents_than_may_wait_are_refused():
    pool = DocumentPool(processes=1, waiting=1)
    try:
        with ThreadPoolExecutor(1) as other:
            under_way = other.submit(pool, slowly, 3)
            while not pool._executor:
                time.sleep(0.01)
            with pytest.raises(Unavailable, match="at once"):
                pool(slowly, 0)
            assert under_way.result() == b"done"
        assert pool(slowly, 0) == b"done"
    finally:
        pool.close()


def test_what_waits_when_the_pool_is_closed_is_unavailable_and_so_is_what_comes_later():
    pool = DocumentPool(processes=1)
    with ThreadPoolExecutor(8) as others:
        asked = [others.submit(pool, slowly, 0.5) for _ in range(8)]
        while pool._written < 8:
            time.sleep(0.01)
        pool.close()

    ends = [each.exception() or each.result() for each in asked]
    assert {end if end == b"done" else type(end) for end in ends} == {b"done", Unavailable}
    with pytest.raises(Unavailable, match="stopped"):
        pool(slowly, 0)


KILLED = """
import os, signal
from service.rendering.pool import DocumentPool
from tests.rendering.test_pool import own_process
if __name__ == "__main__":
    print(DocumentPool(processes=1)(own_process).decode(), flush=True)
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="asks /proc for the process")
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


def test_each_document_of_a_changing_record_is_another_whichever_process_writes_it(tmp_path):
    pool = DocumentPool(processes=1, documents=2)

    made = [digest for digest, _ in changing(tmp_path, units=2, visits=12, documents=5, pool=pool)]

    assert len(set(made)) == len(made) == 5
