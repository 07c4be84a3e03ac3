"""What failures have in common over many units: a model, a maker, who put the part in, the months, a site's voltage.

New parts of one sort are compared with all other new parts of the kind over the same age, so that the fleet is its own
control; those of a model also with what is usual of the kind, for a small company may have no others. Months are
compared with the rest of the same units' time. A unit counts once for each, for one bad unit is no bad batch.
All comparisons of one level are corrected together (Benjamini and Hochberg 1995).
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from service.domain.plain import from_plain as read_plain
from service.domain.plain import to_plain
from service.domain.root_causes.failures import OTHER_RATE, RATES, YEAR
from service.domain.root_causes.fitted import Fitted, UnitParts
from service.domain.root_causes.storms import failed_once
from service.domain.statistics.discoveries import adjusted
from service.domain.statistics.rates import first_period_chance

LEVELS = ("model", "maker", "technician", "season", "site")
LEAST_UNITS = 3  # a sort of part or a person is compared from so many units on
FIRST_YEAR, FIRST_WEEKS = 365, 60  # days: a batch shows within a year, a mistake in fitting within weeks; judged
SEASON = 3  # months
EARLY = 2.0  # times as often as later parts fail in their first year, where a model is compared with the usual; judged
LEAST_EARLY = 2  # items of such a sort that failed early in one unit, from which that counts for the unit
MOST_MADE = 0.98  # the fleet alone makes no unit's cause surer than that
LEAST_SEASONS = 2  # years in which the same months stand out
OFTEN = 1.5  # as many times as expected, below which a season is not reported: judged
WATCH, PROBABLE, STRONG = 0.10, 0.03, 0.005  # of the corrected chance: chosen by simulation
CAUSES = {"model": "bad_parts", "maker": "bad_parts", "technician": "after_repair", "season": "season"}


@dataclass(frozen=True, slots=True)
class FleetCause:
    """What failures at several units have in common.

    `level` says what it is, `key` which one; of a season it is its first month. `failed` are items or, of a season or a
    site, failures; of how many, and how many were to be expected. `units` are those that failed.
    `places` are unit and kind of each item that failed early, with "/" between them, `made` how probable it is that one
    of these would not have failed without it. `probability_of_chance` is corrected for all of this level compared
    that night, except of a site.
    """

    level: str
    key: str
    component_kinds: tuple[str, ...]
    cause: str
    tier: str
    probability_of_chance: float
    units: tuple[str, ...]
    failed: int
    compared: int
    expected: float
    first: date
    last: date
    places: tuple[str, ...] = ()
    made: float = 0.0


@dataclass(frozen=True, slots=True)
class _Compared:
    """One comparison before its correction."""

    cause: FleetCause
    chance: float


def searched(units: Iterable[UnitParts], sites: Mapping[str, str] | None = None) -> tuple[FleetCause, ...]:
    """What stands out over these units, the least likely by chance first; `sites` are their sites by unit.

    What fails at one site within few days is one event, as of a storm: it counts once for a season.
    """
    known, at = list(units), sites or {}
    items = [item for each in known for item in each.fitted]
    models = _standing(_sorts("model", items, FIRST_YEAR, lambda item: [_model(item)], by_kind=True))
    bad = {each.key for each in models}
    rest = [item for item in items if _model(item) not in bad]  # one bad model is no bad maker, and no bad technician
    found = [
        *models,
        *_standing(_sorts("maker", rest, FIRST_YEAR, lambda item: [item.maker], by_kind=True)),
        *_standing(_sorts("technician", rest, FIRST_WEEKS, lambda item: list(item.technicians), by_kind=False)),
        *_standing(_seasons(failed_once(known, at))),
    ]
    found.sort(key=lambda each: each.probability_of_chance)
    return tuple(each for place, each in enumerate(found) if not _same_season(each, found[:place]))


def _same_season(found: FleetCause, before: Sequence[FleetCause]) -> bool:
    """Whether other months of the same kind stand out more."""
    return found.level == "season" and any(
        each.level == "season" and each.component_kinds == found.component_kinds for each in before
    )


def suspicions(found: Iterable[FleetCause]) -> dict[tuple[str, str], float]:
    """By unit and kind of which several items failed early: how probable it is that what the fleet shows made one.

    One early failure is never enough.
    """
    by_place: dict[tuple[str, str], float] = {}
    for each in found:
        for place, count in Counter(each.places).items():
            if count >= LEAST_EARLY:
                unit, _, kind = place.rpartition("/")
                made = 1.0 - (1.0 - each.made * (1.0 - each.probability_of_chance)) ** count
                by_place[unit, kind] = max(by_place.get((unit, kind), 0.0), min(made, MOST_MADE))
    return by_place


def suspected(found: Iterable[FleetCause], unit: str) -> dict[str, float]:
    """Those of one unit by kind."""
    return {kind: made for (tag, kind), made in suspicions(found).items() if tag == unit}


def shown_at(found: Iterable[FleetCause], unit: str, kind: str) -> str | None:
    """Which sorts of new parts that fail early over the fleet did so here; people are not named."""
    here = [each for each in found if Counter(each.places)[f"{unit}/{kind}"] >= LEAST_EARLY]
    names = ["one technician's work" if each.level == "technician" else f"{each.level} {each.key}" for each in here]
    return ", ".join(dict.fromkeys(names)) or None


def tier_of(chance: float) -> str | None:
    """The tier by the corrected chance."""
    if chance >= WATCH:
        return None
    return "strong" if chance < STRONG else "probable" if chance < PROBABLE else "watch"


def _standing(compared: Sequence[_Compared]) -> list[FleetCause]:
    """Those that stand out from chance, corrected for all that were compared of this level."""
    if not compared:
        return []
    chances = adjusted([each.chance for each in compared])
    return [
        replace(each.cause, tier=tier, probability_of_chance=chance)
        for each, chance in zip(compared, chances, strict=True)
        if (tier := tier_of(chance))
    ]


def _model(item: Fitted) -> str | None:
    """The model under its maker's name; None where it is not known."""
    return " ".join(filter(None, [item.maker, item.model])) if item.model else None


