"""The supply: its voltage against the nameplate, and the balance of three phases."""

from collections.abc import Iterator, Sequence

from service.domain.assessment.currents import ELECTRICAL
from service.domain.assessment.evidence import Evidence, a_fact, a_reading, computed, known, percent, read_at_moment
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.rule import Rule, act, fine, note, stop
from service.domain.assessment.uncertainty import surely_over, surely_under, taken, uncertainty
from service.domain.maintenance.catalogue import LICENSED, LOCKOUT
from service.domain.physics.electrical.supply import (
    DERATE_ABOVE,
    STOP_ABOVE,
    torque_share,
    unbalance_derating,
    voltage_check,
    voltage_unbalance,
)
from service.domain.physics.ranges import above, below
from service.domain.record.visits import Reading

TOLERANCE = 0.1  # of the rated voltage: NEMA MG 1
LIVE = 50.0  # V: less between two phases is a missing phase
FAR_OFF = 0.15  # of the rated voltage, 1.5 times the tolerance of motors; judged, no source
UNBALANCE = 0.003  # of two readings of one meter: its scale cancels; judged
DEAD = 0.2  # of the rated voltage, below which there is no supply; judged, no source


def _voltage(e: Evidence) -> Iterator[Finding]:
    rated = known(e.supply.voltage)
    read = read_at_moment(e, "supply_voltage")
    dead = [each for each in read if below(each.value.value, DEAD * rated)]
    if e.supply.phases != 3 and dead and len(dead) < len(read):
        yield _interrupted(e, read)
        return
    if e.supply.phases == 3 and dead and len(dead) < len(read):
        yield _lost_phase(e, read, dead)
        return
    worst = max(read, key=lambda each: abs(each.value.value - rated))
    check = voltage_check(worst.value.value, rated=rated)
    spread = uncertainty(worst)
    figures: dict[str, Figure] = {
        "voltage": taken(worst),
        "rated_voltage": computed(rated, "voltage"),
        "low": computed(check.low, "voltage"),
        "high": computed(check.high, "voltage"),
        "deviation": Uncertain(check.deviation, "fraction", spread / rated),
    }
    text = f"The supply is at {e.show_reading(worst)}, {abs(check.deviation) * 100:.0f} % "
    text += f"{'below' if check.deviation < 0.0 else 'above'} the nameplate's {e.show(rated, 'voltage')}"
    if check.inside:
        close = "" if surely_under(abs(check.deviation), TOLERANCE, spread / rated) else ", but too close to it to tell"
        yield fine("voltage_good", f"{text}: within 10 %{close}.", **figures)
    elif dead:
        advice = (
            "Check plug, breaker, switch and cord: read the voltage before and behind each. One reading of 0 V does "
            "not prove that a part is dead. A breaker that trips again stays off until the short is found."
        )
        yield act("voltage_none", f"{text}: there is no voltage where it was read.", advice=advice, **figures)
    else:
        yield _off(check.deviation, spread / rated, text, _torque(check.deviation, worst.value.value, rated), figures)


def _interrupted(e: Evidence, read: Sequence[Reading]) -> Finding:
    """Voltage in one place and none in another: what lies between is open."""
    high, low = max(read, key=lambda each: each.value.value), min(read, key=lambda each: each.value.value)
    return act(
        "supply_interrupted",
        f"The supply is at {e.show_reading(high)} in one place and at {e.show_reading(low)} in another: the power "
        "stops between them.",
        advice="Find the open switch, fuse, breaker or joint between the two: read the voltage before and behind each. "
        "Treat everything as live.",
        voltage=taken(high),
        voltage_missing=taken(low),
    )


def _lost_phase(e: Evidence, read: Sequence[Reading], dead: Sequence[Reading]) -> Finding:
    return act(
        "supply_interrupted",
        f"Of {len(read)} voltages between three phases {len(dead)} {'is' if len(dead) == 1 else 'are'} at "
        f"{e.show_reading(dead[0])}: a phase is missing, or the reading is not between two phases.",
        advice="Switch the unit off now: three-phase motors burn on two phases. Find the open fuse, contact or joint "
        "before it is started again. Treat everything as live.",
        voltage_missing=taken(dead[0]),
    )


