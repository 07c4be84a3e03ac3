"""Calculate all due items anew; alone in its module, because it starts in half the time without what others import."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial

import click

from service import clock
from service.cli.opened import database
from service.cli.processes import each_in_processes
from service.rendering.pm_list.wording import number
from service.usecases.maintenance.refreshing import refresh_range
from service.usecases.root_causes import root_causes

UNITS_AT_ONCE = 250  # worked out together, and written in some 25 ms, after which a waiting server can write
Range = tuple[int, int]


def refresh() -> None:
    """Refresh every unit's due items and root causes in short transactions, so that visits are not held up."""
    from service.usecases.root_causes import failure_statistics  # it needs scipy; loaded before there are processes

    at = clock.now()
    with database() as opened:
        renewed = failure_statistics.of_another_layout(opened)
        with opened.reading() as store:
            highest = store.units.highest()
    ranges = [(low, low + UNITS_AT_ONCE - 1) for low in range(1, highest + 1, UNITS_AT_ONCE)]
    units = sum(each_in_processes(partial(_refresh, at), ranges))
    with database() as opened:
        searched = root_causes.search_fleet(opened, at, gap=lambda: None, renewed=renewed)
    click.echo(f"Refreshed the due items of {number(units, 'unit')}.", err=True)
    click.echo(f"Searched {number(searched, 'unit')} with repeated failures for root causes.", err=True)


def _refresh(at: datetime, ranges: Sequence[Range]) -> int:
    """Refresh the due items and figures of units in these ranges of identities; how many there are."""
    from service.usecases.root_causes import failure_statistics  # it needs scipy

    units = 0
    with database() as opened:
        for low, high in ranges:
            units += refresh_range(opened, low, high)
            failure_statistics.renew_range(opened, at, low, high)
    return units
