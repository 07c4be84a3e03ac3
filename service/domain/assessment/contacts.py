"""Contacts and terminals: voltage drop and temperature."""

from collections.abc import Iterator

from service.domain.assessment.currents import ELECTRICAL
from service.domain.assessment.evidence import Evidence, Need, a_reading, computed, listed
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.rule import Rule, act, fine, note, run_rule, stop
from service.domain.assessment.switches import through
from service.domain.assessment.uncertainty import THERMOMETER, surely_over, taken, together
from service.domain.maintenance.catalogue import LICENSED, LOCKOUT
from service.domain.physics.electrical.contacts import (
    HeatGrade,
    contact_bad,
    contact_heat,
    rise_beside_similar,
    rise_over_ambient,
)
from service.domain.record.visits import Reading

INSULATION = 363.15  # K, 90 °C: common building wire (NEC Table 310.4, from memory)
TERMINAL = 348.15  # K, 75 °C: rating of terminals (NEC 110.14(C), from memory)
POSSIBLE, OVER_AIR = 3.0, 20.0  # K: NETA's steps from possible to probable; over the air a sound joint may reach this
SWITCH_OFF = "Switch the unit off and lock it out: this can start a fire."
RE_TERMINATE = (
    "Open it with the power locked out. Look for loose, oxidised or discoloured lugs, re-terminate with the right "
    "torque, and replace parts with burnt contacts. Then read it again under load."
)


def _drops(e: Evidence) -> Iterator[Finding]:
    good, figures = [], {}
    for reading in e.each("contact_voltage_drop"):
        if contact_bad(reading.value.value):
            yield from run_rule(e, _bad_drop, reading)
        else:
            good.append(f"{reading.component} {e.show_reading(reading)}")
            figures[f"drop {reading.component}"] = taken(reading)
    if good:
        yield fine("contact_drop_good", f"The voltage drop over contacts is small: {listed(good)}.", **figures)


def _bad_drop(e: Evidence, reading: Reading) -> Iterator[Finding]:
    current, drop = _current(e, reading.component or ""), reading.value.value
    figures: dict[str, Figure] = {"component": reading.component or "", "drop": taken(reading)}
    heat = ""
    if current is not None:
        watts = contact_heat(current=current, drop=drop)
        figures["heat"] = computed(watts, "power")
        heat = f" At {e.show(current, 'current')} that is {watts:.1f} W of heat in one joint."
    text = f"{reading.component} drops {e.show_reading(reading)} over a closed contact (usual: under 0.1 V).{heat}"
    yield act("contact_drop_bad", text, advice=RE_TERMINATE, **figures)


def _current(e: Evidence, code: str) -> float | None:
    """The current through the component: read there, or the sum of what it feeds where all of it was read."""
    own, part = e.at("current", code), e.parts.get(code)
    if own is not None or part is None:
        return own
    behind = through(e, part)
    return sum((*behind.motors, *behind.others)) if behind.read and not behind.unknown else None


def _terminals(e: Evidence) -> Iterator[Finding]:
    good, figures = [], {}
    for reading in e.each("terminal_temperature"):
        beside = _beside(e, reading)
        if beside is None:
            yield from _by_itself(e, reading)
            continue
        if beside[0].code == "none":
            good.append(f"{reading.component} {e.show_reading(reading)}")
            figures[f"terminal_temperature {reading.component}"] = taken(reading)
        else:
            yield _warm(e, reading, beside)
    if good:
        yield fine("terminals_good", f"Terminals are as cool as similar ones: {listed(good)}.", **figures)


def _by_itself(e: Evidence, reading: Reading) -> Iterator[Finding]:
    """A terminal with nothing to compare with, hotter than any terminal or its insulation is rated for."""
    hot = reading.value.value
    text = f"{reading.component}'s terminal is at {e.show_reading(reading)}"
    figures: dict[str, Figure] = {"component": reading.component or "", "terminal_temperature": taken(reading)}
    if surely_over(hot, INSULATION, THERMOMETER):
        advice = f"{SWITCH_OFF} {RE_TERMINATE}"
        yield stop("terminal_hot", f"{text}, hotter than its insulation can take.", advice=advice, **figures)
    elif surely_over(hot, TERMINAL, THERMOMETER):
        text += f", hotter than terminals are rated for ({e.temperature(TERMINAL)})"
        yield act("terminal_hot", f"{text}.", advice=RE_TERMINATE, **figures)


