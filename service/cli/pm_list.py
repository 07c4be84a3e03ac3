"""Show the PM list in the terminal, or write it to a file."""

import shutil
import sys
from dataclasses import replace

from service import clock
from service.cli.opened import database
from service.cli.summaries import put
from service.rendering.pm_list import text
from service.rendering.pm_list.formats import FORMATS
from service.usecases.planning import pm_list

WIDTH, WIDEST = 100, 160
ALL = sys.maxsize


def run(asked: pm_list.Asked, *, form: str, output: str) -> None:
    """The whole list to a file, or to standard output for "-"; as text it is as wide as the terminal."""
    now = clock.now()
    with database() as opened, opened.reading() as store:
        pulled, _ = pm_list.pull(store, now, replace(asked, limit=ALL), frozenset())
    if form == "text":
        width = WIDTH if output != "-" else min(shutil.get_terminal_size((WIDTH, 24)).columns, WIDEST)
        put(text.render(pulled, width=width).encode(), output)
    else:
        put(FORMATS[form][1](pulled, now), output)
