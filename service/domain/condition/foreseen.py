"""What a unit's due dates need of its condition: forecasts of the figures that its tasks correct."""

from collections.abc import Iterable, Iterator, Mapping

from service.domain.condition.forecasts import Forecast, forecasts_of
from service.domain.condition.learned import Learned
from service.domain.instants import local_day
from service.domain.maintenance.foreseen import Foreseen, Reached
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import CONDITION, Task
from service.domain.record.unit_log import UnitLog


def foreseen_of(log: UnitLog, tasks: Mapping[str, Task], learned: Learned) -> Foreseen:
    """The same by the tasks as they apply to all units."""
    own = log.settings
    return foreseen_by(
        log,
        (changed_task(task, Setting(code, own[code])) if code in own else task for code, task in tasks.items()),
        learned,
    )


def foreseen_by(log: UnitLog, tasks: Iterable[Task], learned: Learned) -> Foreseen:
    """What the fleet shows of fouling, and the forecasts of the figures by which these tasks are due."""
    wanted = {task.figure for task in tasks if task.rule == CONDITION and task.applies}
    if not wanted:
        return Foreseen(learned.fouling)
    return Foreseen(learned.fouling, dict(_reached(log, wanted, learned)))


def _reached(log: UnitLog, wanted: Iterable[str | None], learned: Learned) -> Iterator[tuple[str, Reached]]:
    for each in forecasts_of(log, learned, wanted):
        yield each.of, reached_by(each, log.time_zone)


def reached_by(forecast: Forecast, zone: str) -> Reached:
    """When a forecast says that the limit is reached."""
    return Reached(forecast.low, local_day(forecast.at, zone), forecast.state == "crossed", forecast.sentence)
