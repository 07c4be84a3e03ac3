"""A time without cold beer as people read it, by one rule in every document: under two days in hours, else in days."""

from collections.abc import Iterator

from service.domain.messages import Message, gettext
from service.domain.summary.lines import OutageTotal

HOUR = 3600.0
DAY, LONG = 24.0, 48.0  # hours


def span_text(seconds: float) -> Message:
    """Hours under two days, else days.

    >>> span_text(9 * 3600), span_text(43.7 * 3600), span_text(60 * 3600), span_text(1000 * 3600)
    ('9.0 h', '44 h', '2.5 days', '42 days')
    """
    hours = seconds / HOUR
    if round(hours) < LONG:
        return gettext("{hours} h", hours=f"{hours:.{1 if 0 < hours < 9.95 else 0}f}")
    return gettext("{days} days", days=f"{hours / DAY:.{1 if hours < 9.95 * DAY else 0}f}")


def seen_text(seconds: float) -> Message:
    """How much of the time without cold beer was seen."""
    return gettext("{span} of it seen", span=span_text(seconds)) if seconds else gettext("none of it seen")


def is_known(without: OutageTotal) -> bool:
    """Whether anything is known of how long it was: some of it seen where an end is not known, else estimated."""
    if without.estimated_high is None:
        return bool(without.seen.value)
    return bool(without.estimated.value) or not without.any


def how_long(without: OutageTotal) -> Message:
    """At least what was seen where an end is not known: an estimate of the others would pass for one of all."""
    seen, estimated, most = without.seen.value, without.estimated.value, without.estimated_high
    if not is_known(without):
        return gettext("not known")
    if most is None:
        return gettext("at least {span}", span=span_text(seen))
    span = span_text(estimated)
    return span if most.value == seen else gettext("about {span}", span=span)


def how_sure(without: OutageTotal) -> Iterator[Message]:
    """What of it was seen, the most that it can be, and how many of which the beginning or the end is not known."""
    seen, estimated, most = without.seen.value, without.estimated.value, without.estimated_high
    if most is None and estimated > seen:
        yield gettext("about {span} estimated as far as the record goes", span=span_text(estimated))
    if most is not None and most.value != seen:
        yield seen_text(seen)
        if span_text(most.value) != span_text(estimated):
            yield gettext("{span} at the most", span=span_text(most.value))
    if without.begin_unknown:
        yield gettext("the beginning of {count} not known", count=without.begin_unknown)
    if most is None:
        yield gettext("the end of {count} not known", count=without.end_unknown)
