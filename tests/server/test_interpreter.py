"""Threads change often and full collections are seldom, counted by the interpreter itself (the modules sys and gc)."""

import subprocess
import sys

import pytest

KEPT = """
import gc, sys
from service.server.interpreter import share_interpreter

if sys.argv[1] == "shared":
    share_interpreter()
gc.collect()
gc.freeze()  # as a server does before it listens
before = gc.get_stats()[2]["collections"]
kept = [[number] for number in range(1_000_000)]
print(gc.get_stats()[2]["collections"] - before, sys.getswitchinterval())
"""


@pytest.mark.parametrize(("how", "seldom"), [("shared", True), ("each", False)])
def test_a_large_answer_causes_no_full_collection_and_lets_others_go_on(how, seldom):
    done = subprocess.run([sys.executable, "-c", KEPT, how], capture_output=True, text=True, check=True)
    collections, interval = done.stdout.split()

    assert (int(collections) == 0) == seldom
    assert (float(interval) <= 0.001) == seldom