def _sorts(
    level: str,
    items: Sequence[Fitted],
    days: int,
    keys: Callable[[Fitted], list[str | None]],
    *,
    by_kind: bool,
) -> list[_Compared]:
    """New items of each sort against all others of the kind, or of all kinds, over their first days."""
    groups: dict[tuple[str, str], list[Fitted]] = defaultdict(list)
    whole: dict[str, list[Fitted]] = defaultdict(list)
    for item in items:
        family = item.kind if by_kind else ""
        whole[family].append(item)
        for key in filter(None, keys(item)):
            groups[family, key].append(item)
    each = (
        _against(
            level, key, own, [item for item in whole[family] if key not in keys(item)], days, _usual(level, family)
        )
        for (family, key), own in groups.items()
    )
    return [one for one in each if one]


def _usual(level: str, kind: str) -> tuple[int, float]:
    """What is known of new parts of a kind before anything is seen: so many failures in so many years."""
    return (1, 1.0 / (EARLY * RATES.get(kind, OTHER_RATE))) if level == "model" else (0, 0.0)


def _against(
    level: str, key: str, own: list[Fitted], others: list[Fitted], days: int, usual: tuple[int, float]
) -> _Compared | None:
    """Exact comparison of two counts given their sum (Przyborowski and Wilenski 1940), the usual among the others."""
    if len({item.unit for item in own}) < LEAST_UNITS or not (others or usual[0]):
        return None
    failed, rest = _early(own, days), _early(others, days)
    years, rest_years = _years(own, days), _years(others, days) + usual[1]
    units, expected = sorted({item.unit for item in failed}), (len(rest) + usual[0]) / rest_years * years
    chance = 1.0
    if len(units) >= LEAST_UNITS:
        together = len(units) + len({item.unit for item in rest}) + usual[0]
        chance = first_period_chance(len(units), together, share=years / (years + rest_years))
    ends = [item.until for item in failed] or [own[0].on]
    return _Compared(
        FleetCause(
            level=level,
            key=key,
            component_kinds=tuple(sorted({item.kind for item in failed})),
            cause=CAUSES[level],
            tier="",
            probability_of_chance=1.0,
            units=tuple(units),
            failed=len(failed),
            compared=len(own),
            expected=expected,
            first=min(ends),
            last=max(ends),
            places=tuple(sorted(f"{item.unit}/{item.kind}" for item in failed)),
            made=max(0.0, 1.0 - expected / len(failed)) if failed else 0.0,
        ),
        chance,
    )


