"""Voltages at, before, behind and across a component: where the power stops, and what is live."""

from collections.abc import Iterator

from service.domain.assessment.clues import DEAD
from service.domain.assessment.currents import ELECTRICAL
from service.domain.assessment.evidence import MOMENT, Evidence, Need, listed, worth
from service.domain.assessment.figure import Figure
from service.domain.assessment.finding import Finding
from service.domain.assessment.motors import cooling_wanted, draws_current, runs
from service.domain.assessment.rule import Rule, act, fine, note, stop
from service.domain.assessment.switches import MOTORS
from service.domain.assessment.uncertainty import surely_over, taken, together, uncertainty
from service.domain.maintenance.catalogue import LICENSED, LOCKOUT
from service.domain.quantities import format_quantity
from service.domain.record.visits import Reading

LIVE = 50.0  # V: what may hurt; common practice for alternating current, from memory
MUCH_OVER_A_CONTACT = 1.0  # V: tenths of a volt are bad already (training article on loaded voltage drop)
LOST = 0.05  # of the supply, from panel to motor: NEC 210.19 and 215.2, informational notes, from memory
CALLED = ("contactor", "temperature_controller")  # these open by themselves when no cooling is wanted
PLACES = {
    "voltage_at": "at its terminals",
    "voltage_before": "before it",
    "voltage_behind": "behind it",
    "voltage_across": "across it",
}
UPSTREAM = (
    "Follow the voltage from the panel: breaker, outlet and cord. A breaker that trips again stays off until the short "
    "or the overload is found."
)
KEEP_OFF = "Keep hands and tools off: it is live although it looks dead. Switch off, lock out and prove it dead first."


def _codes(e: Evidence) -> list[str]:
    """The components at which a voltage was read."""
    return list(dict.fromkeys(each.component or "" for quantity in PLACES for each in e.each(quantity)))


def _dark_controller(e: Evidence) -> Iterator[Finding]:
    """A dark display although there is supply: what lies between is live."""
    if "display_dark" not in e.seen or not e.has("supply_voltage") or runs(e, "compressor"):
        return
    supply = e.reading("supply_voltage")
    if supply.value.value <= LIVE or before_dark_display(e) is not None:
        return
    if any(e.kind_at(code) == "temperature_controller" for code in _codes(e)):
        return  # its own voltages were read, and say more
    yield stop(
        "voltage_at_dead_controller",
        f"The controller is dark, but the supply is at {e.show_reading(supply)}: parts that look dead are live. The "
        "power stops between the two, or the controller has failed.",
        advice=f"{KEEP_OFF} Then read the voltage before and behind the switch and at the controller: a controller "
        "that has voltage and is dark has failed.",
        supply_voltage=taken(supply),
        observed="display_dark",
    )


def _voltages(e: Evidence) -> Iterator[Finding]:
    for code in _codes(e):
        found = {quantity: reading for quantity in PLACES if (reading := e.reading_at(quantity, code))}
        figures: dict[str, Figure] = {"component": code, **{name: taken(each) for name, each in found.items()}}
        volts = {name: each.value.value for name, each in found.items()}
        reads = _reads(e, code, found)
        if dark := _dark(e, code, volts, reads, figures):
            yield dark
        elif _open(e, volts):
            yield _stops_here(e, code, reads, figures)
        elif _none_before(e, code, volts):
            yield act("no_voltage_before", f"{reads}: the power stops before it.", advice=UPSTREAM, **figures)
        elif (at := volts.get("voltage_at")) is not None and at > LIVE and _draws_nothing(e, code):
            advice = "Lock it out. Check overload, capacitor, relay and winding: the supply is not the cause."
            yield act("live_not_running", f"{reads}, but it draws no current.", advice=advice, **figures)
        elif over := _burning(volts, found):
            yield _poor_contact(e, over, reads, figures)
        elif drop := _lost(e, found):
            text = f"{reads}: {drop} is lost between the supply and it."
            advice = (
                "Look for a bad joint, cord or switch between panel and motor: read the voltage before and behind each."
            )
            yield act("voltage_lost", text, advice=advice, **figures)
        else:
            yield fine("voltages_read", f"{reads}.", **figures)


