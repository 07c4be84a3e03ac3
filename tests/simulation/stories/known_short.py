"""Stories whose verdict the engine does not meet yet, by name, with the reason; one that is met does not stay here."""

KNOWN_SHORT = {
    "the small load burns": "nothing measured explains them, and three in 29 months at two positions may be chance",
}

# a fault of form that sentences have, and a story that shows it
KNOWN_UNCLEAR: dict[str, str] = {}
