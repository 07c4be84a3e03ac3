"""Contacts and terminals: the voltage lost in them, and how hot they are."""

from collections.abc import Iterator

from service.domain.assessment.currents import ELECTRICAL
from service.domain.assessment.evidence import Evidence, Need, a_reading, computed, listed, mended_since
from service.domain.assessment.rule import Rule, Said, act, fine, note, told, unless_mended
from service.domain.assessment.statement import Figure
from service.domain.assessment.switches import through
from service.domain.maintenance.catalogue import LICENSED, LOCKOUT
from service.domain.physics.electrical.contacts import (
    HeatGrade,
    contact_bad,
    contact_heat,
    rise_beside_similar,
    rise_over_ambient,
)
from service.domain.record.visits import Reading

RE_TERMINATE = (
    "Open it dead: look for loose, oxidised or discoloured lugs, re-terminate with the right torque, and replace a "
    "part whose contacts are burnt. Then read it again under load."
)


def _drops(e: Evidence) -> Iterator[Said]:
    good = []
    for reading in e.each("contact_voltage_drop"):
        if contact_bad(reading.value.value):
            yield from told(e, _bad_drop, reading)
        else:
            good.append(f"{reading.component} {e.told(reading)}")
    if good:
        yield fine("contact_drop_good", f"Contacts lose little: {listed(good)}.", components=", ".join(good))


def _bad_drop(e: Evidence, reading: Reading) -> Iterator[Said]:
    current, drop = _current(e, reading.component or ""), reading.value.value
    figures: dict[str, Figure] = {"component": reading.component or "", "drop": reading.value}
    heat = ""
    if current is not None:
        watts = contact_heat(current=current, drop=drop)
        figures["heat"] = computed(watts, "power")
        heat = f" With {e.show(current, 'current')} that is {watts:.1f} W of heat in one joint."
    said = f"{reading.component} loses {e.told(reading)} over a closed contact; hundredths of a volt are good.{heat}"
    yield unless_mended(act("contact_drop_bad", said, advice=RE_TERMINATE, **figures), mended_since(e, reading))


def _current(e: Evidence, code: str) -> float | None:
    """What runs through the component: read there, or the sum of what it feeds where all of that was read."""
    own, part = e.at("current", code), e.parts.get(code)
    if own is not None or part is None:
        return own
    behind = through(e, part)
    return sum((*behind.motors, *behind.others)) if behind.read and not behind.unknown else None


def _terminals(e: Evidence) -> Iterator[Said]:
    good = []
    for reading in e.each("terminal_temperature"):
        beside = _beside(e, reading)
        if beside is None:
            continue
        grade, words, rise = beside
        if grade.code == "none":
            good.append(f"{reading.component} {e.told(reading)}")
            continue
        said = f"{reading.component}'s terminal is at {e.told(reading)}, {e.difference(rise)} over {words}"
        figures: dict[str, Figure] = {
            "component": reading.component or "",
            "terminal_temperature": reading.value,
            "rise": computed(rise, "temperature_difference"),
            "grade": grade.code,
        }
        if grade.code == "possible":
            advice = "Look at it again at the next visit, under load."
            yield note("terminal_warm", f"{said}: possibly a bad joint.", advice=advice, **figures)
        else:
            sure = "a bad joint, to be mended now" if grade.code == "major" else "probably a bad joint"
            hot = act("terminal_hot", f"{said}: {sure}.", advice=RE_TERMINATE, **figures)
            yield unless_mended(hot, mended_since(e, reading))
    if good:
        yield fine(
            "terminals_good", f"Terminals are as cool as their like: {listed(good)}.", components=", ".join(good)
        )


def _beside(e: Evidence, reading: Reading) -> tuple[HeatGrade, str, float] | None:
    """The grade beside the coolest similar part, else over the ambient; None where there is nothing to compare with."""
    hot, part = reading.value.value, e.parts.get(reading.component or "")
    like = [
        other
        for other in e.each("terminal_temperature")
        if other.component != reading.component and part is not None and _kind(e, other) == part.kind
    ]
    if like:
        coolest = min(like, key=lambda each: each.value.value)
        similar = min(hot, coolest.value.value)
        return rise_beside_similar(hot=hot, similar=similar), f"{coolest.component}'s, its like", hot - similar
    if not e.has("ambient_temperature"):
        return None
    ambient = min(hot, e.value("ambient_temperature"))
    return rise_over_ambient(hot=hot, ambient=ambient), "the ambient air", hot - ambient


def _kind(e: Evidence, reading: Reading) -> str | None:
    part = e.parts.get(reading.component or "")
    return None if part is None else part.kind


CARE = f"{LOCKOUT} A drop or a temperature under load is taken live: qualified people only. {LICENSED}"
COMPARED = Need(
    "ambient_temperature",
    "visit",
    "the ambient temperature, or a terminal of a similar part,",
    lambda e: e.has("ambient_temperature") or len(e.each("terminal_temperature")) > 1,
)

RULES = (
    Rule(
        codes=("contact_drop_good", "contact_drop_bad"),
        needs=(a_reading("contact_voltage_drop"),),
        judge=_drops,
        tells="whether a contact is bad",
        source="Training article on loaded voltage drop: hundredths of a volt good, tenths bad; P = I V",
        caution=CARE,
        asked_by=frozenset({"burnt", "discoloured", "power_switch", "contactor", "controls_scorched"}),
        weight=0.4,
    ),
    Rule(
        codes=("terminals_good", "terminal_warm", "terminal_hot"),
        needs=(a_reading("terminal_temperature"), COMPARED),
        judge=_terminals,
        tells="whether a joint is hot",
        source="ANSI/NETA MTS and ATS, Table 100.18",
        caution=CARE,
        asked_by=ELECTRICAL,
        weight=0.4,
    ),
)
