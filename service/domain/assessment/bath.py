"""The bath: its temperature against what it is set to and what beer needs, its level, and the loop's rise."""

from collections.abc import Iterator

from service.domain.assessment.bands import BATH_BAND, BEER_WANTED, THERMOMETER
from service.domain.assessment.correcting import volumes
from service.domain.assessment.evidence import MOMENT, Evidence, a_reading, computed, percent, worth
from service.domain.assessment.rule import Rule, Said, act, fine, note
from service.domain.assessment.statement import Figure
from service.domain.assessment.strength import strength_if_known
from service.domain.assessment.timed_bath import verdict
from service.domain.maintenance.catalogue import DRY_PUMP, FOOD_GRADE, LICENSED, LOCKOUT, SLIPPERY
from service.domain.physics.bath.pull_down_verdict import DIFFERENTIAL, Verdict
from service.domain.physics.glycol.mix import VOLUME, strength_after_pouring
from service.domain.physics.glycol.properties import ROOM, STRENGTH
from service.domain.physics.ranges import above, below

COLDER_THAN_SET = 2.0  # K under the set point at which the controller ought to have stopped; judged, no source
LOW_LEVEL, VERY_LOW_LEVEL = 0.85, 0.80
MUCH_RISE = 6.0 / 1.8  # K; common practice, no source


def _temperature(e: Evidence) -> Iterator[Said]:
    reading = e.reading("bath_temperature")
    bath, set_point = reading.value.value, worth(e.bath.set_point)
    figures: dict[str, Figure] = {
        "bath_temperature": reading.value,
        "band_low": computed(BATH_BAND[0], "temperature"),
        "band_high": computed(BATH_BAND[1], "temperature"),
    }
    if e.bath.set_point is not None:
        figures["set_point"] = e.bath.set_point
    said = f"The bath is at {e.told(reading)}"
    if above(bath, _warmest(e) + THERMOMETER):
        yield _warm(e, said, figures)
    elif above(bath, BATH_BAND[1] + THERMOMETER) and set_point is not None:
        yield note(
            "bath_set_warm",
            f"{said}, as set ({e.temperature(set_point)}), but {_band(e)} is usual where beer is to pour at "
            f"{e.temperature(BEER_WANTED)}.",
            advice="Ask why it is set so, and lower it once the glycol's strength allows it.",
            **figures,
        )
    elif below(bath, BATH_BAND[0] - THERMOMETER):
        yield _cold(e, said, figures)
    else:
        yield fine("bath_in_band", f"{said}: in the usual band, {_band(e)}.", **figures)


def _band(e: Evidence) -> str:
    return f"{e.temperature(BATH_BAND[0])} to {e.temperature(BATH_BAND[1])}"


def _warmest(e: Evidence) -> float:
    """The warmest that the bath may be: by its controller where that is recorded, else by the usual band [K]."""
    set_point, differential = worth(e.bath.set_point), worth(e.bath.differential)
    if set_point is None:
        return BATH_BAND[1]
    return max(set_point + (DIFFERENTIAL if differential is None else differential), BATH_BAND[1])


def _warm(e: Evidence, said: str, figures: dict[str, Figure]) -> Said:
    over = f"{said}, warmer than {e.temperature(_warmest(e))}"
    doing = verdict(e)
    if doing is Verdict.RECOVERING:
        return note("bath_warm", f"{over}, and on its way down.", advice="See it to its set point.", **figures)
    if doing is Verdict.TOO_EARLY or e.visit.outcome == "recovering":
        advice = "Take two bath temperatures ten minutes apart, each with its time: they show whether it comes down."
        return note("bath_warm", f"{over}.", advice=advice, **figures)
    advice = (
        "Check that the compressor and the condenser fan run, that condenser and air are free, that the controller "
        "calls, and that the pump moves the glycol."
    )
    return act("bath_warm", f"{over}.", advice=advice, **figures)


