"""What a note says in words that leave no doubt: readings with their quantity, tasks done, parts put in.

A task or part counts only with a verb of having done it, in a clause that does not put it off or deny it.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple

CLAUSE = re.compile(
    r"[.;\n!?]+(?= |$|\n)|,| - | but | then | and (?=(?:replaced|cleaned|checked|changed|installed)\b)", re.IGNORECASE
)
NUMBER = r"(?P<number>-?[0-9]+(?:\.[0-9]+)?)(?! ?[-/:.,]? ?[0-9])"
VOLUME = r"(?! ?(?:gal(?:lon)?s?|qts?|quarts?|l|lit(?:er|re)s?|ml|oz|lbs?|kg|jugs?|buckets?|pails?|drums?|bottles?)\b)"
UNIT = r" ?(?P<unit>°? ?[FC]\b|deg(?:rees)?(?: ?[FC])?\b|°|brix\b|bx\b|amps?\b|a\b|psig?\b|v(?:olts?)?\b|%)?"
GAP = r"(?: ?(?:temp(?:erature)?|is|was|at|reads?|reading|=|:|running|holding|now|came down to|down to))* ?"
QUANTITIES = (
    ("bath_temperature", r"(?:bath|tank|reservoir|res)"),
    ("glycol_supply_temperature", r"(?:glycol )?supply(?: line)?"),
    ("glycol_return_temperature", r"(?:glycol )?return(?: line)?"),
    ("cooler_temperature", r"(?:walk-?in|walk in|cooler|keg room)"),
    ("ambient_temperature", r"ambient|room temp"),
    ("glycol_strength", r"(?:glycol|refractometer|mix|strength|concentration)"),
    ("suction_pressure", r"suction(?: pressure)?|low side"),
    ("discharge_pressure", r"(?:discharge|head)(?: pressure)?|high side"),
    ("pump_pressure", r"pump pressure"),
    ("supply_voltage", r"(?:supply|line) voltage|voltage"),
)
READINGS = tuple(
    (quantity, re.compile(rf"\b(?:{words})\b{GAP}{NUMBER}{VOLUME}{UNIT}", re.IGNORECASE))
    for quantity, words in QUANTITIES
)
DONE = r"(?:cleaned|washed|blew out|blown out|brushed|vacuumed|flushed)"
COIL, GLYCOL = r"(?:cond|condenser|coil)s?", r"(?:changed|replaced|drained and refilled)"
TASK_PATTERNS = (
    ("condenser_clean", rf"\b{DONE}\b.{{0,20}}\b{COIL}\b|\bcond(?:enser)? {DONE}\b"),
    ("strainer_clean", rf"\b{DONE}\b.{{0,20}}\bstrainer\b|\bstrainer {DONE}\b"),
    ("glycol_change", rf"\b{GLYCOL}\b.{{0,12}}\bglycol\b|\bglycol changed\b|\bnew glycol\b"),
)
TASKS = tuple((code, re.compile(pattern, re.IGNORECASE)) for code, pattern in TASK_PATTERNS)
FITTED = re.compile(
    r"\b(?:replaced|installed|fitted|swapped(?: out)?|put in|changed(?: out)?|rebuilt with)\b", re.IGNORECASE
)
PUT_OFF = (
    r"needs?|needed|quoted?|order(?:ed)?|will|should|recommend\w*|not|no|didn'?t|if|going to|may|might|next time|"
    r"return(?:ed)?|waiting|before|last (?:year|time)|previous\w*|they|owner|customer|other company|beer guy|"
    r"(?:an)?other (?:firm|shop|contractor|guys?|people)|by others|somebody|someone"
)
NOT_YET = re.compile(rf"\b(?:{PUT_OFF})\b", re.IGNORECASE)
PARTS = (
    ("pump_motor", r"pump motor"),
    ("pump", r"pump"),
    ("power_switch", r"(?:power |on/?off |toggle |rocker )?switch"),
    ("contactor", r"contactor"),
    ("temperature_controller", r"(?:temp(?:erature)? )?controller|thermostat|t-?stat"),
    ("condenser_fan", r"(?:cond(?:enser)? )?fan(?: motor)?"),
    ("compressor", r"compressor"),
    ("agitator", r"agitator"),
    ("start_capacitor", r"start cap(?:acitor)?"),
    ("start_relay", r"start relay|relay"),
    ("power_cord", r"power cord"),
    ("overload_protector", r"overload"),
    ("strainer", r"strainer"),
)
PART = tuple((kind, re.compile(rf"\b(?:{words})\b", re.IGNORECASE)) for kind, words in PARTS)
CAUSES = (
    ("burnt", re.compile(r"\bburn(?:t|ed)|scorched|melted", re.IGNORECASE)),
    ("seized", re.compile(r"\bseized|locked up", re.IGNORECASE)),
    ("leaking", re.compile(r"\bleak", re.IGNORECASE)),
    ("noisy", re.compile(r"\bnois", re.IGNORECASE)),
    ("broken", re.compile(r"\bbroke|cracked|failed|dead\b|bad\b", re.IGNORECASE)),
    ("worn", re.compile(r"\bworn", re.IGNORECASE)),
)


class Found(NamedTuple):
    """A reading, task or part in a note: what, and the words that say so."""

    target: str
    words: str
    number: str = ""
    unit: str = ""
    condition: str = "unknown"


def found_in(text: str) -> Iterator[Found]:
    """What a note says beyond doubt.

    >>> [each[:3] for each in found_in("cleaned cond, bath 28. Needs pump")]
    [('task.condenser_clean', 'cleaned cond', ''), ('reading.bath_temperature', 'bath 28', '28')]
    """
    seen: set[str] = set()
    for clause in CLAUSE.split(text):
        for each in _in_clause(clause.strip(), text):
            if each.target not in seen:
                seen.add(each.target)
                yield each


def _in_clause(clause: str, text: str) -> Iterator[Found]:
    denied = NOT_YET.search(clause) is not None
    for code, pattern in TASKS:
        words = pattern.search(clause)
        if words and not denied:
            yield Found(f"task.{code}", words[0])
    verb = FITTED.search(clause)
    if verb and not denied:
        kind = next((kind for kind, pattern in PART if pattern.search(clause)), None)
        if kind:
            condition = next((name for name, pattern in CAUSES if pattern.search(text)), "unknown")
            yield Found(f"replacement.{kind}", clause, condition=condition)
    for quantity, pattern in READINGS:
        words = pattern.search(clause)
        if words and not denied and not (quantity == "glycol_strength" and _is_temperature(words)):
            yield Found(f"reading.{quantity}", words[0].strip(), words["number"], (words["unit"] or "").strip())


def _is_temperature(words: "re.Match[str]") -> bool:
    """Glycol with °F or °C above freezing is a temperature, not a strength."""
    unit = (words["unit"] or "").casefold()
    return ("f" in unit or "c" in unit or "°" in unit or "deg" in unit) and float(words["number"]) > 0
