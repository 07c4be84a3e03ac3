"""Stories whose verdict the engine does not meet yet, by name, with the reason; one that is met does not stay here."""

UNWATCHED = "years before our care count as years without a failure"
MARKS = "an excess without a known cause is expected to look as the first cause of the kind leaves its parts"
MEASURED = "a value that was measured out of its limits hardly raises the probability of its cause"
UNREAD = "the reading that names the cause is not used"
FEW_KINDS = "the cause is not weighed for this kind, nor over several kinds of one unit"
POSITIONS = "positions, days and readings are not in the sentence"
PAST = "a remedy and the quiet years after it do not count, or are not in the sentence"
FLEET = "nothing is searched over units: models, technicians"
THEN = "what was recorded later counts as known"

KNOWN_SHORT = {
    "young unit, blocked condenser": f"{MEASURED}; {POSITIONS}",
    "old unit, blocked condenser": UNWATCHED,
    "found blocked, not cleaned": f"a grade counts only where the task was done; {POSITIONS}",
    "fan and controller beside a dirty condenser": FEW_KINDS,
    "switch and compressor support each other": FEW_KINDS,
    "cleaned at last, and quiet since": PAST,
    "a pump every August": f"{FEW_KINDS}; months are not weighed",
    "fan motors beside an oven": UNREAD,
    "14 A through a 10 A switch": MEASURED,
    "98 V on a 115 V plate": MEASURED,
    "low voltage kills pumps too": FEW_KINDS,
    "one site, one supply": MEASURED,
    "the hot one of two switches": UNREAD,
    "half a volt across a closed contact": UNREAD,
    "the small load burns": "the load of the most loaded switch counts for all",
    "written down as a precaution": "the reason outweighs the condition of the part",
    "the sister unit is well": MEASURED,
    "slush in the bath": MEASURED,
    "syrup in the bath": MEASURED,
    "the pump runs dry": f"{MEASURED}; {POSITIONS}",
    "gravel in the pump": "a strainer that is cleaned and blocked again each time counts as clean",
    "nothing measured explains it": POSITIONS,
    "six seized fans": MARKS,
    "a batch of pumps": FLEET,
    "what one pair of hands puts in": FLEET,
    "the same switch every two weeks": POSITIONS,
    "nobody knew by New Year": THEN,
    "and now it is known": MEASURED,
    "hearsay with a reading behind it": MEASURED,
}

# a fault of form that sentences have, and a story that shows it
KNOWN_UNCLEAR = {"two scales of probability": "young unit, blocked condenser"}
