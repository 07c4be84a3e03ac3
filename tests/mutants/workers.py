"""Work done in forked children, each with a limit of processor time: what the parent has imported is there at once."""

import os
import resource
import signal
import sys
from collections.abc import Callable, Hashable, Iterable, Iterator
from contextlib import suppress
from math import ceil
from pathlib import Path
from traceback import print_exc

TOO_LONG = (-signal.SIGXCPU, -signal.SIGALRM, -signal.SIGKILL)
BROKEN = 70  # exit code of work that raised


def forked(
    jobs: Iterable[tuple[Hashable, Callable[[], int], float]], at_once: int, log: Path
) -> Iterator[tuple[Hashable, int]]:
    """Do each piece of work in a child of its own; yield its key and exit code (negative: the signal that ended it)."""
    running: dict[int, Hashable] = {}
    try:
        for key, work, seconds in jobs:
            if len(running) >= at_once:
                yield _finished(running)
            running[_start(work, seconds, log)] = key
        while running:
            yield _finished(running)
    finally:
        for pid in running:
            _end_group(pid)
            os.waitpid(pid, 0)


def _finished(running: dict[int, Hashable]) -> tuple[Hashable, int]:
    pid, status = os.wait()
    _end_group(pid)
    return running.pop(pid), os.waitstatus_to_exitcode(status)


def _end_group(pid: int) -> None:
    """End a child and whatever it started."""
    with suppress(ProcessLookupError):
        os.killpg(pid, signal.SIGKILL)


def _start(work: Callable[[], int], seconds: float, log: Path) -> int:
    pid = os.fork()
    if pid:
        with suppress(ProcessLookupError):
            os.setpgid(pid, pid)  # the child does it as well: whoever comes first
        return pid
    code = BROKEN
    try:
        os.setpgid(0, 0)
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        output = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        os.dup2(output, 1)
        os.dup2(output, 2)
        resource.setrlimit(resource.RLIMIT_CPU, (ceil(seconds), ceil(seconds) + 5))
        signal.alarm(ceil(seconds) * 10)  # for work that waits for ever; a busy machine must not bring it about
        code = work()
    except BaseException:  # the child must not go on in the parent's code
        print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
