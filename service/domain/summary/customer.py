"""A customer's year: the figures of each unit, and the same added up."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from hashlib import sha256
from typing import Any

from service.domain.record.fleet import Customer
from service.domain.summary import actions, counts, letter, outage_totals, pm, sentences, what_we_did
from service.domain.summary.definitions import DEFINITIONS
from service.domain.summary.document import DataState, ServiceSummary, UnitSummary
from service.domain.summary.former_year import FormerYear, year_before
from service.domain.summary.kept_year import InWindow
from service.domain.summary.window import Window, window_of

DIGEST_LENGTH = 16


def service_summary(  # noqa: PLR0913 - what it follows from
    customer: Customer,
    years: Sequence[InWindow],
    year: int,
    *,
    before: Sequence[FormerYear] = (),
    as_of: datetime,
    program_version: str,
    units_shown: str,
) -> ServiceSummary:
    """The whole summary; the same for the same records, `as_of`, version and units of measure.

    `before` is the year before, unit by unit.
    """
    shown, today = (each.shown for each in years if each.kept.counts), as_of.date()
    units = [replace(unit, actions=actions.from_today(unit.actions, unit.plan, today)) for unit in shown]
    whole = widest((each.window for each in years), year, as_of)
    totals, former = _totals(units), year_before(before, year - 1)
    to_do = actions.merged(action for unit in units for action in unit.actions)
    return ServiceSummary(
        customer=customer.code,
        customer_name=customer.name,
        year=year,
        as_of=as_of,
        first_day=whole.first,
        last_day=whole.last,
        plan_from=whole.plan_from,
        plan_to=whole.plan_to,
        data_state=data_state(years, repr((customer.code, customer.name))),
        program_version=program_version,
        units_shown=units_shown,
        headline=letter.headline(
            units, former, to_do, days=(whole.first, whole.last), totals=totals, left=_left(years)
        ),
        done=what_we_did.done(units, year),
        actions=to_do,
        year_before=former,
        **totals,
        units=tuple(units),
        gaps=sentences.gaps_of_all(units, whole, totals["refrigerant"]),
        definitions=DEFINITIONS,
    )


def _left(years: Iterable[InWindow]) -> set[str]:
    """The units that were no longer the customer's, or in our care, at the end; one that came back is still there."""
    there = [each.kept for each in years if each.kept.counts]
    return {each.summary.tag for each in there} - {each.summary.tag for each in there if not each.has_left}


def _totals(units: Sequence[UnitSummary]) -> dict[str, Any]:
    """The figures of the units added up."""
    return {
        "visits_by_kind": counts.sum_by_kind([unit.visits_by_kind for unit in units]),
        "time_on_site": counts.sum_time([unit.time_on_site for unit in units]),
        "pm": pm.pm_count(Counter(line.state for unit in units for line in unit.pm_lines)),
        "without_cold_beer": outage_totals.sum_totals([unit.without_cold_beer for unit in units]),
        "replaced": counts.sum_replaced([unit.replaced for unit in units]),
        "refrigerant": counts.refrigerant([move for unit in units for move in unit.refrigerant_moves]),
        "root_causes": counts.root_causes([line for unit in units for line in unit.root_causes]),
    }


def widest(windows: Iterable[Window], year: int, as_of: datetime) -> Window:
    """From the first day of any unit's window to the end of the one that ends last; without any, that of UTC."""
    found = list(windows)
    ends_last = max(found, key=lambda each: (each.last, each.deadline), default=window_of(year, as_of, "UTC"))
    return replace(ends_last, first=min((each.first for each in found), default=ends_last.first))


def data_state(years: Sequence[InWindow], whose: str) -> DataState:
    """The records up to the period's end; of the SHA-256 the first 16 hexadecimal digits are shown."""
    kept = [each.kept for each in years]
    return DataState(
        visits=sum(each.visits for each in kept),
        units=len({each.summary.tag for each in kept}),
        latest_visit_at=max((each.latest_visit_at for each in kept if each.latest_visit_at), default=None),
        digest=digest_of([whose, *(each.digest for each in kept)]),
    )


def digest_of(parts: Iterable[str]) -> str:
    """A digest over all parts."""
    return sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:DIGEST_LENGTH]