def _reads(e: Evidence, code: str, found: dict[str, Reading]) -> str:
    """What was read: "switch-1 has 117 V before it and 0 V behind it as found"."""
    read = listed(f"{format_quantity(each.value, e.system)} {PLACES[name]}" for name, each in found.items())
    return f"{code} has {read} {MOMENT[next(iter(found.values())).when]}"


def _dark(e: Evidence, code: str, volts: dict[str, float], reads: str, figures: dict[str, Figure]) -> Finding | None:
    """A controller that is dark and has voltage: a danger, and its failure."""
    if "display_dark" not in e.seen or e.kind_at(code) != "temperature_controller" or _supplied(volts) <= LIVE:
        return None
    text = f"{reads} and is dark: it is live, and the controller itself or its transformer has failed."
    return stop(
        "voltage_at_dead_controller", text, advice=f"{KEEP_OFF} Then replace it and find what burnt it.", **figures
    )


def _open(e: Evidence, volts: dict[str, float]) -> bool:
    rated = worth(e.supply.voltage)
    before = volts.get("voltage_before", rated or 0.0)
    if (behind := volts.get("voltage_behind")) is not None and behind < DEAD and before > LIVE:
        return "voltage_before" in volts or e.has("supply_voltage")
    return volts.get("voltage_across", 0.0) > LIVE


def _none_before(e: Evidence, code: str, volts: dict[str, float]) -> bool:
    """Whether no voltage reaches it, where no open contact before it, nor a supply that is off, says so already."""
    before = volts.get("voltage_before")
    dark = e.kind_at(code) == "temperature_controller" and "display_dark" in e.seen
    if before is None and dark:
        before = volts.get("voltage_at")
    if before is None or before >= DEAD or (e.kind_at(code) in MOTORS and not cooling_wanted(e)):
        return False
    # Read at another time than the currents, as before work; a pump that is fed beside a dark controller runs on.
    locked_out = runs(e, *(("compressor",) if dark else MOTORS))
    return not (locked_out or any(other != code for other in open_contacts(e)) or _supply_is_off(e))


def _supply_is_off(e: Evidence) -> bool:
    return e.has("supply_voltage") and all(each.value.value < DEAD for each in e.each("supply_voltage"))


def open_contacts(e: Evidence) -> list[str]:
    """The components that have voltage before them and none behind."""
    return [code for code in _codes(e) if _open(e, _at(e, code))]


def _at(e: Evidence, code: str) -> dict[str, float]:
    """The voltages read at a component [V]."""
    return {name: each.value.value for name in PLACES if (each := e.reading_at(name, code))}


def before_dark_display(e: Evidence) -> str | None:
    """Why a display is dark: no supply, an open contact before it, or, where it has voltage, the controller itself."""
    dark = "The controller's display is dark"
    if _supply_is_off(e):
        return f"{dark}: there is no supply."
    if opened := [code for code in open_contacts(e) if e.kind_at(code) not in CALLED]:
        return f"{dark}: the power stops before it, at {listed(opened)}."
    for code in _codes(e):
        kind, volts = e.kind_at(code), _at(e, code)
        if kind == "power_switch" and _none_before(e, code, volts):
            return f"{dark}: no voltage reaches {code}, which is before it."
        if kind == "temperature_controller" and _supplied(volts) > LIVE:
            return f"{dark} although it has voltage."
    return None


def _supplied(volts: dict[str, float]) -> float:
    """The voltage that reaches a component [V]."""
    return max(volts.get("voltage_at", 0.0), volts.get("voltage_before", 0.0))


