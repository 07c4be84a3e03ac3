"""Time without cold beer added up."""

from collections.abc import Sequence
from typing import Any

from service.domain.bench.figures import figure
from service.domain.summary.lines import Outage, OutageTotal


def total(found: Sequence[Outage]) -> OutageTotal:
    """All of them added up."""
    return OutageTotal(
        outages=sum(not each.began_before for each in found),
        carried_over=sum(each.began_before for each in found),
        begin_unknown=sum(each.begin_unknown for each in found),
        end_unknown=sum(each.estimated_high is None for each in found),
        **_sums(found),
    )


def sum_totals(totals: Sequence[OutageTotal]) -> OutageTotal:
    """Such totals added up."""
    counts = ("outages", "carried_over", "begin_unknown", "end_unknown")
    return OutageTotal(**{name: sum(getattr(each, name) for each in totals) for name in counts}, **_sums(totals))


def _sums(parts: Sequence[Outage] | Sequence[OutageTotal]) -> dict[str, Any]:
    """The hours added up; no upper limit where any of them has none."""
    upper = [each.estimated_high.value for each in parts if each.estimated_high is not None]
    names = ("seen", "estimated", "estimated_low")
    return {name: figure(sum(getattr(each, name).value for each in parts), "time") for name in names} | {
        "estimated_high": figure(sum(upper), "time") if len(upper) == len(parts) else None
    }
