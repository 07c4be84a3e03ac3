"""One interpreter for all threads: a short request beside one that computes for long has to get it soon and often.

A thread gives the interpreter away at every statement of the database. Where another one computes it then waits for the
switch interval, some fifty times for a visit; and a full collection stops all threads while it goes through every
history in memory.
"""

import gc
import sys

SWITCH = 0.0005  # [s] until a thread that computes makes way for one that waits; Python's own is 0.005
COLLECT_AFTER = (20_000, 20, 20)  # new objects, collections of these, and of those, until the next; Python: 700, 10, 10


def share_interpreter() -> None:
    """Let threads change often, and collect cycles seldom."""
    sys.setswitchinterval(SWITCH)
    collect_seldom()


def collect_seldom() -> None:
    """Look for cycles seldom: nearly all that a request or a record leaves is freed without it."""
    gc.set_threshold(*COLLECT_AFTER)
