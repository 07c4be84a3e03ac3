"""Intervals as a customer reads them."""

from functools import lru_cache

from service.domain.maintenance.tasks import Interval
from service.domain.messages import Message, ngettext

INTERVALS = {
    "day": ("{count} day", "{count} days"),
    "month": ("{count} month", "{count} months"),
}  # the messages of one and of more, which the catalogue lists


@lru_cache(maxsize=1024)
def in_words(interval: Interval) -> Message:
    """The interval; as English text the same as `str(interval)`."""
    return ngettext(*INTERVALS[interval.unit], interval.count)
