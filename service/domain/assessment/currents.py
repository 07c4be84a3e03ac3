"""Each motor's current against its own rating."""

from collections.abc import Iterator

from service.domain.assessment.evidence import (
    Evidence,
    Need,
    a_reading,
    computed,
    listed,
    percent,
    worth,
)
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.motors import IDLE, cooling_wanted, draws_current, locked, runs
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.rule import Rule, act, fine, note, run_rule
from service.domain.assessment.uncertainty import taken, uncertainty
from service.domain.maintenance.catalogue import CAPACITORS, LICENSED, LOCKOUT
from service.domain.physics.electrical.motor_currents import (
    COLUMNS,
    RATED_POWER,
    current_share,
    full_load_current,
)
from service.domain.physics.ranges import above, below
from service.domain.record.feeds import SWITCHING
from service.domain.record.fleet import Component
from service.domain.record.visits import Reading

METER = 0.03  # error of a clamp meter; common practice, no source
WARM_BATH = 283.15  # K, 50 °F; judged, no source
WARM_SHARE = (
    1.15  # of the rated current: power in a bath at 70 °F is 13 to 27 % over that at 29, steady cycle, CoolProp 8
)
LIGHT = 0.4  # of the rated current; common practice, no source
BY_TABLE = frozenset({"pump", "pump_motor", "agitator"})  # fans and hermetic compressors follow no horsepower


def rated(part: Component) -> float | None:
    """The current on a component's nameplate [A]; nothing where 0 was recorded."""
    return worth(part.rated_current) or None


def _loads(e: Evidence) -> list[tuple[Component, Reading]]:
    """The components that are loads, with their currents: the latest, and before it what is over the rating."""
    read = [(e.part_at(each.component), each) for each in (*e.each("current"), *_earlier(e))]
    return [(part, each) for part, each in read if part is not None and part.kind not in SWITCHING]


def _earlier(e: Evidence) -> Iterator[Reading]:
    """The highest current of a component that a later one of the same moment would hide.

    One of a locked rotor counts where the motor does not run afterwards: else it was that of starting.
    """
    for last in e.each("current"):
        part = e.part_at(last.component)
        before = [each for each in e.readings if each.quantity == "current" and each.component == last.component]
        most = max(before, key=lambda each: each.value.value, default=last)
        nameplate = rated(part) if part else None
        if most is last or nameplate is None or most.when != last.when:
            continue
        over = above(most.value.value, nameplate * (1.0 + METER)) and not above(last.value.value, nameplate)
        if over and not (locked(e, most) and draws_current(e, last)):
            yield most


RATED = Need(
    "components.rated_current",
    "unit",
    "the nameplate currents of the unit's components",
    lambda e: any(rated(part) is not None for part, _ in _loads(e)) if e.has("current") else True,
)


def _against_nameplate(e: Evidence) -> Iterator[Finding]:
    in_order, figures = [], {}
    for part, reading in _loads(e):
        nameplate, current = rated(part), reading.value.value
        if nameplate is None:
            continue
        share = current / nameplate
        least = LIGHT if part.kind == "compressor" else IDLE
        if not below(share, least) and not above(share, 1.0):
            in_order.append(f"{part.code} {e.show(current, 'current')} of {e.show(nameplate, 'current')}")
            figures[f"current {part.code}"] = taken(reading)
        else:
            yield from run_rule(e, _off, part, reading, nameplate)
    if in_order:
        yield fine("currents_good", f"Within the nameplate: {listed(in_order)}.", **figures)


def _is_missed(e: Evidence, part: Component) -> bool:
    """Whether it is the fan of a compressor that runs, which has a finding of its own."""
    return part.kind == "condenser_fan" and runs(e, "compressor")


def _off(e: Evidence, part: Component, reading: Reading, nameplate: float) -> Iterator[Finding]:
    current = reading.value.value
    share = current_share(current, rated=nameplate)
    figures: dict[str, Figure] = {
        "component": part.code,
        "current": taken(reading),
        "rated_current": computed(nameplate, "current"),
        "share": Uncertain(share, "fraction", uncertainty(reading) / nameplate),
    }
    draws = f"{part.code} draws {e.show_reading(reading)}; the nameplate says {e.show(nameplate, 'current')}"
    if below(share, IDLE) and part.kind in RESTING and _need_not_run(e):
        yield note("current_none", f"{draws}: it stands, as no cooling is called for.", advice=None, **figures)
    elif below(share, IDLE):
        advice: str | None = "If it should be running, check its controller, overload, capacitor and supply."
        if _is_missed(e, part) or operating_state(e).state == "off":
            advice = None  # the fan has a finding of its own, and the missing supply is reported by itself
        yield note("current_none", f"{draws}: it does not run.", advice=advice, **figures)
    elif below(share, LIGHT):
        advice = "Check the suction side: low charge, a restriction, or a compressor that no longer pumps."
        yield note("current_light", f"{draws}: it is lightly loaded.", advice=advice, **figures)
    elif not above(share, 1.0 + METER):
        yield note(
            "current_at_rating",
            f"{draws}: too close to tell with this meter whether it is over its rating.",
            advice="Read it again at the next visit.",
            **figures,
        )
    else:
        yield _over(e, part, reading, share, draws=draws, figures=figures)


