"""What a day's visits are likely to need: glycol concentrate, coil cleaner, and parts by kind and age."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.condition.figures import known_of, strength_of, within
from service.domain.condition.latest import newest
from service.domain.condition.parts import Experience, Key, Seen, band, model_of, years
from service.domain.physics.glycol.mix import correction
from service.domain.record.unit_log import UnitLog
from service.domain.vans.demand import (
    STEP,
    chance_short,
    convolved,
    enough,
    needed_of,
    strengths_around,
    volumes,
)

CONCENTRATE, CLEANER = "glycol_concentrate", "coil_cleaner"
STRENGTHENED = ("glycol_strength_check", "bath_level_check")
CLEANER_EACH = 0.5e-3  # [m3] for a deep cleaning; common practice, no source
FULL = 1.0  # the strength of concentrate [kg/kg]
ROOM = 293.15  # [K], at which concentrate is poured
WORTH_BRINGING = 0.05  # a part is listed from this chance of being needed on
BRING = 0.05  # what is recommended leaves no larger chance of running short


@dataclass(frozen=True, slots=True)
class Going:
    """A unit that is visited on the day, the tasks due there, and the kinds of parts that open root causes ask for."""

    log: UnitLog
    tasks: frozenset[str]
    root_causes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Need:
    """What is likely to be needed of an item: pieces, or steps of volume; and why."""

    item: str
    dimension: str
    chances: tuple[float, ...]
    why: tuple[str, ...]
    step: float = 1.0
    least: int = 0

    @property
    def expected(self) -> float:
        """The mean amount."""
        return self.step * sum(n * p for n, p in enumerate(self.chances))

    @property
    def bring(self) -> float:
        """The amount with which the van rarely runs short."""
        return self.step * max(enough(self.chances, BRING), self.least)

    def short(self, stock: float) -> float:
        """The chance that the stock does not suffice."""
        return chance_short(self.chances, int(stock / self.step + 1e-6))


def needs_of(going: Sequence[Going], day: date, experience: Experience) -> list[Need]:
    """All that the day is likely to need."""
    fluids = [need for need in (_concentrate(going), _cleaner(going)) if need is not None]
    return [*fluids, *_parts(going, day, experience)]


def _parts(going: Sequence[Going], day: date, experience: Experience) -> Iterable[Need]:
    counts: dict[str, dict[Key, int]] = defaultdict(lambda: defaultdict(int))
    for each in going:
        for part in each.log.unit.components:
            if part.removed_on is None or part.removed_on > day:
                key = part.kind, model_of(each.log, part, day), band(years(each.log, part, day))
                counts[part.kind][key] += 1
    asked: dict[str, list[str]] = defaultdict(list)
    for each in going:
        for kind in each.root_causes:
            asked[kind].append(each.log.unit.tag)
    for kind, visited in sorted(counts.items()):
        groups = [(experience.seen.get(key, Seen()), experience.like(kind, key[2]), n) for key, n in visited.items()]
        chances = needed_of(groups, experience.like(kind))
        why = [*_seen(experience, visited), *(f"An open root cause at {tag} asks for it." for tag in asked[kind])]
        if asked[kind] or chance_short(chances, 0) >= WORTH_BRINGING:
            yield Need(kind, "count", tuple(chances), tuple(why), least=1 if asked[kind] else 0)


def _seen(experience: Experience, visited: Mapping[Key, int]) -> Iterable[str]:
    """What was seen of a kind, and of each model and age that is visited where models are known."""
    whole = experience.like(next(iter(visited))[0])
    yield _replaced(whole, sum(visited.values()))
    for key, count in sorted(visited.items()):
        own = experience.seen.get(key, Seen())
        if key[1]:
            yield f"Model {key[1]}, {key[2]}: {_replaced(own, count)}"


def _replaced(seen: Seen, coming: int) -> str:
    visits = "1 visit" if seen.visits == 1 else f"{seen.visits} visits"
    return f"{seen.replaced} replaced in {visits}, each such part counted by itself; {coming} at the day's units."


def _cleaner(going: Sequence[Going]) -> Need | None:
    count = sum("condenser_deep_clean" in each.tasks for each in going)
    if not count:
        return None
    chances = volumes([count * CLEANER_EACH])
    why = "1 deep cleaning, half a litre." if count == 1 else f"{count} deep cleanings, half a litre each."
    return Need(CLEANER, "volume", tuple(chances), (why,), STEP)


def _concentrate(going: Sequence[Going]) -> Need | None:
    chances, why = [1.0], []
    for each in going:
        amounts = concentrate_at(each)
        if amounts and max(amounts) > 0:
            chances = convolved(chances, volumes(amounts))
            why.append(f"{each.log.unit.tag}: about {1000 * sum(amounts) / len(amounts):.1f} L.")
    return Need(CONCENTRATE, "volume", tuple(chances), tuple(why), STEP) if why else None


def concentrate_at(going: Going) -> list[float]:
    """Amounts of concentrate of equal chance [m3] at a unit; none where strength, target or volume are not known."""
    unit = going.log.unit
    known, bath = known_of(unit), unit.bath
    if bath is None or bath.volume is None or known.target is None:
        return []
    if "glycol_change" in going.tasks:
        return [_poured(bath.volume.value, 0.0, known.target)]
    latest = newest(list(going.log.readings()), "glycol_strength")
    strength = None if latest is None else strength_of(latest.reading, known.glycol)
    if strength is None or not set(STRENGTHENED) & going.tasks:
        return []
    return [_poured(bath.volume.value, max(each, 0.0), known.target) for each in strengths_around(strength)]


def _poured(volume: float, present: float, target: float) -> float:
    """Concentrate to be poured into a full bath [m3]; nothing where it is strong enough."""
    if present >= target:
        return 0.0
    found = within(_pour_in, volume, present, target)
    return found or 0.0


def _pour_in(volume: float, present: float, target: float) -> float:
    made = correction(volume=volume, capacity=volume, temperature=ROOM, present=present, target=target, poured=FULL)
    return made.pour_in


def by_technician(stops: Iterable[tuple[str | None, str]]) -> Mapping[str | None, list[str]]:
    """The units of each technician, each once."""
    found: dict[str | None, list[str]] = defaultdict(list)
    for technician, unit in stops:
        if unit and unit not in found[technician]:
            found[technician].append(unit)
    return found
