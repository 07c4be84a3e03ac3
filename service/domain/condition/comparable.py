"""Which readings of a unit may be compared over time: those of comparable operating states."""

from collections.abc import Sequence

from service.domain.assessment.evidence import gather, moments
from service.domain.assessment.operating_state import OperatingState, operating_state
from service.domain.record.unit_log import ReadingTaken, UnitLog

RUNNING_ONLY = (
    "suction_pressure",
    "discharge_pressure",
    "suction_line_temperature",
    "liquid_line_temperature",
    "condenser_air_out_temperature",
)
STANDS_BY_ITSELF = ("compressor", "condenser_fan")  # at rest these draw nothing, and that is no drift
HARDER = ("starting", "pulling_down")  # a warm bath loads the compressor more
NO_DRIFT = ("off", "starting")  # a bath without power, or just started, is no bath on its set point


def comparable(log: UnitLog, readings: Sequence[ReadingTaken]) -> list[ReadingTaken]:
    """The readings without those that a state explains: a circuit at rest or pulling down, a bath without power."""
    kinds = log.unit.kinds
    states: dict[tuple[str, str], OperatingState] = {}
    elevation = log.elevation
    for visit in log.visits:
        for moment in moments(visit):
            states[visit.id, moment] = operating_state(gather(visit, log.unit, "si", moment, elevation))
    return [each for each in readings if _compares(each, states.get((each.visit, each.reading.when)), kinds)]


def _compares(taken: ReadingTaken, state: OperatingState | None, kinds: dict[str, str]) -> bool:
    if state is None:
        return True
    quantity = taken.reading.quantity
    if quantity in RUNNING_ONLY:
        return state.settled and state.state != "pulling_down"
    if quantity == "current":
        return _current_compares(kinds.get(taken.reading.component or ""), state)
    if quantity == "bath_temperature":
        return state.state not in NO_DRIFT
    return True


def _current_compares(kind: str | None, state: OperatingState) -> bool:
    if state.state == "off" or (kind == "compressor" and state.state in HARDER):
        return False
    return kind not in STANDS_BY_ITSELF or not state.at_rest
