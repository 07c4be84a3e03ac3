"""Root-cause candidates in the fleet's year, as the customers' summaries tell them, with the visits they took."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from service.domain.root_causes.found import TIERS
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.cases import root_cause_lines
from service.domain.summary.fleet_lines import CaseCount, CaseLine
from service.domain.summary.lines import RootCauseLine
from service.domain.summary.records import UnitRecord, Window


@dataclass(frozen=True, slots=True)
class Suspected:
    """A candidate, and the visits at which its items failed."""

    line: CaseLine
    visits: frozenset[str]


def suspected(record: UnitRecord, window: Window, told_on: date) -> tuple[Suspected, ...]:
    """The candidates of a unit first seen by the window's end; what came of a remedy is told up to `told_on`."""
    visits = {case.kind: _visits(case) for case in record.cases}
    return tuple(Suspected(_line(each), visits[each.kind]) for each in root_cause_lines(record, window, told_on))


def _visits(case: RootCause) -> frozenset[str]:
    return frozenset(event["visit"] for event in json.loads(case.document)["events"])


def _line(told: RootCauseLine) -> CaseLine:
    """A candidate with its most probable cause, which stands first."""
    return CaseLine(
        unit=told.unit,
        kind=told.kind,
        tier=told.tier,
        state=told.state,
        cause=told.causes[0].cause,
        luck_probability=told.luck_probability,
        first_seen_on=told.first_seen_on,
        decided_by=told.decided_by,
        why=told.why,
        resolved_on=told.resolved_on,
        failed_before=told.failed_before,
        years_before=told.years_before,
        failed_after=told.failed_after,
        years_after=told.years_after,
        chance=told.chance,
        verdict=told.verdict,
    )


def case_counts(lines: Iterable[CaseLine]) -> tuple[CaseCount, ...]:
    """How many of each tier are in each state."""
    told = [(line.tier, line.state) for line in lines]
    return tuple(
        CaseCount(
            tier=tier,
            open=told.count((tier, "open")),
            confirmed=told.count((tier, "confirmed")),
            dismissed=told.count((tier, "dismissed")),
            resolved=told.count((tier, "resolved")),
        )
        for tier in TIERS
    )
