"""Faults that were measured and stand at the last readings, whatever has failed: rating, voltage, bad joints."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from service.domain.record.failed import is_failure
from service.domain.root_causes.before_failure import loads_of, nameplates, readings_before
from service.domain.root_causes.causes import CAUSES, Cause
from service.domain.root_causes.exposure import Track
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.views import PLAIN, Tracks, View

MEASURABLE = ("switch_undersized", "low_voltage", "high_voltage", "loose_terminal")
MEASURED = 0.5  # a score from here on is a fault: half way to full harm
LEAST_LEVEL = PLAIN * MEASURED  # the least `View.measured_level` of one
AGREE = 2  # so many of the last readings must agree, where there are as many


@dataclass(frozen=True, slots=True)
class FaultMeasured:
    """A fault of a unit, or of one component, since the first of the readings that agree on it.

    A switch over its rating is one since the unit is watched; where no current was read, by the ratings of what it
    feeds. `read` are the last readings, `rated` what they are compared with; `failed` counts since then, by kind, the
    parts that it harms.
    """

    unit: str
    cause: str
    component: str | None
    since: date
    read: dict[str, str] = field(default_factory=dict)
    rated: dict[str, str] = field(default_factory=dict)
    failed: dict[str, int] = field(default_factory=dict)


def faults_of(history: FailureHistory) -> tuple[FaultMeasured, ...]:
    """The faults that stand at the end of a unit's history; none of a retired unit."""
    if history.retired:
        return ()
    tracks = Tracks(history)
    found = {
        (fault.cause, fault.component): fault
        for cause in CAUSES
        if cause.code in MEASURABLE
        for view in cause.views
        for fault in _of_view(tracks, cause, view)
    }
    return tuple(found.values())


def _of_view(tracks: Tracks, cause: Cause, view: View) -> Iterator[FaultMeasured]:
    history = tracks.history
    kinds = {harm.kind for harm in cause.harms}
    own = [part for part in history.components if part.kind in kinds]
    for part in own[:1] if view.of == "unit" else own:
        code = None if view.of == "unit" else part.code
        track = tracks.of(view, part.kind, code) if view.sure is None else view.sure(history, part.kind, code)
        since = None if view.by_trouble(history, part.kind, code) else _since(track)
        if since:
            yield _fault(history, cause, part.kind, code, since)


def _since(track: Track) -> date | None:
    """The first day of those last points that all are a fault; None where too few are."""
    run = 0
    for _, found, left in reversed(track):
        if (left if run == 0 else found) < MEASURED:
            break
        run += 1
    if run < min(AGREE, len(track)) or not track:
        return None
    return date.fromordinal(track[-run][0])


def _fault(history: FailureHistory, cause: Cause, kind: str, component: str | None, since: date) -> FaultMeasured:
    own, by_load = {component} if component else set(), cause.code == "switch_undersized"
    loads = loads_of(history, component) if by_load else set()
    reads = ("current",) if by_load else cause.reads  # an overload is judged by currents, not by how warm it is
    bears = {*reads, *(f"{quantity} {code}" for quantity in reads for code in own)}
    bears |= {f"current {code}" for code in loads}
    near = readings_before(history, kind, component=component or "", day=history.end)
    failed = Counter(
        part.kind
        for part in history.replaced
        if is_failure(part) and part.surely_since(since)
        and component in (None, part.component) and cause.harm(part.kind)
    )  # fmt: skip
    return FaultMeasured(
        unit=history.tag,
        cause=cause.code,
        component=component,
        since=since,
        read={name: text for name, text in near.items() if name in bears},
        rated=nameplates(history, cause, own | loads),
        failed=dict(sorted(failed.items())),
    )