def _early(items: Iterable[Fitted], days: int) -> list[Fitted]:
    """Those that failed within their first days, whatever the day was."""
    return [item for item in items if item.failed and (item.until - item.on).days <= days]


def _years(items: Iterable[Fitted], days: int) -> float:
    return sum(_days(item, days) for item in items) / YEAR


def _days(item: Fitted, days: int) -> float:
    """How long an item was watched within its first days; where its end is not known exactly, the mean."""
    most, least = ((end - item.on).days for end in (item.until, item.surely_until or item.until))
    return (min(days, most) + min(days, least)) / 2


def _seasons(units: Sequence[UnitParts]) -> list[_Compared]:
    """The months of each kind's failures against the time that the same units were watched in those months."""
    kinds = sorted({kind for each in units for kind, _ in each.failed})
    return [one for kind in kinds for first in range(12) if (one := _season(kind, first, units))]


def _season(kind: str, first: int, units: Sequence[UnitParts]) -> _Compared | None:
    """Failures of a kind in three months against those in the others, one a unit and three months."""
    inside: list[tuple[str, date]] = []
    expected, total = 0.0, 0
    for each in units:
        quarters = {_quarter(day, first): day for own, day in each.failed if own == kind}
        if quarters:
            total += len(quarters)
            expected += len(quarters) * _share(each.start, each.end, first)
            inside += [(each.unit, day) for quarter, day in quarters.items() if quarter % (12 // SEASON) == 0]
    tags = sorted({unit for unit, _ in inside})
    if total < 2 * LEAST_UNITS:
        return None
    years = {day.year for _, day in inside}
    stands_out = len(years) >= LEAST_SEASONS and len(tags) >= LEAST_UNITS and len(inside) > OFTEN * expected
    chance = first_period_chance(len(inside), total, share=expected / total) if stands_out else 1.0
    dates = [day for _, day in inside] or [units[0].start]
    found = FleetCause(
        "season", f"{first + 1:02d}", (kind,), "season", "", 1.0, tuple(tags), len(inside), total, expected,
        min(dates), max(dates),
    )  # fmt: skip
    return _Compared(found, chance)


def _quarter(day: date, first: int) -> int:
    """The number of the three months since year 0 if each year began with a month; those beginning so divide by 4."""
    return (12 * day.year + day.month - 1 - first) // SEASON


def _share(start: date, end: date, first: int) -> float:
    """The share of the time from start to end that lies in three months."""
    shares = _shares_of_months(start, end)
    return sum(shares[(first + n) % 12] for n in range(SEASON))


@lru_cache(maxsize=100_000)
def _shares_of_months(start: date, end: date) -> tuple[float, ...]:
    """The share of the time in each month of the year, counted by weeks."""
    counts = Counter((start + timedelta(days=n)).month for n in range(0, (end - start).days + 1, 7))
    return tuple(counts[month] / counts.total() for month in range(1, 13))


def plain(found: Iterable[FleetCause]) -> list[dict[str, Any]]:
    """As JSON keeps them."""
    return [to_plain(each) for each in found]


def from_plain(kept: Mapping[str, Any]) -> tuple[FleetCause, ...]:
    """As `plain` gave them; none where nothing was searched yet."""
    return tuple(read_plain(FleetCause, each) for each in kept.get("fleet", ()))
