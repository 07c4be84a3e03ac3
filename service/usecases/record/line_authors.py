"""By whom and when a line of a file says that something was done."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid
from service.domain.instants import to_text
from service.domain.record.checks import AHEAD


def author_of(actor: Actor, data: Mapping[str, Any]) -> Actor:
    """The author and time of a change in the file, if it has any; Invalid when the time is in the future."""
    if "at" not in data:
        return actor
    check_not_ahead(actor, "at", data)
    return replace(actor, name=data["by"], at=data["at"], token_id=None, technician=None)


def check_not_ahead(actor: Actor, name: str, data: Mapping[str, Any]) -> None:
    """Raise Invalid when the time of this field lies in the future."""
    if name in data and data[name] > actor.at + AHEAD:
        raise Invalid([Fault(name, to_text(data[name]), f"is in the future; it is now {to_text(actor.at)}")])
