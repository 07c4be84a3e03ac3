"""Whether to connect gauges to one unit, in words."""

from functools import lru_cache

from service.domain.assessment.evidence import Evidence, percent
from service.domain.assessment.refrigerant_of import refrigerant_of
from service.domain.physics.bath.pull_down_verdict import Verdict
from service.domain.physics.libraries import props_si
from service.domain.physics.refrigeration.gauges import Gauges, advise_gauges, hose_charge, share_of_charge
from service.domain.physics.refrigeration.refrigerants import Refrigerant

STANDING, WARM = 293.15, 313.15  # K: a unit at rest on its suction hose, liquid at the condenser on the other


def gauge_advice(e: Evidence, verdict: Verdict) -> str:
    """One sentence about gauges; empty where ports, charge or refrigerant are not on the record."""
    circuit, fluid = e.refrigeration, refrigerant_of(e)
    if circuit.low_side_port is False and circuit.high_side_port is False:
        return "There is no port for gauges, and piercing the tube is work for certified people with a reason."
    if fluid is None or circuit.charge is None or circuit.low_side_port is None or circuit.high_side_port is None:
        return ""
    share = share_of_charge(held=_held(fluid, circuit.high_side_port), charge=circuit.charge.value)
    low_side_only = not circuit.high_side_port
    advice = advise_gauges(
        verdict=verdict, share=share, capillary=circuit.metering == "capillary", low_side_only=low_side_only
    )
    ports = "only a low-side port" if low_side_only else "both ports"
    return {
        Gauges.NOT_NEEDED: "",
        Gauges.LEAVE_OFF: f"Leave the gauges off: the hoses would hold {percent(share)} of the charge. Where the "
        "charge is in doubt, recover it and weigh it in anew.",
        Gauges.LAST_RESORT: f"Gauges last: with {ports} they tell little of so small a charge. Temperatures, currents, "
        "air and frost first.",
        Gauges.CONNECT: f"Then connect gauges: the hoses hold {percent(share)} of the charge, which does no harm.",
    }[advice]


@lru_cache(maxsize=64)
def _held(fluid: Refrigerant, both: bool) -> float:
    """What the hoses hold [kg]: vapour on the low side, liquid on the high side."""
    held = hose_charge(density=props_si("D", "T", STANDING, "Q", 1, fluid.fluid))
    return held + (hose_charge(density=props_si("D", "T", WARM, "Q", 0, fluid.fluid)) if both else 0.0)
