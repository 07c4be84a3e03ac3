"""The parts of a circuit's balance, each with what follows from the same unknowns."""

from typing import NamedTuple

from service.domain.triage.fluid import Array
from service.domain.triage.newton import Unknowns


class Cold(NamedTuple):
    """What follows from the evaporating temperature."""

    temperature: Array
    suction: Array  # [Pa]
    swept: Array  # [kg K/m3] density of the gas times its temperature
    gas: Array  # [J/kg] enthalpy
    latent: Array  # [J/kg]
    distance: Array  # [K] bath over evaporating


class Hot(NamedTuple):
    """What follows from the condensing temperature."""

    temperature: Array
    discharge: Array  # [Pa]
    boiling: Array  # [J/kg] enthalpy of liquid
    latent: Array  # [J/kg]
    over: Array  # [K] the air
    air: Array  # the same as `LIQUID_AIR`, with the air that a fan blows now
    air_heat: Array  # [1/K] of the air stream
    units: Array  # transfer units without flooded part
    runs: Array  # share of the time in which an overload lets the compressor run


class Wet(NamedTuple):
    """What follows from the wet share of the evaporator, which leaves the condenser its charge."""

    share: Array
    dry: Array  # effectiveness of the dry part
    carried: Array  # liquid carried over
    flow_factor: Array  # what that adds to the flow, with the compressor's displacement
    transfer: Array  # [1/K] of the wet part
    free: Array  # share of the condenser that is not flooded
    cooled: Array  # effectiveness of its flooded part
    clean: Array  # of the air beside it, where the condenser is clean
    flash: Array
    opening: Array  # of the metering device


class Compressed(NamedTuple):
    """The compression and what drives the metering device, from both pressures."""

    filling: Array  # volumetric efficiency of a compressor with clearance
    heating: Array  # by an isentropic compression, over the absolute temperature at the inlet
    drive: Array  # root of the difference


class Evaporator(NamedTuple):
    """The evaporator, from evaporating temperature and wet share."""

    superheat: Array
    inlet: Array  # [K] of the compressor
    gained: Array  # [J/kg] enthalpy that leaves the wet part


class Condenser(NamedTuple):
    """The condenser, from condensing temperature and wet share."""

    subcooling: Array
    liquid: Array  # [J/kg] enthalpy
    taken: Array  # by the air


class Balance(NamedTuple):
    """Everything that follows from the three unknowns."""

    cold: Cold
    hot: Hot
    wet: Wet
    compressed: Compressed
    evaporator: Evaporator
    condenser: Condenser
    cooling: Array
    power: Array
    residuals: Unknowns
