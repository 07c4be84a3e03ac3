"""The words for each cause: what it is, how to confirm it, what to do, what to bring, where that comes from.

Words are put to a root cause when it is read: no stored figure depends on them.
"""

from dataclasses import dataclass

NEMA = "NEMA MG 1, 10 %; TM 55-1930-209, contacts stuck where voltage was off by more than 10 %."
LIVE = "Isolate and lock out before opening; live readings are for qualified people under the local code."


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A cause in words."""

    sentence: str
    confirm: str
    remedy: str
    bring: tuple[str, ...]
    source: str


WORDS: dict[str, Words] = {
    "condenser_fouled": Words(
        sentence="fouled condenser, so that the unit ran hot and drew more current",
        confirm="Clean the condenser and read the amps before and after. " + LIVE, bring=("soft brush", "clamp meter"),
        remedy="Clean the condenser whenever it is due; if it fouls before that, shorten its interval.",
        source="Foodservice Equipment Reports, burnt wiring from dirty condensers; 90 to 180 days judged.",
    ),
    "switch_undersized": Words(
        sentence="switch loaded with more motor current than its rating allows",
        confirm="Read the amps through it while all that it feeds runs, and compare with its motor rating. " + LIVE,
        remedy="Have a licensed electrician fit a motor-rated switch or a contactor of the right size.",
        bring=("motor-rated switch", "clamp meter"), source="NEC 404.14, 430.83, 430.109; UL 982.",
    ),
    "low_voltage": Words(
        sentence="low supply voltage",
        confirm="Read the voltage at the unit while it starts. " + LIVE, bring=("voltmeter",),
        remedy="Have a licensed electrician correct the supply.",
        source=NEMA,
    ),
    "high_voltage": Words(
        sentence="high supply voltage",
        confirm="Read both legs to neutral at the panel (one high, one low: a loose neutral), and the voltage at the "
        "unit over a day. " + LIVE, bring=("voltmeter",),
        remedy="Have a licensed electrician correct the supply.",
        source=NEMA,
    ),
    "ambient_hot": Words(
        sentence="air around the unit, or into its condenser, too hot",
        confirm="Read the air temperature at the condenser's inlet in the hottest hour.",
        remedy="Give the unit cooler air, keep its own hot air from coming back, or move it.", bring=("thermometer",),
        source="Makers' usual limit of about 100 degF; the span to 115 degF judged. Life of insulation and of "
        "capacitors halves per 10 K: common practice, no source.",
    ),
    "loose_terminal": Words(
        sentence="loose or oxidised terminal",
        confirm="Read the voltage drop across each closed contact and lug under load. " + LIVE,
        remedy="With the power off and locked out, cut the wire back and re-terminate it.",
        bring=("lugs", "torque screwdriver", "voltmeter"),
        source="A trade training page: hundredths of a volt are good, tenths bad. NETA MTS table 100.18: over 15 K "
        "above a similar part, or over 40 K above the air, is a major deficiency.",
    ),
    "glycol_weak": Words(
        sentence="glycol too weak, so that slush or ice formed",
        confirm="Read the strength with a refractometer and look for ice on the coil.",
        remedy="Bring the glycol back to strength and find where the water comes from.",
        bring=("food-grade propylene glycol", "refractometer"), source="Trade: slush under 24 % by mass; judged.",
    ),
    "glycol_strong": Words(
        sentence="glycol too strong, so that it was too thick to circulate easily",
        confirm="Read the strength with a refractometer and the pump's amps. " + LIVE,
        remedy="Dilute the glycol to its target.",
        bring=("refractometer", "clean water"), source="Viscosity of propylene glycol; trade: over 41 % by mass.",
    ),
    "bath_low": Words(
        sentence="bath level too low, so that pump or agitator drew air",
        confirm="Read the level, mark it, and read again in a week.", remedy="Find the leak, then fill with the mix.",
        bring=("glycol mix", "marker"),
        source="A chiller guide: at least 85 % full; a pump guide: dry for seconds only.",
    ),
    "strainer_blocked": Words(
        sentence="strainer blocked, so that the pump cavitated",
        confirm="Clean the strainer and read the pump's amps before and after. " + LIVE,
        remedy="Clean the strainer more often.",
        bring=("strainer mesh", "gasket"), source="A rotary-vane pump guide; days judged.",
    ),
    "after_repair": Words(
        sentence="failure within weeks of another repair in the same unit",
        confirm="Inspect what the last repair affected: wiring, alignment, rotation, overload. " + LIVE,
        remedy="Correct the repair.", bring=("hand tools", "clamp meter"), source="Common practice, no source.",
    ),
    "bad_parts": Words(
        sentence="new parts that fail within weeks or a few months of installation",
        confirm="Compare maker and lot of the parts that failed, and read amps, volts and terminals at the new one. "
        + LIVE, remedy="Find what new parts die of before the next is fitted; if all were of one maker or lot, take "
        "another.",
        bring=("a part of another lot", "clamp meter", "voltmeter"), source="Common practice, no source.",
    ),
    "unexplained": Words(
        sentence="one that the records do not show",
        confirm="Check sizing, supply and installation, and read amps, volts and terminals. " + LIVE,
        remedy="Find the cause before fitting the next part.", bring=("clamp meter", "voltmeter"),
        source="No cause listed.",
    ),
}  # fmt: skip

BY_DAYS = {
    "condenser_fouled": Words(
        sentence="condenser that may have been fouled, by the days since a recorded cleaning, so that the unit ran hot "
        "and drew more current",
        confirm=WORDS["condenser_fouled"].confirm,
        remedy="Clean the condenser and record how it was found; shorten its interval if it was fouled.",
        bring=WORDS["condenser_fouled"].bring, source=WORDS["condenser_fouled"].source,
    ),
}  # fmt: skip
"""Those of a cause that follows from days alone, where they differ."""
NO_RATING = Words(
    sentence="switch that may be too small for its load: its rating is not recorded",
    confirm="Read the rating on the switch and record it. " + WORDS["switch_undersized"].confirm,
    remedy="If it is too small, have a licensed electrician fit a motor-rated switch or a contactor of the right size.",
    bring=WORDS["switch_undersized"].bring, source=WORDS["switch_undersized"].source,
)  # fmt: skip
"""Where the rating of none of the switches that failed is recorded."""
OVER = Words(
    sentence="", confirm="At the next PM see whether what was wrong has stayed right.",
    remedy="None while nothing fails; if so, decide it as resolved.", bring=(), source="Common practice, no source.",
)  # fmt: skip
"""Where nothing has failed for so long that the cause may be gone."""
MADE = Words(
    sentence="", confirm="At the next PM see whether the remedy holds.", remedy="Made; none while nothing fails.",
    bring=(), source="Common practice, no source.",
)  # fmt: skip
"""Where somebody decided that it is resolved."""
