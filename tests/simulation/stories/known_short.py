"""Stories whose verdict the engine does not meet yet, by name, with the reason; one that is met does not stay here."""

KNOWN_SHORT = {
    "switch and compressor support each other": "two failures of each are not enough",
    "14 A through a 10 A switch": "two failures are not enough",
    "the small load burns": "the load of a switch is not compared with that of its like",
    "written down as a precaution": "the reason outweighs the condition of the part",
    "syrup in the bath": "measured, but the failures alone are few",
    "six seized fans": "without a fleet to learn from, the dates of one kind alone are not enough",
}

# a fault of form that sentences have, and a story that shows it
KNOWN_UNCLEAR: dict[str, str] = {}