def _warm(e: Evidence, reading: Reading, beside: tuple[HeatGrade, str, float]) -> Finding:
    grade, reference, rise = beside
    spread = together(THERMOMETER, THERMOMETER)
    text = f"{reading.component}'s terminal is at {e.show_reading(reading)}, {e.difference(rise)} above {reference}"
    figures: dict[str, Figure] = {
        "component": reading.component or "",
        "terminal_temperature": taken(reading),
        "rise": Uncertain(rise, "temperature_difference", spread),
        "grade": grade.code,
    }
    if grade.code == "possible" or not surely_over(rise, OVER_AIR if "ambient" in reference else POSSIBLE, spread):
        advice = "Check it again under load at the next visit."
        return note("terminal_warm", f"{text}: possibly a bad joint.", advice=advice, **figures)
    if grade.code == "major" and _burning(e, reading):
        return stop(
            "terminal_hot",
            f"{text}: hot enough to scorch its insulation.",
            advice=f"{SWITCH_OFF} {RE_TERMINATE}",
            **figures,
        )
    sure = "a bad joint, repair it now" if grade.code == "major" else "probably a bad joint"
    return act("terminal_hot", f"{text}: {sure}.", advice=RE_TERMINATE, **figures)


def _burning(e: Evidence, reading: Reading) -> bool:
    """Whether insulation burns at a terminal: scorch marks or a burnt part, or over what its insulation stands."""
    burnt = any(part.condition == "burnt" and part.component == reading.component for part in e.visit.replacements)
    too_hot = surely_over(reading.value.value, INSULATION, THERMOMETER)
    return "controls_scorched" in e.seen or burnt or too_hot


def _beside(e: Evidence, reading: Reading) -> tuple[HeatGrade, str, float] | None:
    """The grade beside the coolest similar part, else over the ambient; None where there is nothing to compare with."""
    hot, part = reading.value.value, e.part_at(reading.component)
    like = [
        other
        for other in e.each("terminal_temperature")
        if other.component != reading.component and part is not None and e.kind_at(other.component) == part.kind
    ]
    if like:
        coolest = min(like, key=lambda each: each.value.value)
        similar = min(hot, coolest.value.value)
        return rise_beside_similar(hot=hot, similar=similar), f"{coolest.component}'s, a similar part", hot - similar
    if not e.has("ambient_temperature"):
        return None
    ambient = min(hot, e.value("ambient_temperature"))
    return rise_over_ambient(hot=hot, ambient=ambient), "the ambient air", hot - ambient


CARE = f"{LOCKOUT} Measuring a drop or a temperature under load is live work, for qualified people only. {LICENSED}"
COMPARED = Need(
    "ambient_temperature",
    "visit",
    "the ambient temperature, or a terminal of a similar part,",
    lambda e: (
        e.has("ambient_temperature")
        or len(e.each("terminal_temperature")) > 1
        or any(each.value.value > TERMINAL for each in e.each("terminal_temperature"))
    ),
)

RULES = (
    Rule(
        codes=("contact_drop_good", "contact_drop_bad"),
        needs=(a_reading("contact_voltage_drop"),),
        judge=_drops,
        shows="whether a contact is bad",
        source="Training article on loaded voltage drop: hundredths of a volt good, tenths bad; P = I V",
        caution=CARE,
        asked_by=frozenset({"burnt", "discoloured", "power_switch", "contactor", "controls_scorched"}),
        weight=0.4,
        lasts=True,
    ),
    Rule(
        codes=("terminals_good", "terminal_warm", "terminal_hot"),
        needs=(a_reading("terminal_temperature"), COMPARED),
        judge=_terminals,
        shows="whether a joint is hot",
        source="ANSI/NETA MTS and ATS, Table 100.18",
        caution=CARE,
        asked_by=ELECTRICAL,
        weight=0.4,
        lasts=True,
    ),
)
