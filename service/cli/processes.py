"""Work of a command on all processors but one: one interpreter computes on one at a time."""

import os
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from typing import TypeVar

from service.domain.errors import Unavailable
from service.processes.pool import processors
from service.processes.worker import end_with_parent

Item = TypeVar("Item")
Result = TypeVar("Result")
NICENESS = 10  # added: a server beside them goes first
LOST = "A process of this command was ended from outside, perhaps for want of memory; run the command again."


def each_in_processes(work: Callable[[Sequence[Item]], Result], items: Sequence[Item]) -> list[Result]:
    """What `work` returns for the items, which each processor but one gets an equal part of.

    One is left to a server beside the command; where there are two at most, or Python would have to start anew, all is
    done here. Processes are copies of this one, which must have no database open. What one raises is raised here, once
    the others have done their parts.
    """
    count = min(processors() - 1, len(items))
    if count < 2 or sys.platform != "linux":
        return [work(items)]
    executor = ProcessPoolExecutor(count, get_context("fork"), initializer=_start)
    try:
        return list(executor.map(work, [items[n::count] for n in range(count)]))
    except BrokenProcessPool as fault:
        raise Unavailable(LOST) from fault
    finally:
        executor.shutdown(wait=True, cancel_futures=True)


def _start() -> None:
    """Come after the server, and end with the command."""
    os.nice(NICENESS)
    end_with_parent()
