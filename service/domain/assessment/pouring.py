"""The beer: its temperature at the tap and why, the cooler, and how much to purge."""

from collections.abc import Iterator, Sequence

from service.domain.assessment.bands import (
    BATH_BAND,
    BEER_FREEZES,
    BEER_UNDER,
    BEER_WANTED,
    COOLER_LEAST,
    COOLER_WANTED,
    FOOD_LIMIT,
)
from service.domain.assessment.evidence import Evidence, Need, a_reading, computed, listed
from service.domain.assessment.figure import Figure
from service.domain.assessment.finding import Finding
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.uncertainty import THERMOMETER, surely_over, surely_under, taken
from service.domain.maintenance.catalogue import LICENSED, LOCKOUT
from service.domain.physics.ranges import below
from service.domain.record.fleet import Run, Trunk
from service.domain.record.visits import Reading

MOST_NAMED = 5
WAY_GONE = 0.7  # of the way from the cooler's to the surroundings' temperature; judged, no source
LEAST_DISTANCE = 5.0  # K between cooler and surroundings, less shows nothing; judged, no source


def warm_taps(e: Evidence) -> list[Reading]:
    """The taps that pour warmer than wanted, the warmest first."""
    warm = [
        each for each in e.each("beer_temperature_at_tap") if surely_over(each.value.value, BEER_WANTED, THERMOMETER)
    ]
    return sorted(warm, key=lambda each: -each.value.value)


def cooler_is_warm(e: Evidence) -> bool:
    """Whether the cooler was read and is warmer than wanted."""
    return e.has("cooler_temperature") and surely_over(e.value("cooler_temperature"), COOLER_WANTED, THERMOMETER)


def bath_is_warm(e: Evidence) -> bool:
    """Whether the bath was read and is warmer than the usual band."""
    return e.has("bath_temperature") and surely_over(e.value("bath_temperature"), BATH_BAND[1], THERMOMETER)


def _beer(e: Evidence) -> Iterator[Finding]:
    taps, warm = e.each("beer_temperature_at_tap"), warm_taps(e)
    wanted = e.temperature(BEER_WANTED)
    if frozen := [each for each in taps if surely_under(each.value.value, BEER_FREEZES, THERMOMETER)]:
        yield _too_cold(e, frozen)
    if not warm and not frozen:
        measured = listed([f"{e.show_reading(each)} at tap {each.tap}" for each in taps[:MOST_NAMED]])
        figures: dict[str, Figure] = {f"tap {each.tap}": taken(each) for each in taps}
        yield fine("beer_cold", f"Beer pours cold: {measured} (target: {wanted} or less).", **figures)
    if warm:
        yield _warm_beer(e, taps, warm)


def _too_cold(e: Evidence, frozen: Sequence[Reading]) -> Finding:
    measured = listed([f"{e.show_reading(each)} at tap {each.tap}" for each in frozen[:MOST_NAMED]])
    figures: dict[str, Figure] = {f"tap {each.tap}": taken(each) for each in frozen}
    return act(
        "beer_too_cold",
        f"Beer reads {measured}: beer freezes at about {e.temperature(BEER_FREEZES)}.",
        advice="Read it again with another thermometer. If it is right, raise the bath's set point before a line "
        "freezes.",
        **figures,
    )


def _warm_beer(e: Evidence, taps: Sequence[Reading], warm: Sequence[Reading]) -> Finding:
    measured = listed([f"{e.show_reading(each)} at tap {each.tap}" for each in warm[:MOST_NAMED]])
    text = f"Beer pours warm: {measured} (target: {e.temperature(BEER_WANTED)} or less)."
    figures: dict[str, Figure] = {
        "warmest": taken(warm[0]),
        "warm_taps": float(len(warm)),
        "taps_read": float(len(taps)),
        "wanted": computed(BEER_WANTED, "temperature"),
    }
    advice = _look_where(e, all_of_them=len(warm) == len(taps))
    make = act if surely_over(warm[0].value.value, BEER_UNDER, THERMOMETER) else note
    return make("beer_warm", text, advice=advice, **figures)


