"""A machine that is sized so that its steady state at the design point is the design's."""

from dataclasses import dataclass
from math import log, sqrt

from tests.simulation.units.cycle import TWO_PHASE_CONDENSER, TWO_PHASE_EVAPORATOR, Circuit
from tests.simulation.units.refrigerants import refrigerant, work


@dataclass(frozen=True, slots=True)
class Design:
    """What a machine is made to do at a bath of -2 degC, and its shape. Powers in kW, differences in K."""

    refrigerant: str
    metering: str
    cooling: float
    charge: float
    air: float = 32.2
    bath: float = -2.0
    evaporator_difference: float = 7.0
    split: float = 11.0
    superheat: float = 6.0
    subcooling: float = 5.0
    effectiveness: float = 0.6
    efficiency: float = 0.52
    clearance: float = 0.035
    shell_loss: float = 0.15
    wet: float = 0.85
    filled: float = 0.08
    in_evaporator: float = 0.3  # share of the charge


def build(design: Design) -> Circuit:
    """A circuit whose steady state at the design point is the design's."""
    fluid = refrigerant(design.refrigerant)
    evaporating, condensing = design.bath - design.evaporator_difference, design.air + design.split
    cold, hot = fluid.at(evaporating), fluid.at(condensing)
    heat, gas, specific = cold.vapour_heat, cold.vapour_enthalpy, hot.liquid_heat
    liquid = hot.liquid_enthalpy - specific * design.subcooling
    flow = design.cooling / (gas + heat * design.superheat - liquid)
    kelvin = evaporating + 273.15
    density = cold.vapour_density * kelvin / (kelvin + design.superheat)
    ratio = hot.dew / cold.dew
    volumetric = 0.93 - design.clearance * (ratio**0.9 - 1.0)
    efficiency = design.efficiency * (1.0 - 0.006 * (ratio - 5.0) ** 2 / (1.0 + 0.1 * ratio))
    power = flow * work(cold, evaporating, design.superheat, hot, condensing) / efficiency
    leaving = gas + heat * design.superheat + (1.0 - design.shell_loss) * power / flow
    rejected = flow * (leaving - hot.liquid_enthalpy)
    air = rejected / ((1.0 - design.filled) * design.effectiveness * design.split)
    density_of_liquid = fluid.at(30.0).liquid_density
    in_condenser = TWO_PHASE_CONDENSER + (1.0 - TWO_PHASE_CONDENSER) * design.filled
    return Circuit(
        fluid=fluid,
        metering=design.metering,
        swept=flow / (density * volumetric),
        clearance=design.clearance,
        efficiency=design.efficiency,
        shell_loss=design.shell_loss,
        evaporator=flow * (gas - liquid) / (design.wet * design.evaporator_difference),
        superheater=-log(1.0 - design.superheat / design.evaporator_difference) * flow * heat / (1.0 - design.wet),
        condenser=-log(1.0 - design.effectiveness) * air,
        subcooler=-log(1.0 - design.subcooling / design.split) * flow * specific / design.filled,
        air=air,
        metering_flow=_metering(design, flow, cold.dew, hot.dew),
        valve_superheat=design.superheat,
        charge=design.charge,
        condenser_volume=(1.0 - design.in_evaporator) * design.charge / (density_of_liquid * in_condenser),
        evaporator_volume=design.in_evaporator
        * design.charge
        / (density_of_liquid * TWO_PHASE_EVAPORATOR * design.wet),
        liquid_density=density_of_liquid,
    )


def _metering(design: Design, flow: float, suction: float, head: float) -> float:
    if design.metering == "capillary":
        return flow / (head**0.65 * (1.0 + 0.02 * design.subcooling))
    return 1.3 * flow / sqrt(head - suction)
