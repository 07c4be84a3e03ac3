"""What an assessment consists of: findings, and the inputs that would help most next."""

from collections.abc import Mapping
from dataclasses import dataclass

from service.domain.quantities import Quantity

SEVERITIES = ("stop", "act", "note", "fine")  # most urgent first

Figure = Quantity | float | str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One statement about a visit's numbers: the figures used, a sentence, advice, a caution and the source.

    `stop` is for safety only. `act` and `stop` always carry advice and, once their rule has run, a caution.
    """

    code: str
    severity: str
    figures: Mapping[str, Figure]
    sentence: str
    advice: str | None
    caution: str | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WouldHelp:
    """A reading to take, or a fact to add to the unit's record, and what it would show."""

    name: str
    of: str  # "visit" or "unit"
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """All findings of a visit, most urgent first, and the one or two inputs that would help most next."""

    findings: tuple[Finding, ...]
    would_help: tuple[WouldHelp, ...] = ()
