"""Threads take memory from two heaps, and large blocks from the system; counted by the C library itself.

https://man7.org/linux/man-pages/man3/malloc_info.3.html, and mallopt.3.html for the size from which a block is large.
"""

import os
import re
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
library.free.argtypes = [ctypes.c_void_p]
library.free(library.malloc(4_000_000))  # a document
library.malloc(1_000_000)
out = ctypes.c_void_p(library.fdopen(1, b"w"))
library.malloc_info(0, out)
library.fflush(out)
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="other C libraries have one heap, or no such report")
@pytest.mark.parametrize(("how", "few"), [("shared", True), ("each", False)])
def test_threads_share_two_heaps_and_a_large_block_goes_back(how, few):
    environ = {name: value for name, value in os.environ.items() if not name.startswith("MALLOC_")}
    done = subprocess.run([sys.executable, "-c", HEAPS, how], env=environ, capture_output=True, text=True, check=False)
    if "malloc_info" in done.stderr:
        pytest.skip("the C library has no such report")

    assert (done.stdout.count("<heap nr=") <= 2) == few, done.stdout[:200] + done.stderr
    (mapped,) = re.findall(r'<total type="mmap" count="\d+" size="(\d+)"', done.stdout)
    assert (int(mapped) > 1_000_000) == few, done.stdout[-300:]
