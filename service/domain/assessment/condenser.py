"""The condenser of a running unit: its split against what is expected of it today, and the air's rise."""

from collections.abc import Iterator

from service.domain.assessment.air import AIR, air_reading
from service.domain.assessment.air_rise import AIRS, ASKING, CARE, LITTLE, LITTLE_HEAT, starved, warms_more
from service.domain.assessment.clean_split import (
    expected_split,
    meant_in_celsius,
    perhaps_celsius,
    recorded_split,
    usual_bath,
)
from service.domain.assessment.condenser_cleaning import CLEANED, cleaned, found_clean, left_dirty
from service.domain.assessment.condenser_cost import cost
from service.domain.assessment.evidence import Evidence, Need, a_reading, computed
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.head_control import COLD_AIR, may_be_held
from service.domain.assessment.motors import stands
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.refrigerant_of import (
    DISCHARGE,
    REFRIGERANT,
    condensing,
    condensing_uncertainty,
)
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.superheats import much_liquid
from service.domain.assessment.uncertainty import SURE, THERMOMETER, surely_over, surely_under, together
from service.domain.physics.ranges import above, below
from service.domain.physics.refrigeration.condenser import (
    OLD_SPLIT,
    SPLIT,
    SPLIT_ALARM,
    USUAL_SPLIT,
    condenser_split,
)

NOTED = 5.0 / 1.8  # K over the split expected; half the alarm, judged
LIKELY = 1.5  # standard uncertainties: over the split expected with a probability of 93 %
NOTED_WITH_RISE = 2.5 / 1.8  # K, where its air warms up more than expected as well; judged
MUCH_WARMER = 8.0 / 1.8  # K of the air entering over that around; common practice, no source

UNKNOWN_HEIGHT = 2.0 / 1.8  # K: at 5 280 ft a clean split seems 3.8 °F more if sea level is assumed (steady cycle)
LEAST_SPLIT = 0.5  # of the split expected; less is little heat; judged, no source
EXPECTATION = 0.1  # of the clean split: standard uncertainty of what is expected; judged
BY_BATH = 0.5  # the same of what a warm bath and thin air add to it, for which no unit has been measured; judged
WARM_BATH = 4.0  # K over where the clean split is read; judged, no source
CLEAN = (
    "Clean the condenser and clear its air path. Check that the fan turns the right way at full speed and that warm "
    "air does not recirculate. Then read the split again before changing the charge."
)
OVERFULL = (
    "With this much subcooling dirt is not the likely cause: too much refrigerant or gas that does not condense is. "
    "Look at the condenser's face, and clean it only if it is dirty."
)
NOT_THE_AIR = (
    "Its air warms up no more than usual, so dirt is not the likely cause: too much refrigerant or gas that does not "
    "condense is. At rest, compare the pressure with that of the bath's temperature; clean only what is dirty."
)
LOOK = "Look at the condenser's whole face and at its fan, and clean it if it is dirty; compare the split next time."
AIR_FIRST = "Give the air its way first; then read the split again."
NEAR_SET, WITH_BATH = "Read it again when the bath is near its set point", "Read the bath with it"
TOO_WARM = "with a warm bath a clean condenser has a high split too."
NOT_DIRT = (
    "so dirt is not the likely cause: check that the fan turns the right way at full "
    "speed and that warm air does not recirculate. Then, at rest, compare the pressure with that of the bath's "
    "temperature: a higher one shows gas that does not condense."
)
FAN_FIRST = "Switch the unit off: without its fan the compressor overheats. Repair the condenser fan, then read again."


def _expectation_error(expected: float, clean: float) -> float:
    return together(EXPECTATION * clean, BY_BATH * (expected - clean))


