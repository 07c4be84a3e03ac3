"""What failures at several units have in common, in plain sentences, put together when it is read."""

from typing import Any

from service.domain.plain import to_plain
from service.domain.root_causes.explanation import SURE, one_in
from service.domain.root_causes.fleet_search import FIRST_WEEKS, SEASON, FleetCause
from service.domain.root_causes.timing import MONTHS
from service.domain.root_causes.wording import LIVE, WORDS, Words

PRACTICE = "Common practice, no source."
SHOWN_UNITS = 10
INSIDE = ("cause", "places", "made")  # shown as `causes`, or only in the root causes of the units
OF_LEVEL = {
    "model": Words(
        sentence="a bad batch of this model",
        confirm="Compare the lots of those that failed with those that still run, and inspect the latter.",
        remedy="Take this model out of store and vans, replace it where it is installed, and claim the warranty.",
        bring=("a part of another lot",), source=PRACTICE,
    ),
    "maker": Words(
        sentence="parts of this maker fail early",
        confirm="Compare models and lots of those that failed.",
        remedy="Fit parts of another maker, and claim the warranty.",
        bring=("a part of another maker",), source=PRACTICE,
    ),
    "technician": Words(
        sentence="the way these parts are installed",
        confirm="Go along on a job and check wiring, torque, alignment and the test run afterwards. " + LIVE,
        remedy="Show how it is done; until then have a second person check what was installed.",
        bring=("hand tools", "torque screwdriver", "clamp meter"), source=PRACTICE,
    ),
    "season": Words(
        sentence="something that these months bring, such as heat, frost or heavy use",
        confirm="Read air temperature, voltage and load at these units in these months.",
        remedy="Do the PM before these months begin, and give hot units cooler air.",
        bring=("thermometer", "voltmeter", "clamp meter"), source=PRACTICE,
    ),
}  # fmt: skip


def in_words(found: FleetCause) -> dict[str, Any]:
    """As JSON: its facts, and the sentences that follow from them, as those of a unit's root cause."""
    words = WORDS[found.cause] if found.level == "site" else OF_LEVEL[found.level]
    facts = {name: value for name, value in to_plain(found).items() if name not in INSIDE}
    return facts | {
        "causes": [{"cause": found.cause, "probability": 1.0 - found.probability_of_chance}],
        "next_check": words.confirm,
        "remedy": words.remedy,
        "bring": list(words.bring),
        "explanation": " ".join([_seen(found), _likeliest(found, words), *_caution(found), _places(found)]),
    }


def _seen(found: FleetCause) -> str:
    kinds = ", ".join(kind.replace("_", " ") for kind in found.component_kinds)
    span = f"{found.first} to {found.last}"
    if found.level == "season":
        first = int(found.key) - 1
        months = f"{MONTHS[first]} to {MONTHS[(first + SEASON - 1) % 12]}"
        return (
            f"{kinds.capitalize()}: {found.failed} of {found.compared} failures in the months {months} ({span}); "
            f"{_expected(found)} expected if they were spread evenly over the year."
        )
    if found.level == "site":
        return (
            f"Site {found.key}: {found.failed} failures ({kinds}) at {len(found.units)} units on one supply ({span}); "
            f"{_expected(found)} expected by chance. A voltage outside tolerance was read there."
        )
    if found.level == "technician":
        return (
            f"{found.failed} of {found.compared} parts that {found.key} installed failed within {FIRST_WEEKS} days "
            f"({kinds}; {span}); {_expected(found)} expected at the rate of parts that others installed."
        )
    others = "other new parts of the kind" + (" and the usual rate together" if found.level == "model" else "")
    return (
        f"{kinds.capitalize()}: {found.failed} of {found.compared} new parts of {found.level} {found.key} failed "
        f"within a year ({span}); {_expected(found)} expected at the rate of {others}."
    )


def _expected(found: FleetCause) -> str:
    return "under 0.1" if found.expected < 0.05 else f"{found.expected:.1f}"


def _likeliest(found: FleetCause, words: Words) -> str:
    return f"{SURE[found.tier]}: {words.sentence} (probability of chance {one_in(found.probability_of_chance)})."


def _caution(found: FleetCause) -> list[str]:
    if found.level != "technician":
        return []
    return ["Whoever is sent to the hardest units sees the most failures: a reason to look together, not a judgement."]


def _places(found: FleetCause) -> str:
    more = len(found.units) - SHOWN_UNITS
    return f"Units: {', '.join(found.units[:SHOWN_UNITS])}{f' and {more} more' if more > 0 else ''}."
