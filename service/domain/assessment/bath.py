"""The bath: its temperature against its set point and the usual band, its level, and the loop's rise."""

from collections.abc import Iterator

from service.domain.assessment.air import air_entering
from service.domain.assessment.bands import BATH_BAND, BEER_WANTED
from service.domain.assessment.correcting import volumes
from service.domain.assessment.evidence import MOMENT, PUMPS, Evidence, a_reading, computed, percent, worth
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.motors import stands
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.strength import strength_if_known
from service.domain.assessment.uncertainty import THERMOMETER, surely_over, surely_under, taken, together, uncertainty
from service.domain.assessment.warm_bath import warm, warmest
from service.domain.maintenance.catalogue import DRY_PUMP, FOOD_GRADE, LICENSED, LOCKOUT, SLIPPERY
from service.domain.physics.glycol.mix import VOLUME, strength_after_pouring
from service.domain.physics.glycol.properties import ROOM, STRENGTH
from service.domain.physics.ranges import above, below

RISE = together(THERMOMETER, THERMOMETER)
COLDER_THAN_SET = 2.0  # K below the set point, where the controller should have stopped; judged, no source
LOW_LEVEL, VERY_LOW_LEVEL = 0.85, 0.80
MUCH_RISE = 6.0 / 1.8  # K; common practice, no source
GALLON_AN_HOUR = 1.0515e-6  # m3/s
USUAL_FLOW = (50.0 * GALLON_AN_HOUR, 100.0 * GALLON_AN_HOUR)  # a trunk, judged; a trade page: of a pump
LEAST_FLOW = 0.6 * USUAL_FLOW[0]  # a trunk; judged, no source


def _temperature(e: Evidence) -> Iterator[Finding]:
    reading = e.reading("bath_temperature")
    bath = reading.value.value
    figures: dict[str, Figure] = {
        "bath_temperature": taken(reading),
        "band_low": computed(BATH_BAND[0], "temperature"),
        "band_high": computed(BATH_BAND[1], "temperature"),
    }
    if e.bath.set_point is not None:
        figures["set_point"] = e.bath.set_point
    text = f"The bath is at {e.show_reading(reading)}"
    if surely_over(bath, warmest(e), THERMOMETER):
        yield warm(e, text, figures)
    elif surely_over(bath, BATH_BAND[1], THERMOMETER) and (set_to := _set_to(e)) is not None:
        yield note(
            "bath_set_warm",
            f"{text}, as set ({e.temperature(set_to)}). {_band(e)} is usual for beer at {e.temperature(BEER_WANTED)}.",
            advice="Ask why it is set so high. Lower it once the glycol is strong enough.",
            **figures,
        )
    elif surely_under(bath, BATH_BAND[0], THERMOMETER):
        yield _cold(e, text, figures)
    elif below(bath, BATH_BAND[0]) or above(bath, BATH_BAND[1]):
        side = "under" if bath < BATH_BAND[0] else "over"
        text += f", just {side} the usual band of {_band(e)}: too close to tell with one thermometer."
        advice = "Read it again after a cycle of the compressor, and compare with the controller's display."
        yield note("bath_near_band", text, advice=advice, **figures)
    else:
        yield fine("bath_in_band", f"{text}, in the usual band of {_band(e)}.", **figures)


def _set_to(e: Evidence) -> float | None:
    """What the controller is set to, as read or as recorded [K]."""
    return e.value("controller_set_point") if e.has("controller_set_point") else worth(e.bath.set_point)


def _band(e: Evidence) -> str:
    return f"{e.temperature(BATH_BAND[0])} to {e.temperature(BATH_BAND[1])}"


def _cold(e: Evidence, text: str, figures: dict[str, Figure]) -> Finding:
    set_point = worth(e.bath.set_point)
    if set_point is not None and surely_under(e.value("bath_temperature"), set_point - COLDER_THAN_SET, THERMOMETER):
        return _under_set(e, text, set_point, figures)
    advice = "Check that the glycol is strong enough for the coil, which is colder than the bath."
    return note("bath_cold", f"{text}, colder than the usual {_band(e)}.", advice=advice, **figures)