def _off(deviation: float, spread: float, text: str, effect: str, figures: dict[str, Figure]) -> Finding:
    high, deviation = deviation > 0.0, abs(deviation)
    if surely_over(deviation, FAR_OFF, spread):
        return stop("voltage_far_off", f"{text}.{effect}", advice=OFF, **figures)
    if not surely_over(deviation, TOLERANCE, spread):
        return note("voltage_off", f"{text}: too close to 10 % to tell.", advice="Read it again under load.", **figures)
    return act("voltage_off", f"{text}.{effect}", advice=TOO_HIGH if high else TOO_LOW, **figures)


TOO_LOW = (
    "Read it at the panel and at the unit, at rest and while the compressor starts: a difference is a wiring fault. "
    "Have the supply corrected before blaming a motor or contact."
)
TOO_HIGH = (
    "Read both legs to neutral at the panel: one high and one low is a loose neutral, which burns what runs on it. "
    "Have an electrician or the utility correct the supply before a motor or contact is replaced."
)


OFF = (
    "Switch the unit off and lock it out: motors and contacts burn at this voltage. Have an electrician find the "
    "fault or the wrong circuit before it is restarted."
)


def _torque(deviation: float, voltage: float, rated: float) -> str:
    """The effect of a low or a high voltage on a motor."""
    if deviation >= 0.0:
        return " Motors overheat and contactors chatter or burn."
    return f" A motor has {percent(torque_share(voltage, rated=rated))} of its starting torque and runs hot."


def _unbalance(e: Evidence) -> Iterator[Finding]:
    phases = read_at_moment(e, "supply_voltage")
    if e.supply.phases != 3 or len(phases) != 3 or any(each.value.value < LIVE for each in phases):
        return
    unbalance = voltage_unbalance(*(each.value.value for each in phases))
    figures: dict[str, Figure] = {"unbalance": Uncertain(unbalance, "fraction", UNBALANCE)}
    text = f"Voltage unbalance of the three phases is {unbalance * 100:.1f} %"
    if surely_over(unbalance, STOP_ABOVE, UNBALANCE):
        advice = "Do not run motors on it. Check fuses and connections for a lost phase, and have the supply repaired."
        yield act("phases_far_unbalanced", f"{text}, above 5 %.", advice=advice, **figures)
    elif above(unbalance, DERATE_ABOVE):
        allowed = f"derate motors to {percent(unbalance_derating(min(unbalance, STOP_ABOVE)))} of their power"
        yield note(
            "phases_unbalanced", f"{text}: {allowed}.", advice="Have the loads on the phases balanced.", **figures
        )
    else:
        yield fine("phases_balanced", f"{text}: good.", **figures)


CARE = f"{LOCKOUT} {LICENSED}"
VOLTAGE = a_reading("supply_voltage")

RULES = (
    Rule(
        codes=("voltage_good", "voltage_none", "voltage_off", "voltage_far_off", "supply_interrupted"),
        needs=(VOLTAGE, a_fact("supply", "voltage")),
        judge=_voltage,
        shows="whether the supply harms motors and contacts",
        source="NEMA MG 1, 12.44 (clause from memory): 10 % either side; US Army TM 55-1930-209, p. 124: contacts "
        "burnt by voltage more than 10 % off; 15 % as far off: common practice, no source",
        caution=CARE,
        asked_by=ELECTRICAL,
        lasts=True,
    ),
    Rule(
        codes=("phases_balanced", "phases_unbalanced", "phases_far_unbalanced"),
        needs=(VOLTAGE,),
        judge=_unbalance,
        shows="whether the phases are balanced",
        source="NEMA MG 1, 14.36 and figure 14-1 (from memory): derate over 1 %, do not run over 5 %",
        caution=CARE,
        weight=0.0,
        lasts=True,
    ),
)
