"""Times without offset in what was posted: by the clock of the site, where the site is known."""

from collections.abc import Iterable, Iterator, Mapping
from copy import deepcopy
from datetime import datetime
from typing import Any, TypeAlias

import orjson

from service.domain.errors import Fault, Invalid
from service.domain.instants import at_site, of_local_time, refusal_without_offset

Path: TypeAlias = tuple[str | int, ...]


def local_times(given: Any, path: Path = ()) -> Iterator[tuple[Path, datetime]]:
    """Each time without offset, with its path."""
    if isinstance(given, datetime):
        if given.tzinfo is None:
            yield path, given
    elif isinstance(given, Mapping):
        for name, part in given.items():
            yield from local_times(part, (*path, name))
    elif isinstance(given, list):
        for n, part in enumerate(given):
            yield from local_times(part, (*path, n))


def has_local(given: Mapping[str, Any]) -> bool:
    """Whether any time has no offset."""
    return _any_local(given.values())


def _holds_local(given: Any) -> bool:
    """As `local_times`, without the paths: nearly all that is posted has none."""
    kind = type(given)
    if kind is datetime:
        return given.tzinfo is None
    if kind is dict:
        return _any_local(given.values())
    return kind is list and _any_local(given)


def _any_local(parts: Iterable[Any]) -> bool:
    for part in parts:
        kind = type(part)
        if (kind is datetime or kind is dict or kind is list) and _holds_local(part):
            return True
    return False


def by_clock(given: Mapping[str, Any], time_zone: str | None) -> Mapping[str, Any]:
    """What was posted, with instants alone; Invalid with each time that this clock does not show once.

    Without a time zone each time is refused.
    """
    made: Mapping[str, Any] = _with(given, _instants(given, time_zone))
    return made


def text_by_clock(text: str, given: Mapping[str, Any], time_zone: str) -> str:
    """The text of what was posted, with the offset of this clock where it had none."""
    instants = _instants(given, time_zone)
    if not instants:
        return text
    shown = {path: at_site(instant, time_zone) for path, instant in instants.items()}
    return orjson.dumps(_with(orjson.loads(text), shown)).decode()


def _instants(given: Mapping[str, Any], time_zone: str | None) -> dict[Path, datetime]:
    instants: dict[Path, datetime] = {}
    faults = []
    for path, local in local_times(given):
        try:
            instants[path] = _instant(local, time_zone)
        except ValueError as refusal:
            faults.append(Fault(".".join(map(str, path)), local.isoformat(), str(refusal)))
    if faults:
        raise Invalid(faults)
    return instants


def _instant(local: datetime, time_zone: str | None) -> datetime:
    if time_zone is None:
        raise ValueError(refusal_without_offset(local))
    return of_local_time(local, time_zone)


def _with(document: Any, values: Mapping[Path, Any]) -> Any:
    """The document, or a copy with other values at some paths."""
    if not values:
        return document
    made = deepcopy(document)
    for path, value in values.items():
        holder = made
        for step in path[:-1]:
            holder = holder[step]
        holder[path[-1]] = value
    return made