def _under_set(e: Evidence, text: str, set_point: float, figures: dict[str, Figure]) -> Finding:
    text += f", well below its set point of {e.temperature(set_point)}"
    if e.has("controller_set_point") and bath_as_set(e):
        shown = e.show_reading(e.reading("controller_set_point"))
        text += f", as the controller is set ({shown})"
        advice = "Put the set point right first; the refrigeration does what it is set to."
        return note("bath_colder_than_set", f"{text}.", advice=advice, **figures)
    air = air_entering(e)
    if stands(e, "compressor") or operating_state(e).state in ("off", "idle", "satisfied"):
        why = f": the air at {e.temperature(air)} may have cooled it" if air is not None and air < set_point else ""
        advice = "The compressor is off, so no control is stuck. Compare the bath with the controller's display."
        return note("bath_colder_than_set", f"{text} with the compressor at rest{why}.", advice=advice, **figures)
    if air is not None and air < set_point:
        advice = "Check whether the compressor runs: cold air alone can cool the bath."
        text += f", and the air is at {e.temperature(air)}"
        return note("bath_colder_than_set", f"{text}.", advice=advice, **figures)
    return act(
        "bath_colder_than_set",
        f"{text}: the refrigeration does not switch off.",
        advice="Check the controller, its probe and its contacts, and whether a contactor is stuck.",
        **figures,
    )


def bath_as_set(e: Evidence) -> bool:
    """Whether the bath is not surely colder than the set point that was read at the controller."""
    wanted = e.value("controller_set_point") - COLDER_THAN_SET
    return not surely_under(e.value("bath_temperature"), wanted, THERMOMETER)


def _level(e: Evidence) -> Iterator[Finding]:
    reading = e.reading("bath_level")
    level = reading.value.value
    if level >= LOW_LEVEL:
        yield fine(
            "bath_level_good", f"The bath is {percent(level)} full {MOMENT[reading.when]}.", level=taken(reading)
        )
        return
    text = f"The bath is only {percent(level)} full {MOMENT[reading.when]}."
    watered, figures = _watered(e)
    advice = (
        "Find the leak or the open cap. Top up through the strainer with glycol of the right strength; keep air out "
        f"of the pump.{watered}"
    )
    if level < VERY_LOW_LEVEL:
        text += " The pump may draw air, the refrigeration may short-cycle and the bath may freeze."
        yield act("bath_level_low", text, advice=advice, level=taken(reading), **figures)
    else:
        yield note("bath_level_low", text, advice=advice, level=taken(reading), **figures)


def _watered(e: Evidence) -> tuple[str, dict[str, Figure]]:
    """The strength after a top-up with plain water, where it can be calculated."""
    present = strength_if_known(e)
    if present is None or e.bath.volume is None or present > STRENGTH.high:
        return "", {}
    now, full = volumes(e)
    if not VOLUME.low <= now <= full <= VOLUME.high:
        return "", {}
    left = strength_after_pouring(volume=now, temperature=ROOM, present=present, poured_volume=full - now, poured=0.0)
    text = f" A top-up with water alone would leave {percent(left)} by mass."
    return text, {"missing": computed(full - now, "volume"), "strength_with_water": computed(left, "mass_fraction")}


def _rise(e: Evidence) -> Iterator[Finding]:
    supply, back = e.value("glycol_supply_temperature"), e.value("glycol_return_temperature")
    rise = back - supply
    figures: dict[str, Figure] = {
        "supply": taken(e.reading("glycol_supply_temperature")),
        "return": taken(e.reading("glycol_return_temperature")),
        "rise": Uncertain(rise, "temperature_difference", RISE),
    }
    text = f"Glycol supply is at {e.temperature(supply)}, return at {e.temperature(back)}"
    if stands(e, *PUMPS):
        return  # without flow the two show the air beside the pipes
    few = _little_flow(e, figures)
    if few:
        advice = "Check strainer, valves, ice and air in the loop, glycol strength, and the pump; then read it again."
        yield note("loop_flow_low", f"{text}, and {few}", advice=advice, **figures)
    elif surely_over(rise, MUCH_RISE, RISE) and _flow_is_usual(e):
        advice = "Look for wet or missing insulation, warm kegs and much pouring; set the load against the capacity."
        figures["glycol_flow"] = taken(e.reading("glycol_flow"))
        text += f", and the flow of {e.show_reading(e.reading('glycol_flow'))} is not low: a high heat load."
        yield note("loop_rise_high", text, advice=advice, **figures)
    elif surely_over(rise, MUCH_RISE, RISE):
        advice = "Check pump, strainer, valves, air in the loop, glycol strength, and the insulation along the trunk."
        yield note("loop_rise_high", f"{text}: low flow or a high heat load.", advice=advice, **figures)
    elif surely_under(rise, 0.0, RISE):
        advice = "Read both again: the readings were probably swapped, or the unit had just started."
        yield note("loop_rise_negative", f"{text}: the return is colder than the supply.", advice=advice, **figures)
    else:
        yield _usual_rise(e, rise, text, figures)


