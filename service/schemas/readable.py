"""What can be read of a document that is refused, so that the refusal also says what cannot be true in the rest."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from marshmallow import Schema

from service.domain.errors import Fault
from service.schemas.reading import MISSING, Faults, TooMany, reader_of

Path = tuple[str, ...]
BY_THE_FRAME = ("at", "on")  # judged by the times of the whole
OF_SIBLINGS = "feeds"  # names other parts of its list
NAMED = ("crew", "calls")  # fit to the whole or do not


@dataclass(frozen=True, slots=True)
class Readable:
    """What could be read. `kept` are the former places in each list that became shorter; not `whole`: a field lacks."""

    data: dict[str, Any]
    kept: Mapping[Path, list[int]]
    whole: bool

    def faults(self, found: Iterable[Fault]) -> Iterator[Fault]:
        """Of the faults found in what could be read, those that do not come from what is missing, at their places."""
        for fault in found:
            path = tuple(fault.field.split("."))
            alone = len(path) > 1 and path[0] not in NAMED and path[-1] not in BY_THE_FRAME
            missed = path[-1] == OF_SIBLINGS and path[:-2] in self.kept
            if path not in self.kept and not missed and (self.whole or alone):
                yield replace(fault, field=".".join(self._former(path)))

    def _former(self, path: Path) -> Iterator[str]:
        for n, step in enumerate(path):
            places = self.kept.get(path[:n])
            yield str(places[int(step)]) if places is not None and step.isdigit() else step


def readable(schema: Schema, document: Any, refused: Iterable[Fault], frame: Mapping[str, Any]) -> Readable | None:
    """A document without the parts that were refused: whole parts of lists, and fields; None where that is no use.

    Instead of a field that is needed and missing it has that of `frame`.
    """
    paths = [tuple(fault.field.split(".")) for fault in refused]
    if not isinstance(document, dict) or ("body",) in paths:
        return None
    kept: dict[Path, list[int]] = {}
    left_out = {_part(path) for path in paths}
    faults = Faults()
    try:
        data = reader_of(schema).read(_without(document, left_out, (), (), kept), None, None, faults)
    except TooMany:
        return None
    if any("." in fault.field or fault.message != MISSING for fault in faults.kept):
        return None
    return Readable({**frame, **data}, kept, whole=all(len(path) > 1 for path in left_out))


def _part(path: Path) -> Path:
    """The part of a list to which a path leads, the innermost; else the field of the document."""
    return next((path[: n + 1] for n in range(len(path) - 1, 0, -1) if path[n].isdigit()), path[:1])


def _without(value: Any, left_out: set[Path], path: Path, new: Path, kept: dict[Path, list[int]]) -> Any:
    """The value without some parts; `kept` gets the former places in lists that became shorter, by their `new` path."""
    if isinstance(value, dict):
        names = [name for name in value if (*path, name) not in left_out]
        return {name: _without(value[name], left_out, (*path, name), (*new, name), kept) for name in names}
    if not isinstance(value, list):
        return value
    places = [n for n in range(len(value)) if (*path, str(n)) not in left_out]
    if len(places) < len(value):
        kept[new] = places
    return [_without(value[n], left_out, (*path, str(n)), (*new, str(k)), kept) for k, n in enumerate(places)]
