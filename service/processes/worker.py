"""What a worker process does: one job after another, until its server closes the pipe or ends.

It imports little: each job brings what it needs.
"""

import gc
import os
import pickle
import signal
from collections.abc import Callable
from importlib import import_module
from multiprocessing import connection, parent_process
from multiprocessing.connection import Connection
from threading import Thread
from traceback import format_exc

COLLECT_AFTER = (20_000, 20, 20)  # as the server does: nearly all that a job leaves is freed without a collection


def work(pipe: Connection, niceness: int) -> None:
    """Answer what comes; Ctrl-C is left to the server, and others go first by `niceness`."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):  # not on Windows
        os.nice(niceness)
    gc.set_threshold(*COLLECT_AFTER)
    with open(os.devnull, "wb") as nowhere:
        os.dup2(nowhere.fileno(), 1)  # standard output is the server's; CoolProp prints there when it is loaded
    end_with_parent()
    while True:
        try:
            pipe.send_bytes(_answer(pipe.recv_bytes()))
        except (EOFError, OSError):
            return


def end_with_parent() -> None:
    """End this process when the one that started it ends, however that ends."""
    Thread(target=_end_when_alone, daemon=True).start()


def load(module: str) -> None:
    """Import what later jobs need."""
    import_module(module)


def job(function: Callable[..., object], arguments: tuple[object, ...]) -> bytes:
    """The message that asks for a call."""
    return pickle.dumps((function, arguments), pickle.HIGHEST_PROTOCOL)


def _answer(message: bytes) -> bytes:
    """What a job returned or raised."""
    try:
        function, arguments = pickle.loads(message)  # noqa: S301 - from the server that started this process
        return pickle.dumps((function(*arguments), None), pickle.HIGHEST_PROTOCOL)
    except Exception as fault:
        fault.add_note(f"In a worker process:\n{format_exc()}")
        return _pickled(fault)


def _pickled(fault: Exception) -> bytes:
    """A fault as it can be raised elsewhere; some libraries have errors that cannot."""
    try:
        made = pickle.dumps((None, fault), pickle.HIGHEST_PROTOCOL)
        pickle.loads(made)  # noqa: S301 - made in the line above
    except Exception:
        return pickle.dumps((None, RuntimeError("\n".join([repr(fault), *fault.__notes__]))))
    return made


def _end_when_alone() -> None:
    parent = parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        os._exit(1)