def _split(e: Evidence) -> Iterator[Finding]:
    reading = air_reading(e)
    if reading is None or not operating_state(e).settled:
        return
    air, clean = reading.value.value, recorded_split(e)
    found = condenser_split(condensing=condensing(e), air_in=air)
    spread = together(condensing_uncertainty(e), THERMOMETER)
    figures: dict[str, Figure] = {
        "split": Uncertain(found, "temperature_difference", spread),
        "condensing": Uncertain(condensing(e), "temperature", condensing_uncertainty(e)),
        "air_in": Uncertain(air, "temperature", THERMOMETER),
    }
    held = may_be_held(condensing=condensing(e), air=air)
    text = f"The condenser is {e.difference(found)} above the {AIR[reading.quantity]}, {e.temperature(air)}"
    if surely_under(found, 0.0, spread):
        yield _impossible(e, reading.quantity, found, air, figures)
    elif stands(e, "condenser_fan") and above(found, USUAL_SPLIT[1]) and not held:
        yield act("condenser_split_high", f"{text}, and its fan draws no current.", advice=FAN_FIRST, **figures)
    elif below(air, COLD_AIR) and (held or meant_in_celsius(e, reading)) and not _as_clean(e, found, clean):
        why = "a control may hold the head pressure up" if held else "no sound condenser is as warm"
        text += f"; in air this cold {why}, so the split does not show dirt"
        advice = f"Judge the condenser in air above {e.temperature(COLD_AIR)}, or by its looks and its air rise."
        yield note("condenser_split_unjudged", f"{text}.", advice=perhaps_celsius(e, reading) + advice, **figures)
    elif clean is None:
        yield _against_usual(e, found, spread, text, figures)
    else:
        yield _against_clean(
            e, split=SPLIT.check(max(found, 0.0)), clean=clean, spread=spread, text=text, figures=figures
        )


def _as_clean(e: Evidence, found: float, clean: float | None) -> bool:
    """Whether a split [K] is no more than that of the clean condenser: a control can only raise it."""
    return clean is not None and below(found, expected_split(e, clean) + NOTED)


def _impossible(e: Evidence, quantity: str, found: float, air: float, figures: dict[str, Figure]) -> Finding:
    elsewhere = "" if quantity == "condenser_air_in_temperature" else ", or the condenser stands in other air"
    return note(
        "condenser_split_unjudged",
        f"The condenser would be {e.difference(-found)} colder than the {AIR[quantity]}, {e.temperature(air)}: no "
        f"running unit's is. A gauge, a thermometer or the refrigerant on record is wrong{elsewhere}.",
        advice="Check the refrigerant on the nameplate; then read head pressure and air again.",
        **figures,
    )


def _against_usual(e: Evidence, found: float, spread: float, text: str, figures: dict[str, Figure]) -> Finding:
    usual = f"{e.difference(USUAL_SPLIT[0])} to {e.difference(USUAL_SPLIT[1])}"
    if surely_over(found, expected_split(e, OLD_SPLIT), spread):
        return act(
            "condenser_split_high",
            f"{text}; {usual} is usual for a clean condenser.",
            advice=_advice(e, CLEAN),
            **figures,
        )
    if surely_under(found, LEAST_SPLIT * USUAL_SPLIT[0], spread):
        return note("condenser_split_low", f"{text}; {usual} is usual: {LITTLE}", advice=LITTLE_HEAT, **figures)
    advice = "Record this unit's clean split, read after cleaning: only the change from it shows dirt."
    return note("condenser_split_unjudged", f"{text} (usual: {usual}).", advice=advice, **figures)


def _advice(e: Evidence, clean: str) -> str:
    """To clean, unless liquid or air's rise show that something else holds the head up, or its own air comes back."""
    if found_clean(e):
        return f"It was found clean, {NOT_DIRT}"
    if cleaned(e) and e.moment == "as_left":
        return f"It was cleaned in this visit, {NOT_DIRT}"
    own = recorded_split(e)
    short = starved(e, expected_split(e, own)) if own is not None else None
    if short is False:
        return NOT_THE_AIR
    if much_liquid(e) and not short:
        return OVERFULL
    return AIR_FIRST if _comes_back(e) else clean


