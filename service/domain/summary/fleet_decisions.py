"""What came of the decisions of the year before on a unit's root causes."""

import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from service.domain.instants import local_day
from service.domain.record.failed import is_failure
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.fleet_lines import DecisionLine
from service.domain.summary.root_causes import OPEN, RESOLVED, compared
from service.domain.summary.window import Window

FAILED_AGAIN, QUIET = "failed_again", "quiet"


def decisions_of(
    log: UnitLog,
    replaced: Sequence[PartReplaced],
    before: Iterable[RootCause],
    now: Iterable[RootCause],
    window: Window,
) -> Iterator[DecisionLine]:
    """Of root causes as they stood at the end of the year before, and stand now, those that were decided on in it."""
    states = {each.kind: each.state for each in now}
    for each in before:
        decided = each.returned_from or each.state
        on = None if each.decided_at is None else local_day(each.decided_at, log.time_zone)
        if on is not None and on.year == window.first.year - 1 and decided != OPEN:
            yield _line(log, replaced, each, (decided, on, states.get(each.kind, each.state)), window.last)


def _line(
    log: UnitLog, replaced: Sequence[PartReplaced], found: RootCause, decided: tuple[str, date, str], last: date
) -> DecisionLine:
    what, on, state = decided
    result = compared(log, replaced, found.kind, since=on, until=last)
    failed = [part.on for part in replaced if part.kind == found.kind and is_failure(part) and part.on <= last]
    return DecisionLine(
        unit=log.unit.tag,
        kind=found.kind,
        cause=json.loads(found.document)["causes"][0]["cause"],
        decided=what,
        decided_on=on,
        decided_by=found.decided_by or "",
        why=found.why,
        failed_before=result.before,
        years_before=result.years_before,
        failed_since=result.after,
        years_since=result.years_after,
        last_failed_on=max(failed, default=None),
        came_of_it=FAILED_AGAIN if result.after else QUIET,
        chance=result.chance,
        verdict=result.verdict if what == RESOLVED else None,
        state=state,
    )
