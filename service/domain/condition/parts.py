"""How often parts were replaced at visits of the fleet: by kind, model and age."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from service.domain.record.failed import is_failure
from service.domain.record.fleet import Component
from service.domain.record.unit_log import UnitLog

AGES = ((1.0, "under 1 year"), (5.0, "1 to 5 years"), (float("inf"), "over 5 years"))
UNKNOWN_AGE = "age not known"
Key = tuple[str, str, str]  # kind, model, age; the model is empty where it is not known


@dataclass(frozen=True, slots=True)
class Seen:
    """How often components of a kind, model and age were there at a visit, and how often one was replaced."""

    visits: int = 0
    replaced: int = 0

    def __add__(self, other: "Seen") -> "Seen":
        return Seen(self.visits + other.visits, self.replaced + other.replaced)

    def __sub__(self, other: "Seen") -> "Seen":
        return Seen(self.visits - other.visits, self.replaced - other.replaced)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsSeen:
    """The same as it is stored."""

    kind: str
    model: str
    age: str
    visits: int
    replaced: int


@dataclass(slots=True)
class Experience:
    """What was seen of each kind, model and age."""

    seen: dict[Key, Seen] = field(default_factory=dict)

    @classmethod
    def of(cls, rows: Iterable[PartsSeen]) -> "Experience":
        """What was stored."""
        return cls({(row.kind, row.model, row.age): Seen(row.visits, row.replaced) for row in rows})

    def rows(self) -> tuple[PartsSeen, ...]:
        """As it is stored."""
        return tuple(
            PartsSeen(kind=kind, model=model, age=age, visits=each.visits, replaced=each.replaced)
            for (kind, model, age), each in sorted(self.seen.items())
        )

    def add(self, log: UnitLog) -> None:
        """Count the visits and replacements of one unit."""
        kinds = log.unit.kinds
        for visit in log.visits:
            put_in = {part.component for part in visit.replacements if is_failure(part) and part.by == "us"}
            for part in log.unit.components:
                there = part.removed_on is None or part.removed_on >= visit.day
                if there and (part.installed_on is None or part.installed_on <= visit.day or part.code in put_in):
                    key = kinds[part.code], model_of(log, part, visit.day), band(years(log, part, visit.day))
                    self.seen[key] = self.seen.get(key, Seen()) + Seen(1, part.code in put_in)

    def like(self, kind: str, age: str | None = None) -> Seen:
        """All models of a kind, of one age or of all."""
        own = (seen for (each, _, old), seen in self.seen.items() if each == kind and age in (None, old))
        return sum(own, Seen())


def band(age: float | None) -> str:
    """The age of a component as it is counted.

    >>> band(0.5), band(7.0), band(None)
    ('under 1 year', 'over 5 years', 'age not known')
    """
    return UNKNOWN_AGE if age is None else next(name for most, name in AGES if age < most)


def years(log: UnitLog, part: Component, day: date) -> float | None:
    """The age of a component before a day: since its last replacement, else since it was installed."""
    known = [each.on for each in log.replaced() if each.component == part.code and each.on < day]
    since = max(known, default=part.installed_on or log.unit.installed_on)
    return None if since is None or since > day else (day - since).days / 365.25


def model_of(log: UnitLog, part: Component, day: date) -> str:
    """The model that was in a component when a day began: what was put in before, else what came out later."""
    all_of = [(visit.day, each) for visit in log.visits for each in visit.replacements if each.component == part.code]
    before = [each.item.model if each.item else None for on, each in all_of if on < day]
    after = [each.removed_item.model if each.removed_item else None for on, each in all_of if on >= day]
    found = before[-1] if before else None
    if found is None and after:
        found = after[0]
    elif found is None and not after:
        found = part.model
    return name_of_model(found)


def name_of_model(text: str | None) -> str:
    """The name of a model as it is compared.

    >>> name_of_model(" PX  200 "), name_of_model(None)
    ('px 200', '')
    """
    return " ".join((text or "").casefold().split())
