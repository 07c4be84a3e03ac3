"""The lines of an import as they were read, and what it did with them."""

import reprlib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from service.domain.errors import DomainError, Fault

MOST_ERRORS = 1000  # are named; to import again after correcting them names the next
LONGEST_VALUE = 200
WHY_LEFT_OUT = {
    "audit_entry": "the audit trail here has entries of its own, and two trails cannot be merged",
    "answer": "another answer is kept here for the same key",
    "version": "there were records here before, and these keep their own versions",
    "last_id": "there were records here before, and their numbers go on",
    "token": "tokens are imported only by glycol-fleet import --with-tokens",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One line as read: its record kind and body, the body's text and fingerprint, or its faults."""

    number: int
    kind: str = ""
    data: Mapping[str, Any] = field(default_factory=dict)
    text: str = ""
    fingerprint: str = ""
    faults: tuple[Fault, ...] = ()
    more_faults: int = 0


@dataclass(frozen=True, slots=True)
class LineError:
    """What is wrong in one line."""

    line: int
    field: str
    value: object
    message: str


@dataclass(slots=True)
class Tally:
    """What an import did, counted by record kind."""

    lines: int = 0
    added: Counter[str] = field(default_factory=Counter)
    changed: Counter[str] = field(default_factory=Counter)
    unchanged: Counter[str] = field(default_factory=Counter)
    left_out: Counter[str] = field(default_factory=Counter)
    errors: list[LineError] = field(default_factory=list)
    more_errors: int = 0

    def refuse(self, line: int, faults: Iterable[Fault], more: int) -> None:
        """Name the faults of a line, or count them when many are named already."""
        self.more_errors += more
        for fault in faults:
            if len(self.errors) < MOST_ERRORS:
                self.errors.append(LineError(line, fault.field, _short(fault.value), fault.message))
            else:
                self.more_errors += 1


class NothingStored(DomainError):
    """Some lines are wrong, so none was stored."""

    def __init__(self, tally: Tally) -> None:
        self.tally = tally
        super().__init__(f"{len(tally.errors) + tally.more_errors} errors in {tally.lines} lines; nothing was stored.")


class Rehearsed(DomainError):
    """A dry run has ended; what it did is taken back."""

    def __init__(self, tally: Tally) -> None:
        self.tally = tally
        super().__init__("This was a dry run; nothing was stored.")


def _short(value: object) -> object:
    """The value given; its beginning where it is long, so that an error keeps no large document."""
    if isinstance(value, str):
        return value if len(value) <= LONGEST_VALUE else value[:LONGEST_VALUE] + "…"
    return value if isinstance(value, int | float | bool | None) else reprlib.repr(value)
