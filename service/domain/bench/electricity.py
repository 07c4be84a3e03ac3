"""Electricity at the bench: what goes through a switch against what it may carry."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from service.domain.bench.fields import Calculation, Outcome, count, measured, text, told, word
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
OVER = "The switch carries more than it may: replacing it alike repairs the symptom. Fit one rated for it."


@dataclass(frozen=True, slots=True, kw_only=True)
class Motor:
    """A motor behind the switch: its current, or its power on the nameplate."""

    name: str | None = field(default=None, metadata=text("what it drives"))
    current: Quantity | None = field(default=None, metadata=measured("measured or on the nameplate", CURRENT))
    rated_power: Quantity | None = field(
        default=None, metadata=measured("shaft power, where no current is known", ("power", "124 W", "2238 W"))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """What is no motor: heaters, controls, lights."""

    name: str | None = field(default=None, metadata=text("what it is"))
    current: Quantity = field(metadata=measured("drawn", CURRENT))


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch:
    """A switch and what is behind it."""

    rated_current: Quantity = field(metadata=measured("amperes printed on the switch", RATING))
    rating: str = field(metadata=word("kind of that rating", tuple(MOTOR_SHARE), usual="resistive"))
    motors: tuple[Motor, ...] = field(default=(), metadata=count("behind the switch", 0, 50))
    others: tuple[Other, ...] = field(default=(), metadata=count("behind the switch", 0, 50))
    rated_voltage: Quantity = field(metadata=measured("on the nameplate", VOLTAGE, usual="115 V"))
    supply_voltage: Quantity | None = field(default=None, metadata=measured("measured under load", VOLTAGE))
    breaker: Quantity | None = field(default=None, metadata=measured("of the circuit", RATING))


@dataclass(frozen=True, slots=True, kw_only=True)
class MotorCurrent:
    """The current counted for a motor."""

    name: str | None = field(metadata=told("what it drives"))
    current: Quantity = field(metadata=told("counted"))
    by: str = field(metadata=told("as given, or the table's full-load current for its power"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """What the switch carries against what it may carry."""

    running: Quantity = field(metadata=told("sum of the currents"))
    starting: Quantity = field(metadata=told("all motors at once, locked-rotor currents"))
    motor_limit: Quantity = field(metadata=told("what this switch may carry in motors"))
    share: Quantity = field(metadata=told("of what it may carry, motors and others each by their own rule"))
    over: bool = field(metadata=told("whether it carries more than it may"))
    smallest_disconnect: Quantity = field(metadata=told("rating that a disconnect for this needs"))
    breaker_limit: Quantity | None = field(metadata=told("what may flow for three hours or more"))
    breaker_over: bool | None = field(metadata=told("whether more than that flows"))
    voltage_deviation: Quantity | None = field(metadata=told("of the supply from the nameplate"))
    voltage_inside: bool | None = field(metadata=told("whether that is within 10 %"))
    starting_torque: Quantity | None = field(metadata=told("of the motors at this voltage, of the rated one"))
    motors: tuple[MotorCurrent, ...] = field(metadata=told("motor by motor"))


def carried(asked: Switch) -> Outcome:
    """What a switch carries."""
    motors = tuple(_motor(number, motor, asked.rated_voltage.value) for number, motor in enumerate(asked.motors))
    load = switch_load(
        [motor.current.value for motor in motors],
        rated_current=asked.rated_current.value,
        rating=asked.rating,
        others=[other.current.value for other in asked.others],
    )
    allowed = None if asked.breaker is None else continuous_limit(asked.breaker.value)
    rated, checked, torque = asked.rated_voltage.value, None, None
    if asked.supply_voltage is not None:
        checked = voltage_check(asked.supply_voltage.value, rated=rated)
        torque = torque_share(asked.supply_voltage.value, rated=rated)
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
        yield "The supply is more than 10 % off the nameplate: stop and have the supply put right first."
    yield "Currents are added as numbers though their phases differ: the sum errs on the safe side."
    yield "A motor rating of the switch's maker, in amperes or horsepower at this voltage, rules where there is one."


CALCULATION = Calculation(
    name="switch-load",
    title="What a switch carries",
    what_for="The sum of currents through a switch against what its kind of rating allows, running and starting.",
    asks=Switch,
    tells=Carried,
    compute=carried,
    method="Motors at 50 % (resistive), 80 % (AC-only) or 1/1.15 (motor) of the rating, others at 80 %.",
    source=(
        "NEC (NFPA 70) 210.20(A), 404.14, 430.83, 430.109, 430.110, 440.12(A), Table 430.248; UL 982 (as quoted in "
        "guide information, not read in the standards); NEMA MG 1, 12.44"
    ),
    cautions=(
        "Mains voltage kills: unplug or lock out, then verify; live work only if licensed and equipped for it.",
        "Local electrical code and the nameplate rule over this reckoning.",
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
