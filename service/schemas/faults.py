"""What a schema refused, as faults with a path and the value given."""

from collections.abc import Iterator, Mapping
from typing import Any

from marshmallow import ValidationError

from service.domain.errors import Fault

OF_THE_WHOLE = "_schema"


def faults_of(error: ValidationError) -> list[Fault]:
    """Every message of the error, flat: field "readings.0.value", the value given, the message."""
    return list(_faults((), error.messages, error.data))


def _faults(path: tuple[str, ...], messages: Any, given: Any) -> Iterator[Fault]:
    if isinstance(messages, Mapping):
        for name, inner in messages.items():
            if name == OF_THE_WHOLE:
                yield from _faults(path, inner, given)
            else:
                yield from _faults((*path, str(name)), inner, _part(given, name))
    else:
        for message in messages if isinstance(messages, list) else [messages]:
            yield Fault(".".join(path) or "body", given, str(message))


def _part(given: Any, name: Any) -> Any:
    if isinstance(given, list) and isinstance(name, int) and name < len(given):
        return given[name]
    return given.get(name) if isinstance(given, Mapping) else None
