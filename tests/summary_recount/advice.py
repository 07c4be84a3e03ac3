"""What is to do counted again, by the definition "You decide, we will do" that each document carries.

Of what was measured only the clear values are judged here, which lie farther from a limit than a meter may be off.
"""

from collections import defaultdict

from tests.summary_recount.tables import si

BASES = ("danger", "root_cause", "overdue", "limit", "words")
SEEN = {"controls_scorched": "Repair the scorched controls.", "cover_panel_missing": "Fit the missing cover panel."}
POISON = "Drain and flush the bath and fill it with food-grade propylene glycol."  # ethylene glycol, near food
VOLTAGE = "Measure the supply voltage again."
CURRENT = "Find the cause of the high current."
SPLIT = "Clean the condenser and check its fan."
STRENGTH = "Bring the glycol to its target strength."
OFF = 0.10  # either side of the nameplate: NEMA MG 1, 12.44, clause from memory
METER = 0.03  # of a voltage or current, more than a meter in order may be off: common practice, no source
LEAST, MOST, UNSURE = 0.25, 0.50, 0.03  # by mass: glycol keeps, is of use; how far a strength may be off
SPLIT_LIMIT, SPLIT_SLACK = 10 / 1.8, 4.0  # K over the clean split; how far pressure and air may be off together


def order(line):
    """Danger to people or food, root causes, overdue tasks, limits, words; then most units, most reasons, soonest."""
    due = line["first"] or line["by"] or ""
    return BASES.index(line["basis"]), -len(line["units"]), -len(line["why"]), due, line["what"]


def overdue(unit, names):
    """(line, day since when) of each task that is due and not done at the end."""
    for task, due, _, state, *_ in unit.pm():
        if state in ("missed", "never_recorded"):
            yield f"{names[task]}.", due


def words(unit):
    """(line, day) of what our technicians advised."""
    for visit in unit.of_year:
        if visit.get("advice") and visit.get("by", "us") == "us":
            yield visit["advice"], unit.day(visit)


def merged(units, lines_of):
    """[(line, units, reasons, first day, last day)] in order; equal lines of several units are one."""
    found = defaultdict(set)
    for unit in units:
        for line, day in () if unit.is_out else lines_of(unit):
            found[line].add((unit.tag, day))
    made = [
        (line, sorted({tag for tag, _ in of}), len(of), min(day for _, day in of), max(day for _, day in of))
        for line, of in found.items()
    ]
    return sorted(made, key=lambda each: (-len(each[1]), -each[2], each[3], each[0]))


def next_visit(unit):
    """The first day of the plan that is to come when the summary is made, None (at once) where nothing is planned."""
    days = [day for of_task in unit.plan().values() for day in of_task if day > unit.last and day >= unit.as_of.date()]
    return min(days, default=None)


def done_at_all(days):
    """The day by which it is done at all of them: at once where one has none."""
    return None if None in days else max(days)


def clear(unit):
    """{line: whether it must be there, or must not}, of dangers and limits that are clear."""
    found = {POISON: unit.ethylene}
    found |= {line: code in seen_last(unit) for code, line in SEEN.items()}
    judged = {VOLTAGE: voltage(unit), CURRENT: current(unit), SPLIT: split(unit), STRENGTH: strength(unit)}
    return found | {line: answer for line, answer in judged.items() if answer is not None}


def seen_last(unit):
    """The codes that the last visit of the year observed."""
    return {each["code"] for visit in unit.of_year[-1:] for each in visit.get("observations", ())}


def last_read(unit, quantity, component=None):
    """The readings of a quantity [SI] at the last visit of the year that read it; twelve visits are looked at."""
    for visit in reversed(unit.of_year[-12:]):
        of = [each for each in visit.get("readings", ()) if each["quantity"] == quantity]
        read = [si(each["value"]) for each in of if each.get("component") == component]
        if read:
            return read
    return []


def voltage(unit):
    """Whether it was last read off the nameplate."""
    nameplate = unit.unit.get("supply", {}).get("voltage")
    off = [abs(volts / si(nameplate) - 1) for volts in last_read(unit, "supply_voltage")] if nameplate else []
    if all(each < OFF - METER for each in off):
        return False
    return True if all(each > OFF + METER for each in off) else None


def current(unit):
    """Not where no component drew more than its rating when its current was last read."""
    if any("switch" in part["kind"] for part in unit.parts.values()):
        return None  # a switch is judged by the current of what it feeds
    rated = [(code, si(part["rated_current"])) for code, part in unit.parts.items() if part.get("rated_current")]
    return None if any(amps > most for code, most in rated for amps in last_read(unit, "current", code)) else False


def split(unit):
    """Not where the condenser never stood high over the air."""
    clean = unit.unit.get("refrigeration", {}).get("clean_split")
    left = any(each[1:5:3] == ("discharge_pressure", "as_left") for each in unit.readings())
    if not clean or left:
        return None  # the figures of a visit have one split, as found before as left
    over = (each + SPLIT_SLACK + slack - si(clean) - SPLIT_LIMIT for each, slack in unit.splits().values())
    return None if any(each > 0 for each in over) else False


def strength(unit):
    """Not where the glycol never was too weak to keep or too strong to be of use."""
    measured = [each[0] for each in unit.glycol().values()]
    return False if all(LEAST + UNSURE < mass < MOST - UNSURE for mass in measured) else None
