"""Stories whose verdict the engine does not meet yet, by name, with the reason; one that is met does not stay here."""

KNOWN_SHORT = {
    "switch and compressor support each other": "the switch is watched, the compressor probable: two failures of each",
    "14 A through a 10 A switch": "two failures are watched; the overrun itself is a fault measured",
    "the small load burns": "the load of a switch is not compared with that of its like",
    "syrup in the bath": "just short of probable in a company of one unit",
    "written down as a precaution": "a precaution is no failure, however the part was found",
}

# a fault of form that sentences have, and a story that shows it
KNOWN_UNCLEAR: dict[str, str] = {}
