"""What was measured at a unit through the year, a row or point a visit."""

from dataclasses import dataclass
from datetime import date

from service.domain.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeAfter:
    """A temperature as found and as left at one visit; `tap` for beer, None for the bath."""

    visit: str
    on: date
    tap: str | None
    as_found: Quantity | None
    as_left: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GlycolPoint:
    """The glycol at one visit: strength by mass, freezing point, the coldest surface, and the margin between."""

    visit: str
    on: date
    strength: Quantity
    freezing_point: Quantity | None
    coldest: Quantity | None
    coldest_is: str | None
    margin: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GlycolYear:
    """The glycol through the year, with the least margin and the target strength.

    `not_converted` readings are in Brix and have no strength: the sample's temperature is missing, or it is no
    propylene glycol.
    """

    points: tuple[GlycolPoint, ...]
    least_margin: Quantity
    least_margin_source: str
    target: Quantity | None
    not_converted: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class CondenserPoint:
    """The condenser at one visit: as found (clean, light, heavy, blocked), its split and the limit of that."""

    visit: str
    on: date
    as_found: str | None
    split: Quantity | None
    clean_split: Quantity | None
    split_limit: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentPoint:
    """A current read on a component, its rating, and the share of it (fraction)."""

    visit: str
    on: date
    component: str
    when: str
    current: Quantity
    rated: Quantity | None
    share: Quantity | None