def _usual_rise(e: Evidence, rise: float, text: str, figures: dict[str, Figure]) -> Finding:
    """A rise that is not surely much; beside a usual flow it is the load, which `load` sets against the capacity."""
    if below(rise, 0.0):
        return fine("loop_rise_good", f"{text}: no rise that two probes can show.", **figures)
    if not above(rise, MUCH_RISE):
        return fine("loop_rise_good", f"{text}: a usual rise.", **figures)
    text += f", a rise just over {e.difference(MUCH_RISE)}"
    if _flow_is_usual(e):
        figures["glycol_flow"] = taken(e.reading("glycol_flow"))
        text += f" with a flow of {e.show_reading(e.reading('glycol_flow'))}, which is not low."
        return fine("loop_rise_good", text, **figures)
    advice = "Read both again with one probe." if e.has("glycol_flow") else ONE_PROBE_OR_FLOW
    much = "the load is high" if e.has("glycol_flow") else "the flow is low"
    return note("loop_rise_unclear", f"{text}: too close to tell whether {much}.", advice=advice, **figures)


ONE_PROBE_OR_FLOW = "Read both again with one probe, or measure the flow."


def _little_flow(e: Evidence, figures: dict[str, Figure]) -> str | None:
    """The flow in a sentence, where it was read and is surely under what such a unit needs."""
    if not e.has("glycol_flow"):
        return None
    reading = e.reading("glycol_flow")
    trunks = _count(e)
    if not surely_under(reading.value.value, LEAST_FLOW * trunks, uncertainty(reading)):
        return None
    figures["glycol_flow"] = taken(reading)
    least, most = (e.show(each * trunks, "volume_flow") for each in USUAL_FLOW)
    return f"the flow is {e.show_reading(reading)}: low; {least} to {most} is usual for {trunks} {_trunks(trunks)}."


def _flow_is_usual(e: Evidence) -> bool:
    return e.has("glycol_flow") and not below(e.value("glycol_flow"), USUAL_FLOW[0] * _count(e))


def _count(e: Evidence) -> int:
    return max(len(e.unit.trunks), 1)


def _trunks(count: int) -> str:
    return "trunk" if count == 1 else "trunks"


CARE = f"{LOCKOUT} {LICENSED}"
ASKING = frozenset({"warm_pour", "foaming", "alarm", "frozen", "temperature_controller"})

RULES = (
    Rule(
        codes=(
            "bath_in_band",
            "bath_near_band",
            "bath_warm",
            "bath_set_warm",
            "bath_cold",
            "bath_colder_than_set",
        ),
        needs=(a_reading("bath_temperature"),),
        judge=_temperature,
        shows="whether the bath is cold enough",
        source="28 to 33 °F spans a regional beer-system guide (28 to 31), a beer wholesaler (30 to 33), Foodservice "
        "Equipment & Supplies (about 30) and a beer-system technician manual (below 30)",
        caution=CARE,
        asked_by=ASKING,
        weight=2.0,
    ),
    Rule(
        codes=("bath_level_good", "bath_level_low"),
        needs=(a_reading("bath_level"),),
        judge=_level,
        shows="whether the pump can draw air",
        source="A dairy chiller guide: at least 85 % full; another guide: about 80 %",
        caution=f"{FOOD_GRADE} {DRY_PUMP} {SLIPPERY}",
        asked_by=frozenset({"leaking", "no_flow", "noisy", "air_in_lines", "glycol_leak", "pump", "bath_cap_missing"}),
        weight=0.8,
    ),
    Rule(
        codes=("loop_flow_low", "loop_rise_good", "loop_rise_high", "loop_rise_negative", "loop_rise_unclear"),
        needs=(a_reading("glycol_supply_temperature"), a_reading("glycol_return_temperature")),
        judge=_rise,
        shows="whether the loop has flow",
        source="1000 Btu/h warm 50 gal/h by 2.6 °F (heat balance); 6 °F as the limit: common practice, no source; a "
        "glycol-pump trade page: 50 to 100 gal/h of a beer unit's pump; so much for each trunk: judged, no source",
        caution=CARE,
        asked_by=frozenset({"warm_pour", "no_flow", "air_in_lines"}),
        weight=0.8,
    ),
)
