"""Threads take memory from two heaps; counted by the C library itself, https://man7.org/linux/man-pages/man3/malloc_info.3.html."""

import os
import subprocess
import sys

import pytest

HEAPS = """
import ctypes, sys
from threading import Barrier, Thread
from service.server.heaps import share_heaps

library = ctypes.CDLL(None)
library.fdopen.restype = library.malloc.restype = ctypes.c_void_p
if sys.argv[1] == "shared":
    share_heaps()
together = Barrier(12)

def take():
    library.malloc(1000)
    together.wait()

threads = [Thread(target=take) for _ in range(12)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
out = ctypes.c_void_p(library.fdopen(1, b"w"))
library.malloc_info(0, out)
library.fflush(out)
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="other C libraries have one heap, or no such report")
@pytest.mark.parametrize(("how", "few"), [("shared", True), ("each", False)])
def test_threads_share_two_heaps(how, few):
    environ = {name: value for name, value in os.environ.items() if not name.startswith("MALLOC_")}
    done = subprocess.run([sys.executable, "-c", HEAPS, how], env=environ, capture_output=True, text=True, check=False)
    if "malloc_info" in done.stderr:
        pytest.skip("the C library has no such report")

    assert (done.stdout.count("<heap nr=") <= 2) == few, done.stdout[:200] + done.stderr