def _against_clean(
    e: Evidence, *, split: float, clean: float, spread: float, text: str, figures: dict[str, Figure]
) -> Finding:
    expected = expected_split(e, clean)
    unsure = _expectation_error(expected, clean)
    excess, spread = split - expected, together(spread, unsure)
    figures |= {
        "clean_split": computed(clean, "temperature_difference"),
        "expected_split": Uncertain(expected, "temperature_difference", unsure),
        "excess": Uncertain(excess, "temperature_difference", spread),
    }
    today = "" if expected < clean + 0.5 else f", {e.difference(expected)} expected with this bath and elevation"
    beside = f"{text}; its clean split is {e.difference(clean)}{today}"
    if surely_under(split, LEAST_SPLIT * expected, spread):
        return note("condenser_split_low", f"{beside}: {LITTLE}", advice=LITTLE_HEAT, **figures)
    unsure = spread if e.elevation is not None else together(spread, UNKNOWN_HEIGHT)
    if not _noticeable(e, excess, expected, unsure):
        return fine("condenser_split_good", f"{beside}: good.", **figures)
    loss, more = cost(e, split=split, clean=expected)
    dirty = left_dirty(e)
    if dirty or above(excess - SPLIT_ALARM, spread):  # cleaning costs little: five in six is sure enough
        return act("condenser_split_high", f"{beside}{dirty}.{loss}", advice=_advice(e, CLEAN), **figures, **more)
    if (again := _other_bath(e)) is not None:
        return note(
            "condenser_split_rising", f"{beside}.", advice=again if cleaned(e) else _advice(e, again), **figures
        )
    if above(excess, SPLIT_ALARM - spread):
        limit = e.difference(SPLIT_ALARM)
        loss = f" The excess is too close to {limit} to tell whether it has to be cleaned now.{loss}"
    if below(excess, NOTED):
        beside += f": {e.difference(excess)} more, where the readings are good to {e.difference(SURE * unsure)}"
        return note("condenser_split_rising", f"{beside}.", advice=_advice(e, LOOK), **figures)
    return note("condenser_split_rising", f"{beside}.{loss}", advice=_advice(e, "Clean it soon."), **figures, **more)


def _noticeable(e: Evidence, excess: float, expected: float, spread: float) -> bool:
    """Whether a split is probably over that expected, by itself or by the air's rise beside it."""
    if not below(excess, NOTED) or above(excess, LIKELY * spread):
        return True
    return above(excess, NOTED_WITH_RISE) and warms_more(e, expected)


def _other_bath(e: Evidence) -> str | None:
    """What to read before a split is put down to dirt, where the bath is not known to be near its set point."""
    before = "" if cleaned(e) else ", before you clean"
    if not e.has("bath_temperature"):
        return f"{WITH_BATH}{before}: {TOO_WARM}"
    warm = above(e.value("bath_temperature"), usual_bath(e) + WARM_BATH)
    return f"{NEAR_SET}{before}: {TOO_WARM}" if warm else None


def _comes_back(e: Evidence) -> bool:
    """Whether the air that enters surely is far warmer than the air around."""
    if not (e.has("condenser_air_in_temperature") and e.has("ambient_temperature")):
        return False
    excess = e.value("condenser_air_in_temperature") - e.value("ambient_temperature")
    return surely_over(excess, MUCH_WARMER, AIRS)


def _recirculates(e: Evidence) -> Iterator[Finding]:
    air, around = e.reading("condenser_air_in_temperature"), e.reading("ambient_temperature")
    excess = air.value.value - around.value.value
    if not _comes_back(e) or not operating_state(e).settled:
        return
    yield act(
        "condenser_air_recirculates",
        f"The air entering the condenser, {e.show_reading(air)}, is {e.difference(excess)} warmer than the air around, "
        f"{e.show_reading(around)}: it draws in its own warm air or another unit's, unless it stands "
        "elsewhere.",
        advice="Move what stands before it and give the outgoing air a way out; then read both again before you clean.",
        excess=Uncertain(excess, "temperature_difference", AIRS),
    )


AIR_IN = Need(
    "condenser_air_in_temperature",
    "visit",
    "the temperature of the air entering the condenser",
    lambda e: air_reading(e) is not None,
)

RULES = (
    Rule(
        codes=(
            "condenser_split_good",
            "condenser_split_rising",
            "condenser_split_high",
            "condenser_split_unjudged",
            "condenser_split_low",
        ),
        needs=(REFRIGERANT, DISCHARGE, AIR_IN),
        judge=_split,
        shows="whether the condenser is dirty and what it costs",
        source="10 °F above the unit's clean split, for the heat of today's bath: common practice, no source; clean "
        "splits in print 20 to 35 °F, older units to 40 °F (training site, trade magazine); heat and cost by the "
        "vapour-compression cycle, CoolProp 8",
        caution=CARE,
        repaired_by=CLEANED,
        asked_by=ASKING,
    ),
    Rule(
        codes=("condenser_air_recirculates",),
        needs=(a_reading("condenser_air_in_temperature"), a_reading("ambient_temperature")),
        judge=_recirculates,
        shows="whether the condenser draws in its own air",
        source="common practice, no source: 8 °F between the air at the inlet and that around",
        caution=CARE,
        asked_by=ASKING,
        weight=0.2,
    ),
)
