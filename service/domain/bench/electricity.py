"""Electrical calculations: the load of a switch against its rating."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from service.domain.bench.fields import Calculation, Outcome, choice, count, described, measured, text
from service.domain.bench.figures import SHARE, figure, figure_if, figure_of
from service.domain.errors import Fault, Invalid
from service.domain.physics.electrical.motor_currents import full_load_current
from service.domain.physics.electrical.supply import VoltageCheck, torque_share, voltage_check
from service.domain.physics.electrical.switch_load import (
    MOTOR_SHARE,
    SwitchLoad,
    continuous_limit,
    disconnect_minimum,
    switch_load,
)
from service.domain.physics.ranges import above
from service.domain.quantities import Quantity

CURRENT = ("current", "0 A", "200 A")
RATING = ("current", "1 A", "200 A")
VOLTAGE = ("voltage", "12 V", "1000 V")
OVER = "The switch is overloaded: a like-for-like replacement only repairs the symptom. Fit one rated for the load."


@dataclass(frozen=True, slots=True, kw_only=True)
class Motor:
    """A motor behind the switch: its current, or its nameplate power."""

    name: str | None = field(default=None, metadata=text("what it drives"))
    current: Quantity | None = field(default=None, metadata=measured("measured, or from the nameplate", CURRENT))
    rated_power: Quantity | None = field(
        default=None, metadata=measured("shaft power, if the current is unknown", ("power", "124 W", "2238 W"))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """A load that is no motor: heater, controls, light."""

    name: str | None = field(default=None, metadata=text("what it is"))
    current: Quantity = field(metadata=measured("current drawn", CURRENT))


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch:
    """A switch and its loads."""

    rated_current: Quantity = field(metadata=measured("amperes printed on the switch", RATING))
    rating: str = field(metadata=choice("kind of rating", tuple(MOTOR_SHARE), default="resistive"))
    motors: tuple[Motor, ...] = field(default=(), metadata=count("motors behind the switch", 0, 50))
    others: tuple[Other, ...] = field(default=(), metadata=count("other loads behind the switch", 0, 50))
    rated_voltage: Quantity = field(metadata=measured("nameplate voltage", VOLTAGE, default="115 V"))
    supply_voltage: Quantity | None = field(
        default=None, metadata=measured("supply voltage, measured under load", VOLTAGE)
    )
    breaker: Quantity | None = field(default=None, metadata=measured("rating of the circuit's breaker", RATING))


@dataclass(frozen=True, slots=True, kw_only=True)
class MotorCurrent:
    """The current used for a motor."""

    name: str | None = field(metadata=described("what it drives"))
    current: Quantity = field(metadata=described("the current used"))
    by: str = field(metadata=described("as given, or the table's full-load current for its power"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """The load of the switch against its rating."""

    running: Quantity = field(metadata=described("sum of the currents"))
    starting: Quantity = field(metadata=described("all motors at once, locked-rotor currents"))
    motor_limit: Quantity = field(metadata=described("allowed motor load of this switch"))
    share: Quantity = field(metadata=described("share of the allowed load, motors and others each by their own rule"))
    over: bool = field(metadata=described("whether it is overloaded"))
    smallest_disconnect: Quantity = field(metadata=described("smallest rating of a disconnect for this load"))
    breaker_limit: Quantity | None = field(
        metadata=described("allowed continuous current of the breaker (3 hours or more)")
    )
    breaker_over: bool | None = field(metadata=described("whether the current is above that"))
    voltage_deviation: Quantity | None = field(metadata=described("deviation of the supply from the nameplate"))
    voltage_inside: bool | None = field(metadata=described("whether it is within 10 %"))
    starting_torque: Quantity | None = field(
        metadata=described("starting torque at this voltage, as a share of the rated torque")
    )
    motors: tuple[MotorCurrent, ...] = field(metadata=described("the current of each motor"))


def carried(inputs: Switch) -> Outcome:
    """The load of a switch."""
    motors = tuple(_motor(number, motor, inputs.rated_voltage.value) for number, motor in enumerate(inputs.motors))
    load = switch_load(
        [motor.current.value for motor in motors],
        rated_current=inputs.rated_current.value,
        rating=inputs.rating,
        others=[other.current.value for other in inputs.others],
    )
    allowed = None if inputs.breaker is None else continuous_limit(inputs.breaker.value)
    rated, checked, torque = inputs.rated_voltage.value, None, None
    if inputs.supply_voltage is not None:
        checked = voltage_check(inputs.supply_voltage.value, rated=rated)
        torque = torque_share(inputs.supply_voltage.value, rated=rated)
    return Outcome(
        results=Carried(
            running=figure(load.running, "current"),
            starting=figure(load.starting, "current"),
            motor_limit=figure(load.motor_limit, "current"),
            share=figure(load.share, SHARE),
            over=load.over,
            smallest_disconnect=figure(disconnect_minimum(load.running), "current"),
            breaker_limit=figure_if(allowed, "current"),
            breaker_over=None if allowed is None else above(load.running, allowed),
            voltage_deviation=figure_of(checked, "deviation", SHARE),
            voltage_inside=None if checked is None else checked.inside,
            starting_torque=figure_if(torque, SHARE),
            motors=motors,
        ),
        notes=tuple(_notes(load, checked)),
    )


def _motor(number: int, motor: Motor, voltage: float) -> MotorCurrent:
    if motor.current is not None:
        return MotorCurrent(name=motor.name, current=figure(motor.current.value, "current"), by="as given")
    if motor.rated_power is None:
        raise Invalid([Fault(f"motors.{number}.current", None, "give the current, or rated_power")])
    current = full_load_current(rated_power=motor.rated_power.value, rated_voltage=voltage)
    return MotorCurrent(name=motor.name, current=figure(current, "current"), by="NEC Table 430.248")


def _notes(load: SwitchLoad, checked: VoltageCheck | None) -> Iterator[str]:
    if load.over:
        yield OVER
    if checked is not None and not checked.inside:
        yield "The supply is more than 10 % off the nameplate: stop and have the supply repaired first."
    yield "Currents are added arithmetically although their phases differ: the sum errs on the safe side."
    yield "A motor rating by the switch's maker, in amperes or horsepower at this voltage, takes precedence."


CALCULATION = Calculation(
    name="switch-load",
    title="Load of a switch",
    what_for="Running and starting current through a switch against the load that its kind of rating allows.",
    inputs=Switch,
    results=Carried,
    compute=carried,
    method="Motors at 50 % (resistive), 80 % (AC-only) or 1/1.15 (motor) of the rating, others at 80 %.",
    source=(
        "NEC (NFPA 70) 210.20(A), 404.14, 430.83, 430.109, 430.110, 440.12(A), Table 430.248; UL 982 (as quoted in "
        "guide information, not read in the standards); NEMA MG 1, 12.44"
    ),
    cautions=(
        "Mains voltage kills: unplug or lock out, then verify; live work only if licensed and equipped for it.",
        "The local electrical code and the nameplate take precedence over this calculation.",
    ),
    example={
        "rated_current": "20 A",
        "rating": "ac_only",
        "motors": [
            {"name": "compressor", "current": "9.8 A"},
            {"name": "glycol pump", "rated_power": "0.25 hp"},
            {"name": "fan", "current": "1 A"},
        ],
        "breaker": "20 A",
        "supply_voltage": "112 V",
    },
)
