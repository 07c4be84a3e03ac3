"""An item put into a component, as a unit's log shows it."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class PartReplaced:
    """An item put into a component: `on` its own day, `kind` the component's, `visit` the visit that recorded it.

    Where the day is not known exactly, `stated` is what was written, `on` the last day possible and `earliest` the
    first, None if nobody knows.
    """

    component: str
    kind: str
    on: date
    reason: str
    condition: str
    evidence: str
    by: str
    visit: str
    note: str | None = None
    stated: str | None = None
    earliest: date | None = None

    @property
    def exact(self) -> bool:
        """Whether its day is known."""
        return self.stated is None

    @property
    def first(self) -> date | None:
        """The first day possible."""
        return self.on if self.exact else self.earliest

    def surely_since(self, day: date) -> bool:
        """Whether it was made on that day or later, whatever its day was."""
        first = self.first
        return first is not None and first >= day