def _stops_here(e: Evidence, code: str, reads: str, figures: dict[str, Figure]) -> Finding:
    text = f"{reads}: it is open, and the power stops there."
    if e.kind_at(code) in CALLED and not cooling_wanted(e):
        advice = "It opens when no cooling is wanted. Read it again while the controller calls."
        return note("power_stops_here", f"{text} That is usual while the bath is cold.", advice=advice, **figures)
    advice = (
        f"Treat {code} as live on its supply side. Check that it is switched on and not tripped. If it is, replace it, "
        "and read currents, terminals and its rating to find out why it failed."
    )
    return act("power_stops_here", text, advice=advice, **figures)


def _burning(volts: dict[str, float], found: dict[str, Reading]) -> float | None:
    """The voltage over a closed contact, where it is surely far more than a good one drops."""
    across = volts.get("voltage_across")
    if across is not None:
        return across if surely_over(across, MUCH_OVER_A_CONTACT, uncertainty(found["voltage_across"])) else None
    before, behind = volts.get("voltage_before"), volts.get("voltage_behind")
    if before is None or behind is None or behind < DEAD:
        return None
    over = before - behind  # the supply may change between the two; more than `LIVE` is no contact but a transformer
    spread = together(uncertainty(found["voltage_before"]), uncertainty(found["voltage_behind"]))
    return over if over <= LIVE and surely_over(over, MUCH_OVER_A_CONTACT, spread) else None


def _poor_contact(e: Evidence, over: float, reads: str, figures: dict[str, Figure]) -> Finding:
    return act(
        "contact_loses_voltage",
        f"{reads}: {e.show(over, 'voltage')} is lost in it although it is closed. A good contact drops under 0.1 V; "
        f"this one turns {over:.0f} W into heat for each ampere.",
        advice="Switch off and lock out before it burns. Replace it, and look for loose or discoloured lugs and for a "
        "load over its rating.",
        **figures,
    )


def _draws_nothing(e: Evidence, code: str) -> bool:
    current = e.reading_at("current", code)
    return e.kind_at(code) in MOTORS and current is not None and not draws_current(e, current)


def _lost(e: Evidence, found: dict[str, Reading]) -> str | None:
    """The voltage lost between the supply and a running motor, where it is surely over 5 %."""
    at = found.get("voltage_at")
    if at is None or not e.has("supply_voltage"):
        return None
    supply = e.reading("supply_voltage")
    lost = supply.value.value - at.value.value
    spread = together(uncertainty(at), uncertainty(supply)) / 2.0  # one meter: its scale cancels
    if not surely_over(lost, LOST * supply.value.value, spread) or at.value.value < DEAD:
        return None
    return e.show(lost, "voltage")


READ = Need(
    "voltage_before",
    "visit",
    "the voltage before and behind the switch",
    lambda e: any(e.has(quantity) for quantity in PLACES),
)

RULES = (
    Rule(
        codes=("voltage_at_dead_controller",),
        needs=(),
        judge=_dark_controller,
        shows="whether a dark controller has voltage",
        source="29 CFR 1910.147: verify that there is no voltage before work; common practice",
        caution=f"{LOCKOUT} Measuring voltage is live work, for qualified people only. {LICENSED}",
        lasts=True,
    ),
    Rule(
        codes=(
            "voltage_at_dead_controller",
            "power_stops_here",
            "no_voltage_before",
            "contact_loses_voltage",
            "live_not_running",
            "voltage_lost",
            "voltages_read",
        ),
        needs=(READ,),
        judge=_voltages,
        shows="where the power stops",
        source="A closed contact drops hundredths of a volt, an open one the supply (training article on loaded "
        "voltage drop); 5 % from panel to motor: NEC 210.19 and 215.2, informational notes, from memory; 29 CFR "
        "1910.147: verify",
        caution=f"{LOCKOUT} Measuring voltage is live work, for qualified people only. {LICENSED}",
        asked_by=ELECTRICAL | {"display_dark"},
        weight=0.4,
        lasts=True,
    ),
)