def _cold(e: Evidence, said: str, figures: dict[str, Figure]) -> Said:
    set_point = worth(e.bath.set_point)
    if set_point is not None and below(e.value("bath_temperature"), set_point - COLDER_THAN_SET):
        return act(
            "bath_colder_than_set",
            f"{said}, well below its set point, {e.temperature(set_point)}: the refrigeration does not stop.",
            advice="Check the controller, its probe and its contacts, and whether a contactor is stuck.",
            **figures,
        )
    advice = "Make sure that the glycol is strong enough for the coil, which is colder than the bath."
    return note("bath_cold", f"{said}, colder than the usual {_band(e)}.", advice=advice, **figures)


def _level(e: Evidence) -> Iterator[Said]:
    reading = e.reading("bath_level")
    level = reading.value.value
    if level >= LOW_LEVEL:
        yield fine("bath_level_good", f"The bath is {percent(level)} full {MOMENT[reading.when]}.", level=reading.value)
        return
    said = f"The bath is only {percent(level)} full {MOMENT[reading.when]}."
    watered, figures = _watered(e)
    advice = (
        "Find the leak or the open cap, then top up with mixture of the right strength, through the strainer; let no "
        f"air into the pump.{watered}"
    )
    if level < VERY_LOW_LEVEL:
        said += " The pump may draw air, the refrigeration short-cycles and the bath can freeze."
        yield act("bath_level_low", said, advice=advice, level=reading.value, **figures)
    else:
        yield note("bath_level_low", said, advice=advice, level=reading.value, **figures)


def _watered(e: Evidence) -> tuple[str, dict[str, Figure]]:
    """What strength a top-up with plain water would leave, where that can be told."""
    present = strength_if_known(e)
    if present is None or e.bath.volume is None or present > STRENGTH.high:
        return "", {}
    now, full = volumes(e)
    if not VOLUME.low <= now <= full <= VOLUME.high:
        return "", {}
    left = strength_after_pouring(volume=now, temperature=ROOM, present=present, poured_volume=full - now, poured=0.0)
    said = f" Water alone would leave it at {percent(left)} by mass."
    return said, {"missing": computed(full - now, "volume"), "strength_with_water": computed(left, "mass_fraction")}


def _rise(e: Evidence) -> Iterator[Said]:
    supply, back = e.value("glycol_supply_temperature"), e.value("glycol_return_temperature")
    rise = back - supply
    figures: dict[str, Figure] = {"rise": computed(rise, "temperature_difference")}
    said = f"The glycol goes out at {e.temperature(supply)} and comes back at {e.temperature(back)}"
    if above(rise, MUCH_RISE):
        advice = "Check pump, strainer, valves and air in the loop, the strength, and the insulation along the trunk."
        yield note("loop_rise_high", f"{said}: little flow, or much heat.", advice=advice, **figures)
    elif below(rise, -THERMOMETER):
        advice = "Read both again; probably they were exchanged, or the unit was just started."
        yield note("loop_rise_negative", f"{said}, colder than it went.", advice=advice, **figures)
    else:
        yield fine("loop_rise_good", f"{said}: the loop flows.", **figures)


CARE = f"{LOCKOUT} {LICENSED}"
ASKING = frozenset({"warm_pour", "foaming", "alarm", "frozen", "temperature_controller"})

RULES = (
    Rule(
        codes=("bath_in_band", "bath_warm", "bath_set_warm", "bath_cold", "bath_colder_than_set"),
        needs=(a_reading("bath_temperature"),),
        judge=_temperature,
        tells="whether the bath is as cold as it should be",
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
        tells="whether the pump can draw air",
        source="A dairy chiller guide: at least 85 % full; another guide: about 80 %",
        caution=f"{FOOD_GRADE} {DRY_PUMP} {SLIPPERY}",
        asked_by=frozenset({"leaking", "no_flow", "noisy", "air_in_lines", "glycol_leak", "pump", "bath_cap_missing"}),
        weight=0.8,
    ),
    Rule(
        codes=("loop_rise_good", "loop_rise_high", "loop_rise_negative"),
        needs=(a_reading("glycol_supply_temperature"), a_reading("glycol_return_temperature")),
        judge=_rise,
        tells="whether the loop flows",
        source="1000 Btu/h warm 50 gal/h by 2.6 °F (heat balance); 6 °F as the limit: common practice, no source",
        caution=CARE,
        asked_by=frozenset({"warm_pour", "no_flow", "air_in_lines"}),
        weight=0.8,
    ),
)
