"""The errors of a request, with what the caller needs to correct it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

MOST_FAULTS = 50


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: the field's path ("readings.0.value"), the value given, and what is expected."""

    field: str
    value: object
    message: str


class DomainError(Exception):
    """Base of all errors that the product raises on purpose; one can be pickled whatever it is made from."""

    def __reduce__(self) -> tuple[Any, ...]:
        return _restored, (type(self), self.args, self.__dict__)


def _restored(kind: type[DomainError], arguments: tuple[object, ...], attributes: Mapping[str, object]) -> DomainError:
    error = kind.__new__(kind, *arguments)
    error.__dict__.update(attributes)
    return error


class Invalid(DomainError):
    """The request can be read but must not be stored. The first 50 faults are named, `more` are only counted.

    `counted_all` is false when checking stopped because there were too many.

    >>> Invalid([Fault("tag", 7, "not a code")] * 60).more
    10
    """

    def __init__(self, faults: Iterable[Fault], *, more: int = 0, counted_all: bool = True) -> None:
        self.counted_all = counted_all
        remaining = iter(faults)
        self.faults = tuple(islice(remaining, MOST_FAULTS))
        self.more = more + sum(1 for _ in remaining)
        found = f"{'' if counted_all else 'at least '}{len(self.faults) + self.more}"
        first = f"{len(self.faults)} of {found} faults are named; " if self.more else ""
        super().__init__(first + "; ".join(f"{fault.field}: {fault.message}" for fault in self.faults))

    def with_more(self, first: Sequence[Fault]) -> "Invalid":
        """The same with further faults before the others."""
        return Invalid([*first, *self.faults], more=self.more, counted_all=self.counted_all)


class NotFound(DomainError):
    """Nothing is recorded under this key."""

    def __init__(self, resource: str, key: str) -> None:
        self.resource, self.key = resource, key
        super().__init__(f"There is no {resource} {key!r}.")


class Conflict(DomainError):
    """The request contradicts what is already recorded."""


class KeyReused(DomainError):
    """A visit id or Idempotency-Key came back with another body."""


class Stale(DomainError):
    """The record has changed since the caller read it."""

    def __init__(self, resource: str, key: str) -> None:
        super().__init__(f"The {resource} {key!r} has changed since it was read; read it again and repeat the change.")


class Unavailable(DomainError):
    """The database cannot be read or written at present; trying again later may work."""
