"""Gas that does not condense, by the pressures at rest."""

from collections.abc import Iterator

from service.domain.assessment.evidence import Evidence, a_reading
from service.domain.assessment.figure import Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.refrigerant_of import (
    DISCHARGE,
    REFRIGERANT,
    SUCTION,
    evaporating,
    evaporating_uncertainty,
)
from service.domain.assessment.refrigeration import CARE
from service.domain.assessment.rule import Rule, note
from service.domain.assessment.uncertainty import THERMOMETER, surely_over, together

ALIKE = 20e3  # Pa, 3 psi: both sides have equalised, as far as two gauges can show; judged
OVER_BATH = 2.0  # K between the glycol and the refrigerant in a bath that stands still; judged
UNKNOWN_HEIGHT = 2.8  # K: so much too warm seems R-134a at 15 °F and 7000 ft if sea level is assumed (CoolProp 8)


def _rests_too_high(e: Evidence) -> Iterator[Finding]:
    """Equal pressures over that of the bath, the coldest part: a liquid's vapour would condense there."""
    apart = abs(e.value("discharge_pressure") - e.value("suction_pressure"))
    if not operating_state(e).at_rest or apart > ALIKE:
        return
    over = evaporating(e) - e.value("bath_temperature")
    spread = together(evaporating_uncertainty(e), THERMOMETER)
    margin = OVER_BATH + (UNKNOWN_HEIGHT if e.elevation is None else 0.0)
    if not surely_over(over, margin, spread):
        return
    yield note(
        "gas_at_rest",
        f"At rest both gauges show about {e.show_reading(e.reading('suction_pressure'))}, as at "
        f"{e.temperature(evaporating(e))}, which is {e.difference(over)} over the bath: it stopped only a short time "
        "ago, or there is gas in the circuit that does not condense.",
        advice="Let it stand for half an hour and read both pressures and the bath again. If they stay over the "
        "bath's saturation pressure, have the charge recovered, the circuit evacuated and charged anew.",
        over_bath=Uncertain(over, "temperature_difference", spread),
    )


RULES = (
    Rule(
        codes=("gas_at_rest",),
        needs=(REFRIGERANT, SUCTION, DISCHARGE, a_reading("bath_temperature")),
        judge=_rests_too_high,
        shows="whether there is gas in the circuit that does not condense",
        source="At rest liquid gathers in the coldest part, which sets the pressure; saturation: CoolProp 8; both "
        "sides equalise through a capillary within 7 to 10 minutes: a refrigerator maker's service manual; half an "
        "hour: common practice, no source",
        caution=CARE,
        weight=0.0,
    ),
)
