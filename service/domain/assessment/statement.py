"""What an assessment is made of: statements, and the readings that would say more."""

from collections.abc import Mapping
from dataclasses import dataclass

from service.domain.quantities import Quantity

SEVERITIES = ("stop", "act", "note", "fine")  # as they are told: what cannot wait comes first

Figure = Quantity | float | str


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One thing the visit's numbers say: the figures used, a plain sentence, what to do, with what care, and by what.

    `stop` is for safety only. `act` and `stop` always carry advice and caution.
    """

    code: str
    severity: str
    figures: Mapping[str, Figure]
    sentence: str
    advice: str | None
    caution: str | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WouldSayMore:
    """A reading to take, or a fact to put on the unit's record, and what it would tell."""

    name: str
    of: str  # "visit" or "unit"
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """All that a visit's numbers say, the gravest first, and the one or two readings that would say most next."""

    statements: tuple[Statement, ...]
    would_say_more: tuple[WouldSayMore, ...] = ()
