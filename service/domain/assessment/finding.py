"""What an assessment consists of: findings, and the inputs that would help most next."""

from collections.abc import Mapping
from dataclasses import dataclass

from service.domain.assessment.figure import Figure
from service.domain.assessment.operating_state import OperatingState

SEVERITIES = ("stop", "act", "note", "fine")  # most urgent first


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One statement about a visit's numbers: the figures used, a sentence, advice, a caution and the source.

    `stop` is for safety only. `act` and `stop` always carry advice and, once their rule has run, a caution. `moment` is
    that of its readings, None where it is of the whole visit; `state` is the operating state at that moment.
    """

    code: str
    severity: str
    figures: Mapping[str, Figure]
    sentence: str
    advice: str | None
    caution: str | None = None
    source: str = ""
    moment: str | None = None
    state: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WouldHelp:
    """A reading to take, or a fact to add to the unit's record, and what it would show."""

    name: str
    of: str  # "visit" or "unit"
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """What to do first in at most three sentences, all findings, most urgent first, and what would help most next.

    `operating_state` is that of the last moment at which readings were taken, None for a voided visit.
    """

    findings: tuple[Finding, ...]
    first: tuple[str, ...] = ()
    would_help: tuple[WouldHelp, ...] = ()
    operating_state: OperatingState | None = None
