"""Work of a command on all processors but one: all of it is done, and what ends it is reported."""

import subprocess
import sys

import pytest

HEAD = """
import os, signal
from service.cli import processes
processes.processors = lambda: {count} + 1
def work(items):
    {fault}
    return os.getpid(), [2 * each for each in items]
if __name__ == "__main__":
    for pid, found in processes.each_in_processes(work, [1, 2, 3, 4, 5]):
        print(pid == os.getpid(), found)
"""


def run(count: int, fault: str = "pass") -> tuple[str, str]:
    """What is printed, and the last line of what is reported."""
    script = HEAD.format(count=count, fault=fault)
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False, timeout=60)
    return done.stdout, (done.stderr.splitlines() or [""])[-1]


def test_with_one_processor_it_is_done_here() -> None:
    assert run(1) == ("True [2, 4, 6, 8, 10]\n", "")


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere there is one process")
def test_each_process_does_an_equal_part() -> None:
    assert run(2) == ("False [2, 6, 10]\nFalse [4, 8]\n", "")


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere there is one process")
@pytest.mark.parametrize(
    ("fault", "reported"),
    [
        ("1 / (items[0] - 2)", "ZeroDivisionError: division by zero"),
        (
            "items[0] == 2 and os.kill(os.getpid(), signal.SIGKILL)",
            "service.domain.errors.Unavailable: A process of this command was ended from outside, perhaps for want of "
            "memory; run the command again.",
        ),
    ],
)
def test_what_ends_a_process_is_reported(fault: str, reported: str) -> None:
    assert run(2, fault) == ("", reported)