def _look_where(e: Evidence, *, all_of_them: bool) -> str:
    if e.has("keg_temperature") and _keg_is_warm(e) and not cooler_is_warm(e):
        return "Start at the keg: its beer is not cold enough. Ask how long it has been in the cooler: it needs a day."
    if cooler_is_warm(e):
        return "Start at the cooler: the trunk keeps cold beer cold; it cannot cool warm kegs."
    if bath_is_warm(e):
        return "Start at the bath: it is warm, and the taps follow it."
    if not all_of_them:
        return _part_of_them(e)
    unread = [name for name in ("cooler", "bath") if not e.has(f"{name}_temperature")]
    if unread:
        return f"Read {listed(unread)} next, to see whether the kegs, the bath or the trunk is the cause."
    return (
        "Cooler and bath are cold: check the loop. Does the pump turn? Is there air or a shut valve? Are supply and "
        "return cold at the tower? Is the insulation dry and undamaged?"
    )


def _keg_is_warm(e: Evidence) -> bool:
    return surely_over(e.value("keg_temperature"), BEER_WANTED, THERMOMETER)


def _part_of_them(e: Evidence) -> str:
    """Where to look while other taps are cold: at a keg and its line, or at the trunk that the warm ones share."""
    warm = warm_taps(e)
    if len(warm) == 1:
        return "The other taps are cold: check this keg, line and faucet before the unit."
    cold = [each for each in e.each("beer_temperature_at_tap") if each not in warm]
    shared = [
        trunk.code
        for trunk in e.unit.trunks
        if _all_on(trunk, warm) and not any(_all_on(trunk, [each]) for each in cold)
    ]
    if shared:
        return (
            f"All warm taps are on trunk {shared[0]} and the cold ones are not: compare the returns of the trunks with "
            "one probe. Check its valve, a kink, ice or air in it, and its insulation."
        )
    return "The other taps are cold: compare the kegs of the warm taps, then what their lines have in common."


def _all_on(trunk: Trunk, taps: Sequence[Reading]) -> bool:
    on = {line.tap for line in trunk.beer_lines}
    return all(each.tap in on for each in taps)


def _stands_uncooled(e: Evidence) -> Iterator[Finding]:
    if bath_is_warm(e):
        return  # beer takes the temperature of a warm bath too
    make = act if e.has("bath_temperature") else note
    cold = e.value("cooler_temperature")
    for tap in warm_taps(e):
        run = _nearest(runs_of(e, tap.tap), tap.value.value)
        if run is None or run.temperature is None or below(run.temperature.value - cold, LEAST_DISTANCE):
            continue
        gone = (tap.value.value - cold) / (run.temperature.value - cold)
        if below(gone, WAY_GONE):
            continue
        yield make(
            "beer_stands_uncooled",
            f"Tap {tap.tap} pours at {e.show_reading(tap)}, close to the {e.temperature(run.temperature.value)} of its "
            f"{run.surroundings} run, although the cooler is at {e.temperature(cold)}: that beer stood in an uncooled "
            "line.",
            advice="The glycol does not reach the line: check pump, air in the loop, shut valves, ice in the bath, and "
            "whether supply and return are cold at both ends of the trunk.",
            beer=taken(tap),
            surroundings=run.temperature,
            cooler=taken(e.reading("cooler_temperature")),
            way_gone=computed(gone, "fraction"),
        )
        return


def trunks_of(e: Evidence, tap: str | None) -> Sequence[Trunk]:
    """The trunk of a tap; where no line is recorded for that tap, the only trunk there is."""
    named = [trunk for trunk in e.unit.trunks if any(line.tap == tap for line in trunk.beer_lines)]
    return named or (e.unit.trunks if len(e.unit.trunks) == 1 else ())


