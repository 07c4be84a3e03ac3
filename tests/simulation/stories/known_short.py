"""Stories whose verdict the engine does not meet yet, by name, with the reason; one that is met does not stay here."""

KNOWN_SHORT = {
    "switch and compressor support each other": (
        "the compressor is strong, the switch watched: a switch that feeds the pump alone counts as exposed to the "
        "condenser as well, and outlived the other"
    ),
    "the small load burns": "nothing measured explains them, and three in 29 months at two positions may be chance",
}

# a fault of form that sentences have, and a story that shows it
KNOWN_UNCLEAR: dict[str, str] = {}
