"""What the letter to a customer says line by line."""

from dataclasses import dataclass
from datetime import date

from service.domain.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomerRootCause:
    """A root cause for the customer: what failed, what we think and do; probabilities stand in the fleet year.

    `ours` says where the work that was missing was ours.
    """

    unit: str
    kind: str
    first_seen_on: date
    state: str
    failed: str
    think: str
    do: str
    ours: str | None
    decided_on: date | None
    resolved_on: date | None
    verdict: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Action:
    """Something to do at some units: `who` is you (the customer) or we. `by` is the day by which it is done at all
    of them: the next one in the plan on which something is due there; without one, as of all that is overdue or
    dangerous, ours is due at once.

    `basis` is danger (to people or food), root_cause, overdue, limit (measured) or words (of a technician); `why` has a
    sentence for each reason, of which `first` and `last` are the days: due since, or advised on.
    """

    units: tuple[str, ...]
    who: str
    what: str
    why: tuple[str, ...]
    by: date | None
    basis: str
    first: date | None = None
    last: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class YearBefore:
    """The same figures of the year before, over the units that counted then; `since` is the first day in our care."""

    year: int
    since: date
    units: int
    visits: int
    breakdowns: int
    estimated: Quantity
    pm_on_time: int
    pm_judged: int
    failed: int
