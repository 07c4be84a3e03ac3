"""A pressure and its line read minutes apart: the unit may have been in another state, so no difference is taken."""

from collections.abc import Iterator

from service.domain.assessment.evidence import Evidence, Need, span
from service.domain.assessment.finding import Finding
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.refrigerant_of import REFRIGERANT
from service.domain.assessment.rule import Rule, note
from service.domain.maintenance.catalogue import LICENSED

TOGETHER = 600.0  # s; judged, no source
PAIRS = (
    ("suction_pressure", "suction_line_temperature", "superheat"),
    ("discharge_pressure", "liquid_line_temperature", "subcooling"),
)


def seconds_apart(e: Evidence, one: str, other: str) -> float:
    """How long two readings that count lie apart [s]; those without a time were read together."""
    first, second = (e.reading(each).at if e.has(each) else None for each in (one, other))
    return 0.0 if first is None or second is None else abs((first - second).total_seconds())


def _together(pressure: str, line: str) -> Need:
    phrase = f"the {pressure.replace('_', ' ')} and the {line.replace('_', ' ')} at one time"
    return Need(f"{line}.at", "visit", phrase, lambda e: seconds_apart(e, pressure, line) <= TOGETHER)


LOW_SIDE, HIGH_SIDE = (_together(pressure, line) for pressure, line, _ in PAIRS)


def _apart(e: Evidence) -> Iterator[Finding]:
    if operating_state(e).at_rest:
        return  # nothing is calculated there anyhow
    for pressure, line, figure in PAIRS:
        apart = seconds_apart(e, pressure, line)
        if apart > TOGETHER:
            names = f"{pressure.replace('_', ' ').capitalize()} and {line.replace('_', ' ')}"
            yield note(
                "readings_apart",
                f"{names} were read {span(apart)} apart: no {figure} is calculated from them.",
                advice="Read both within a few minutes, with the unit running steadily.",
                of=figure,
            )


RULES = (
    Rule(
        codes=("readings_apart",),
        needs=(REFRIGERANT,),
        judge=_apart,
        shows="whether pressures and lines were read together",
        source="Figures of steady running need readings of one state: common practice, no source",
        caution=LICENSED,
        weight=0.0,
    ),
)
