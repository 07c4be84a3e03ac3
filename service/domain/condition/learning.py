"""What the units of a fleet show together: how their figures drift, and how long until they are heavily fouled."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from service.domain.condition.comparable import comparable
from service.domain.condition.drifting import FIGURES, series_of
from service.domain.condition.figures import known_of
from service.domain.condition.learned import Learned
from service.domain.condition.parts import Experience
from service.domain.maintenance.adaptation import found_after, usual_fouling
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.fouling import Fouling, Found
from service.domain.maintenance.fouling import learned as learned_fouling
from service.domain.maintenance.past import grades_of
from service.domain.record.unit_log import UnitLog
from service.domain.statistics.drift import Drift
from service.domain.statistics.drift_learning import Series, learned

ADAPTING = tuple(task for task in CATALOGUE if task.adapts)
CLASSED = ("condenser_split_excess",)  # whose drift depends on the surroundings
LEAST_SERIES = 5  # with three readings, from which a class of surroundings has a drift of its own


def learned_from(logs: Iterable[UnitLog]) -> Learned:
    """What these units show; a figure or class of surroundings of which none shows anything is left out."""
    series: dict[str, list[Series]] = defaultdict(list)
    grades: dict[str, list[tuple[Found, ...]]] = defaultdict(list)
    experience = Experience()
    for log in logs:
        experience.add(log)
        for name, each in _series(log):
            series[name].append(each)
        for task in ADAPTING:
            found = found_after(task, grades_of(log, task), log.unit.installed_on, log.care.away)
            if found:
                grades[f"{task.code}/{log.site.surroundings or ''}"].append(found)
    fouling = {name: _fouling(name, found) for name, found in grades.items()}
    return Learned(_drifts(series), fouling, experience.rows())


def _series(log: UnitLog) -> Iterable[tuple[str, Series]]:
    """The series since the last correction, and those between the corrections before it."""
    known = known_of(log.unit, log.elevation)
    for each in series_of(log, comparable(log, list(log.readings())), known, former=True):
        yield each.figure.of, (each.days, each.values)
        if each.figure.of in CLASSED and log.site.surroundings:
            yield f"{each.figure.of}/{log.site.surroundings}", (each.days, each.values)


def _drifts(series: Mapping[str, list[Series]]) -> dict[str, Drift]:
    found: dict[str, Drift] = {}
    for figure in FIGURES:
        if series.get(figure.of):
            found[figure.of] = learned(series[figure.of], figure.usual)
        own = sorted(name for name in series if name.startswith(f"{figure.of}/"))
        for name in own:
            if sum(len(days) >= 3 for days, _ in series[name]) >= LEAST_SERIES:
                found[name] = learned(series[name], found[figure.of])
    return found


def _fouling(name: str, units: list[tuple[Found, ...]]) -> Fouling:
    code, surroundings = name.split("/")
    task = next(each for each in ADAPTING if each.code == code)
    return learned_fouling(units, usual_fouling(task, surroundings or None))
