"""Which replaced items had failed: one definition for root causes, years, warranty and vans."""

from typing import Protocol

FAILED = "failed"
BROKEN = ("burnt", "seized", "leaking", "stuck", "broken", "open_circuit")  # conditions of a part that failed


class Reasoned(Protocol):
    """What a replacement says of the item that was removed."""

    @property
    def reason(self) -> str:
        """Why it was made."""

    @property
    def condition(self) -> str:
        """How the item was found."""


def is_failure(event: Reasoned) -> bool:
    """Whether the item failed: by the reason given, or by how it was found, whatever the reason."""
    return event.reason == FAILED or event.condition in BROKEN


def may_have_failed(event: Reasoned) -> bool:
    """Whether the item failed or may have: nobody knows why it was replaced, and it was not found good."""
    return is_failure(event) or (event.reason == "unknown" and event.condition != "good")


def counted_as(event: Reasoned) -> str:
    """What a replacement counts as: failed where the item had failed, else the reason given."""
    return FAILED if is_failure(event) else event.reason