def _over(
    e: Evidence, part: Component, reading: Reading, share: float, *, draws: str, figures: dict[str, Figure]
) -> Finding:
    if locked(e, reading):
        text = f"{draws}: at {share:.1f} times its rating the rotor is locked."
        advice = LOCKED.get(part.kind, LOCKED_OTHER)
        if part.kind == "compressor" and e.has("bath_temperature") and not cooling_wanted(e):
            tenth = e.show(reading.value.value / 10.0, "current")
            again = f"Read it again: the bath is cold, so it may have been starting, or {tenth} was meant."
            advice = f"{again} If it stays, {_small(advice)}"
        return act("rotor_locked", text, advice=advice, **figures)
    text = f"{draws}: {percent(share - 1.0)} over"
    if part.kind == "compressor" and not above(share, WARM_SHARE) and _bath_warm(e):
        text += ", as a sound one's may be with a bath this warm"
        return note("current_over_rating", f"{text}.", advice=WHEN_COLD, **figures)
    return act("current_over_rating", f"{text}.", advice=OVER.get(part.kind, OTHER), **figures)


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def _bath_warm(e: Evidence) -> bool:
    return e.has("bath_temperature") and e.value("bath_temperature") >= WARM_BATH


RESTING = ("compressor", "condenser_fan")  # what stands while the bath is cold enough


def _need_not_run(e: Evidence) -> bool:
    """Whether the bath is known to be cold enough, or all looks like a unit at rest."""
    at_rest = operating_state(e).state == "satisfied" or (e.has("bath_temperature") and not runs(e, "compressor"))
    return at_rest and not cooling_wanted(e)


WHEN_COLD = "Read it again when the bath is near its set point. Do not raise the overload setting."
AT_ONCE = "Switch it off at once and let it cool."
LOCKED = {
    "compressor": f"{AT_ONCE} If this was longer than a second of starting, check start relay, capacitor, overload and "
    "the voltage while it starts. A hermetic compressor cannot be turned by hand.",
}
LOCKED_OTHER = (
    f"{AT_ONCE} Turn it by hand with the power locked out. Check capacitor, start relay, bearings, and what it drives."
)
OTHER = "Find the cause: supply voltage under load, bearings, and what it drives. Do not raise the overload setting."
PUMPING = (
    "Check the glycol's strength, the strainer, the voltage under load, bearings and coupling. "
    "Do not raise the overload setting."
)
OVER = {
    "compressor": "Check condenser, fan, air, and the voltage under load. Do not raise the overload setting.",
    "condenser_fan": "Check blade, bearings and the voltage under load. Do not raise the overload setting.",
    "pump": PUMPING,
    "pump_motor": PUMPING,
    "agitator": PUMPING,
}


def _against_table(e: Evidence) -> Iterator[Finding]:
    for part, reading in _loads(e):
        if rated(part) is None and part.kind in BY_TABLE and part.rated_power is not None:
            yield from run_rule(e, _by_table, part, reading)


def _by_table(e: Evidence, part: Component, reading: Reading) -> Iterator[Finding]:
    current, power, voltage = reading.value.value, worth(part.rated_power), worth(e.supply.voltage)
    in_table = voltage is not None and any(band.low <= voltage <= band.high for _, band in COLUMNS)
    if power is None or voltage is None or not in_table or not RATED_POWER.low <= power <= RATED_POWER.high:
        return
    table = full_load_current(rated_power=power, rated_voltage=voltage)
    if above(current, table * (1.0 + METER)):
        yield note(
            "current_over_table",
            f"{part.code} draws {e.show_reading(reading)}; the table gives {e.show(table, 'current')} for a "
            "motor of its power, and most nameplates are lower.",
            advice=f"Record its nameplate current. {PUMPING}",
            component=part.code,
            current=taken(reading),
            table_current=computed(table, "current"),
        )


CURRENT = a_reading("current")
CARE = f"{LOCKOUT} {CAPACITORS} {LICENSED}"
ELECTRICAL = frozenset(
    {
        "unit_dead", "noisy", "burnt", "discoloured", "seized", "power_switch", "contactor", "compressor",
        "condenser_fan", "pump", "pump_motor", "overload_protector", "start_capacitor", "start_relay",
        "controls_scorched",
    }
)  # fmt: skip

RULES = (
    Rule(
        codes=(
            "currents_good",
            "current_none",
            "current_light",
            "current_at_rating",
            "current_over_rating",
            "rotor_locked",
        ),
        needs=(CURRENT, RATED),
        judge=_against_nameplate,
        shows="whether any motor is over its nameplate",
        source="Every motor under its nameplate: common practice, no source; locked rotor at six times it, "
        "NEC Table 430.251(A)",
        caution=CARE,
        asked_by=ELECTRICAL,
        lasts=True,
    ),
    Rule(
        codes=("current_over_table",),
        needs=(CURRENT,),
        judge=_against_table,
        shows="whether a motor draws more than its power allows",
        source="NEC (NFPA 70) Table 430.248, single-phase full-load currents, as a check of plausibility",
        caution=CARE,
        weight=0.2,
        lasts=True,
    ),
)