def runs_of(e: Evidence, tap: str | None) -> list[Run]:
    """The runs of a tap's trunk outside of the cooler."""
    return [run for trunk in trunks_of(e, tap) for run in trunk.runs if run.surroundings != "cooler"]


def _nearest(runs: Sequence[Run], beer: float) -> Run | None:
    """The run whose surroundings are nearest to the beer's temperature, of those recorded."""
    known = [run for run in runs if run.temperature is not None]
    return min(known, key=lambda run: abs((run.temperature.value if run.temperature else 0.0) - beer), default=None)


def _cooler(e: Evidence) -> Iterator[Finding]:
    reading = e.reading("cooler_temperature")
    text = f"The cooler is at {e.show_reading(reading)}"
    if surely_under(reading.value.value, COOLER_LEAST, THERMOMETER):
        yield act(
            "cooler_too_cold",
            f"{text}: kegs and lines can freeze in it.",
            advice="Read it again with another thermometer. If it is right, have the cooler's thermostat set warmer.",
            cooler_temperature=taken(reading),
        )
    elif surely_over(reading.value.value, FOOD_LIMIT, THERMOMETER):
        yield act(
            "cooler_warm",
            f"{text}: too warm for beer, and above the {e.temperature(FOOD_LIMIT)} limit for other food in it.",
            advice="Tell the customer now. Check door, fans, coil, ice on the coil, and how long the kegs have been in "
            "the cooler, before the glycol unit. A keg needs a day to cool.",
            cooler_temperature=taken(reading),
        )
    elif cooler_is_warm(e):
        advice = "Check door, fans and coil: beer that leaves the cooler warm cannot pour cold."
        yield note(
            "cooler_warm",
            f"{text}, above {e.temperature(COOLER_WANTED)}.",
            advice=advice,
            cooler_temperature=taken(reading),
        )
    else:
        yield fine("cooler_cold", f"{text}: cold enough.", cooler_temperature=taken(reading))


TAP = a_reading("beer_temperature_at_tap")
COOLER = a_reading("cooler_temperature")
SURROUNDINGS = Need(
    "trunks.runs.temperature",
    "unit",
    "the temperature around the trunk's runs on the unit's record",
    lambda e: any(run.temperature is not None for trunk in e.unit.trunks for run in trunk.runs),
)
WARM = frozenset({"warm_pour", "foaming", "insulation_wet", "insulation_damaged", "air_in_lines"})
CARE = f"{LOCKOUT} CO2 collects in coolers and cellars: ventilate, and mind the monitor. {LICENSED}"

RULES = (
    Rule(
        codes=("beer_cold", "beer_warm", "beer_too_cold"),
        needs=(TAP,),
        judge=_beer,
        shows="whether the beer pours cold",
        source="Brewers Association, Draught Beer Quality for Retailers: 38 °F at the faucet; beer-system technician "
        "manual, p. 17; clearly warm above 40 °F: common practice, no source",
        caution=CARE,
        asked_by=WARM,
    ),
    Rule(
        codes=("beer_stands_uncooled",),
        needs=(TAP, COOLER, SURROUNDINGS),
        judge=_stands_uncooled,
        shows="whether beer stands uncooled in the trunk",
        source="Beer from a cold cooler that stands in an uncooled run pours near the ground's temperature: common "
        "practice, no source; the exponential approach to the surroundings bears it out",
        caution=CARE,
        asked_by=WARM,
    ),
    Rule(
        codes=("cooler_cold", "cooler_warm", "cooler_too_cold"),
        needs=(COOLER,),
        judge=_cooler,
        shows="whether the cooler is the cause",
        source="Line-service page quoting the Brewers Association: 36 to 38 °F; FDA Food Code 3-501.16: 41 °F for food",
        caution=CARE,
        asked_by=WARM,
    ),
)
