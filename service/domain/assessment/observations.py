"""What was seen and means something by itself, and what the outcome asks for."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from service.domain.assessment.evidence import Evidence
from service.domain.assessment.rule import Rule, Said, act, note
from service.domain.maintenance.catalogue import (
    DRY_PUMP,
    FAN,
    FOOD_GRADE,
    HEIGHT,
    LICENSED,
    LOCKOUT,
    REFRIGERANT,
    SLIPPERY,
)

PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Meaning:
    """What one observation means: how grave it is, the sentence, the advice, the care it takes, and by what source."""

    observation: str
    word: Callable[..., Said]
    sentence: str
    advice: str
    caution: str
    source: str = PRACTICE


# Ice on the coil and frost on the capillary have rules of their own, beside the readings that explain them.
MEANINGS = (
    Meaning(
        "controls_scorched",
        act,
        "The controls are scorched: a contact or joint was far too hot.",
        "Do not just replace what is burnt. Read the currents, the voltage at start, and the drop over each contact; "
        "re-terminate.",
        f"{LOCKOUT} {LICENSED}",
        "Foodservice Equipment Reports: overheated motors draw more current and burn the wiring; US Army TM "
        "55-1930-209, p. 124",
    ),
    Meaning(
        "display_dark",
        act,
        "The controller's display is dark.",
        "Check its supply, fuse and transformer before it is replaced, and whether it still calls for cooling.",
        f"{LOCKOUT} {LICENSED}",
    ),
    Meaning(
        "glycol_leak",
        act,
        "Glycol is leaking.",
        "Find and stop the leak, check that none of it can get near beer or food, then level and strength.",
        f"{FOOD_GRADE} {SLIPPERY} {DRY_PUMP}",
    ),
    Meaning(
        "oil_stain",
        act,
        "There is an oil stain: where oil gets out, refrigerant does.",
        "Search for the leak there with a detector or soap solution; have it mended before anything is charged.",
        f"{REFRIGERANT} {LICENSED}",
    ),
    Meaning(
        "air_in_lines",
        act,
        "There is air in the glycol lines: the pump loses its flow and wears dry.",
        "Fill the bath to its level, check suction and strainer for where air comes in, and bleed the loop.",
        f"{DRY_PUMP} {LOCKOUT} {SLIPPERY}",
        "Rotary-vane pump guide: dry running harms in seconds; a low bath lets the suction draw air",
    ),
    Meaning(
        "airflow_obstructed",
        act,
        "The condenser's air is obstructed: head pressure, currents and running time go up.",
        "Clear what stands in its way and keep it clear; check that warm air does not come round again.",
        f"{LOCKOUT} {FAN} {HEIGHT}",
        "Troubleshooting check list of an ice-machine maker; ASME J. Energy Resources Technology 117 (1995) 349: 40 % "
        "less air, 7.6 % less COP",
    ),
    Meaning(
        "area_littered",
        note,
        "Things lie around the unit.",
        "Have the surroundings cleared: the condenser draws in what lies there, and nobody can work safely.",
        f"{HEIGHT} {FAN}",
    ),
    Meaning(
        "insulation_wet",
        act,
        "The trunk's insulation is wet: it no longer insulates, and it will freeze or rot.",
        "Find where moist air or a leak gets in, replace the wet length and close its vapour seal.",
        f"{SLIPPERY} {HEIGHT} {LICENSED}",
        "Handbook table note: wet insulation and breaks in the vapour barrier raise the heat gain",
    ),
    Meaning(
        "insulation_damaged",
        act,
        "The trunk's insulation is damaged: heat and moisture get in there.",
        "Close it with the same thickness and seal the joints against vapour.",
        f"{SLIPPERY} {HEIGHT} {LICENSED}",
        "Handbook table note: wet insulation and breaks in the vapour barrier raise the heat gain",
    ),
    Meaning(
        "bath_cap_missing",
        act,
        "The bath's cap is missing: moisture thins the glycol, dirt gets in and wears the pump.",
        "Fit a cap and measure strength, level and pH.",
        f"{FOOD_GRADE} {SLIPPERY}",
    ),
    Meaning(
        "pump_noisy",
        act,
        "The pump is noisy: it draws air, cavitates, or its bearings go.",
        "Check level, strainer and strength first, then coupling and bearings, before it seizes.",
        f"{LOCKOUT} {DRY_PUMP}",
        "Rotary-vane pump guide: dirty filters and narrow suction cavitate; misalignment seizes",
    ),
    Meaning(
        "cover_panel_missing",
        act,
        "A cover panel is missing: live and turning parts are open, and air bypasses the condenser.",
        "Fit a panel before the unit is left.",
        f"{LOCKOUT} {FAN} {LICENSED}",
    ),
    Meaning(
        "fasteners_missing",
        note,
        "Fasteners are missing.",
        "Replace them: loose panels rattle, and loose motors wear their couplings.",
        f"{LOCKOUT} {FAN}",
    ),
)


def _seen(meaning: Meaning) -> Rule:
    """The rule that tells what one observation means."""

    def judge(e: Evidence) -> Iterator[Said]:
        if meaning.observation in e.seen:
            yield meaning.word(meaning.observation, meaning.sentence, advice=meaning.advice)

    return Rule(
        codes=(meaning.observation,),
        needs=(),
        judge=judge,
        tells="what it means",
        source=meaning.source,
        caution=meaning.caution,
    )


LEFT = {
    "recovering": "The unit was left recovering: it has to be seen again the next day. Tell the customer what to "
    "watch, and until when beer may pour warm.",
    "down": "The unit was left down: it has to be seen again the next day. Tell the customer that beer will warm up in "
    "the lines, and how to keep what is in the cooler.",
    "waiting_for_parts": "The unit waits for parts. Tell the customer when they are due, and what to do until then.",
}


def _left(e: Evidence) -> Iterator[Said]:
    outcome = e.visit.outcome or ""
    if outcome in LEFT:
        yield note(f"left_{outcome}", LEFT[outcome], outcome=outcome)


RULES = (
    *map(_seen, MEANINGS),
    Rule(
        codes=tuple(f"left_{outcome}" for outcome in LEFT),
        needs=(),
        judge=_left,
        tells="what is to follow",
        source=PRACTICE,
        caution=LICENSED,
    ),
)
