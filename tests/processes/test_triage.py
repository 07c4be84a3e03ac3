"""Triage in a worker process is the one of the thread that asks, and that thread does it where no process can."""

import os
import signal
from contextlib import closing
from itertools import islice

import pytest

from service.domain.triage.cause import likely_cause
from service.domain.triage.diagnose import diagnose
from service.domain.triage.question import Question
from service.processes import pool as pools
from service.processes import triage as triages
from service.processes.pool import Pool
from service.processes.triage import Triage
from tests.benchmarks.judging import _drawn
from tests.processes.test_pool import own_process, stop_itself


def questions():
    for unit, visit, _, seen, symptom in islice(_drawn(), 5, 10, 2):
        yield Question(unit=unit, symptom=symptom, readings=visit.readings, seen=seen)


@pytest.fixture(scope="module")
def triage():
    with closing(Triage(1)) as made:
        yield made


def test_it_says_the_same_to_the_last_digit(triage):
    there = [(triage(likely_cause, each), triage(diagnose, each, "us")) for each in questions()]

    assert triage(own_process) != os.getpid()
    assert there == [(likely_cause(each), diagnose(each, "us")) for each in questions()]
    assert any(cause is not None for cause, _ in there)


def test_where_no_process_starts_it_is_done_here(monkeypatch):
    def refused(niceness):
        raise BlockingIOError(11, "Resource temporarily unavailable")

    monkeypatch.setattr(pools, "_Worker", refused)
    with closing(Triage(1)) as made:
        assert made(own_process) == os.getpid()


def killed_unless(process):
    if os.getpid() != process:
        os.kill(os.getpid(), signal.SIGKILL)
    return "here"


def stopped_unless(process):
    if os.getpid() != process:
        stop_itself()
    return "here"


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="there is no such signal on Windows")
@pytest.mark.parametrize("job", [killed_unless, stopped_unless])
def test_where_its_process_dies_or_stands_still_it_is_done_here(triage, monkeypatch, job):
    monkeypatch.setattr(pools, "LOOK", 0.05)
    monkeypatch.setattr(triage._pool, "_seconds", 1)

    assert triage(job, os.getpid()) == "here"
    assert triage(own_process) != os.getpid()


def test_where_all_are_at_work_and_others_wait_it_is_done_here(triage):
    for _ in range(triages.WAITING):
        triage._pool._room.acquire()
    crowded = triage(own_process)
    triage._pool._room.release(triages.WAITING)

    assert crowded == os.getpid()
    assert triage(own_process) != os.getpid()


def test_after_the_end_it_is_done_here():
    made = Triage(1)
    made.close()
    assert made(own_process) == os.getpid()


GIB = 2**30


@pytest.mark.parametrize(
    ("processors", "memory", "expected"),
    [(1, 8 * GIB, 0), (2, 8 * GIB, 1), (4, 8 * GIB, 2), (64, 64 * GIB, 2), (4, GIB - 1, 0), (4, 2 * GIB - 1, 1)],
)
def test_how_many_there_are_follows_from_the_machine(monkeypatch, processors, memory, expected):
    monkeypatch.setattr(triages, "processors", lambda: processors)
    monkeypatch.setattr(triages, "memory", lambda: memory)

    assert triages.processes() == expected
    assert isinstance(Triage()._pool, Pool) == (expected > 0)
