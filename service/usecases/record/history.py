"""A unit's timeline, its root causes included."""

from collections.abc import Iterable, Iterator

from service.domain.record.history import Position, TimelineEvent, timeline
from service.domain.root_causes.life_cycle import RootCause
from service.storage.store import Store


def unit_timeline(store: Store, tag: str, *, after: Position | None, limit: int) -> tuple[list[TimelineEvent], str]:
    """The unit's next events behind a position, newest first, and its time zone; NotFound for an unknown unit."""
    log = store.log_of(tag)
    causes = _of_root_causes(store.root_causes.of(tag))
    return timeline(log, causes, after=after, limit=limit), log.time_zone


def _of_root_causes(causes: Iterable[RootCause]) -> Iterator[TimelineEvent]:
    """When a root cause was seen and decided; its figures, which change, are in the root cause itself."""
    for cause in causes:
        named = {"id": cause.id, "component_kind": cause.kind}
        yield TimelineEvent("root_cause_seen", cause.first_seen, named | {"tier": cause.tier}, cause.id)
        if cause.decided_at is not None:
            decision = {"state": cause.returned_from or cause.state, "by": cause.decided_by, "note": cause.why}
            yield TimelineEvent("root_cause_decided", cause.decided_at, named | decision, cause.id)
