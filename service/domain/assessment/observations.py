"""Findings from single observations, and the follow-up that the outcome needs."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from service.domain.assessment.evidence import Evidence
from service.domain.assessment.finding import Finding
from service.domain.assessment.rule import Rule, act, note
from service.domain.assessment.voltages import before_dark_display
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
LOOK_AGAIN = "It was worked on in this visit: see that it is clear now."


@dataclass(frozen=True, slots=True)
class Meaning:
    """The finding of one observation: its severity, sentence, advice, caution and source."""

    observation: str
    make: Callable[..., Finding]
    sentence: str
    advice: str
    caution: str
    source: str = PRACTICE
    explained: Callable[[Evidence], str | None] = lambda _: None  # the sentence of a note, where a reading explains it
    cleared_by: frozenset[str] = frozenset()  # the tasks that put it right


# Ice on the coil and frost on the capillary have rules of their own, beside the readings that explain them.
MEANINGS = (
    Meaning(
        "controls_scorched",
        act,
        "The controls are scorched: a contact or joint was far too hot.",
        "Do not just replace the burnt part. Read the currents, the voltage at start and the drop over each contact; "
        "re-terminate.",
        f"{LOCKOUT} {LICENSED}",
        "Foodservice Equipment Reports: overheated motors draw more current and burn the wiring; US Army TM "
        "55-1930-209, p. 124",
    ),
    Meaning(
        "display_dark",
        act,
        "The controller's display is dark.",
        "Check its supply, fuse and transformer before replacing it, and whether it still calls for cooling.",
        f"{LOCKOUT} {LICENSED}",
        explained=before_dark_display,
    ),
    Meaning(
        "glycol_leak",
        act,
        "Glycol is leaking.",
        "Find and stop the leak. Check that no glycol can get near beer or food, then check level and strength.",
        f"{FOOD_GRADE} {SLIPPERY} {DRY_PUMP}",
    ),
    Meaning(
        "oil_stain",
        act,
        "There is an oil stain: where oil leaks, refrigerant leaks.",
        "Search for the leak there with a detector or soap solution. Have it repaired before any charging.",
        f"{REFRIGERANT} {LICENSED}",
    ),
    Meaning(
        "air_in_lines",
        act,
        "There is air in the glycol lines: the pump loses flow and runs dry.",
        "Fill the bath to its level, check suction and strainer for air leaks, and bleed the loop.",
        f"{DRY_PUMP} {LOCKOUT} {SLIPPERY}",
        "Rotary-vane pump guide: dry running harms in seconds; a low bath lets the suction draw air",
    ),
    Meaning(
        "airflow_obstructed",
        act,
        "The condenser's air is blocked: head pressure, currents and running time rise.",
        "Clear the air path and keep it clear. Check that warm air does not recirculate.",
        f"{LOCKOUT} {FAN} {HEIGHT}",
        "Troubleshooting check list of an ice-machine maker; ASME J. Energy Resources Technology 117 (1995) 349: 40 % "
        "less air, 7.6 % less COP",
        cleared_by=frozenset({"condenser_clean", "condenser_deep_clean"}),
    ),
    Meaning(
        "area_littered",
        note,
        "There is clutter around the unit.",
        "Have the area cleared: the condenser draws in loose material, and the clutter makes work unsafe.",
        f"{HEIGHT} {FAN}",
    ),
    Meaning(
        "insulation_wet",
        act,
        "The trunk's insulation is wet: it no longer insulates, and it may freeze or rot.",
        "Find where moist air or water gets in, replace the wet length and restore the vapour seal.",
        f"{SLIPPERY} {HEIGHT} {LICENSED}",
        "Handbook table note: wet insulation and breaks in the vapour barrier raise the heat gain",
    ),
    Meaning(
        "insulation_damaged",
        act,
        "The trunk's insulation is damaged: heat and moisture get in.",
        "Repair it to the same thickness and seal the joints against vapour.",
        f"{SLIPPERY} {HEIGHT} {LICENSED}",
        "Handbook table note: wet insulation and breaks in the vapour barrier raise the heat gain",
    ),
    Meaning(
        "bath_cap_missing",
        act,
        "The bath's cap is missing: moisture dilutes the glycol, and dirt gets in and wears the pump.",
        "Fit a cap. Measure strength, level and pH.",
        f"{FOOD_GRADE} {SLIPPERY}",
    ),
    Meaning(
        "pump_noisy",
        act,
        "The pump is noisy: it draws air, cavitates, or has worn bearings.",
        "Check level, strainer and strength first, then coupling and bearings, before the pump seizes.",
        f"{LOCKOUT} {DRY_PUMP}",
        "Rotary-vane pump guide: dirty filters and narrow suction cavitate; misalignment seizes",
    ),
    Meaning(
        "cover_panel_missing",
        act,
        "A cover panel is missing: live and moving parts are exposed, and air bypasses the condenser.",
        "Fit a panel before leaving the unit.",
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
    """The rule for one observation."""

    def judge(e: Evidence) -> Iterator[Finding]:
        if meaning.observation not in e.seen:
            return
        code = meaning.observation
        if because := meaning.explained(e):
            yield note(code, because, observed=code)
        elif any(each.task in meaning.cleared_by and each.result == "done" for each in e.visit.tasks):
            yield note(code, meaning.sentence, advice=LOOK_AGAIN, observed=code)
        else:
            yield meaning.make(code, meaning.sentence, advice=meaning.advice, observed=code)

    return Rule(
        codes=(meaning.observation,),
        needs=(),
        judge=judge,
        shows="what it means",
        source=meaning.source,
        caution=meaning.caution,
        runs="whole",
    )


LEFT = {
    "recovering": "The unit was left recovering: a follow-up is due the next day. Tell the customer what to "
    "watch and how long beer may pour warm.",
    "down": "The unit was left down: a follow-up is due the next day. Tell the customer that beer in the lines will "
    "warm up, and how to keep the beer in the cooler cold.",
    "waiting_for_parts": "The unit is waiting for parts. Tell the customer when they are due and what to do meanwhile.",
}


def _left(e: Evidence) -> Iterator[Finding]:
    outcome = e.visit.outcome or ""
    if outcome in LEFT:
        yield note(f"left_{outcome}", LEFT[outcome], outcome=outcome)


RULES = (
    *map(_seen, MEANINGS),
    Rule(
        codes=tuple(f"left_{outcome}" for outcome in LEFT),
        needs=(),
        judge=_left,
        shows="what has to follow",
        source=PRACTICE,
        runs="whole",
        caution=LICENSED,
    ),
)
