"""The limits that are drawn beside a unit's curves, counted again in the units shown."""

from tests.summary_recount.tables import si

BEER_FREEZES, COLD_ENOUGH = 28.0, 40.0  # °F: beer of 5 % by volume, from memory; common practice, no source
LEAST_MARGIN, OVER_CLEAN = 5.0, 10.0  # °F: an article on testing glycol in HVAC; common practice, no source
NEAR = 5.0  # °F from the least margin, within which the margin is drawn; judged
TABLE_SLACK = 1.7  # K that the ASHRAE table and the program's source differ at the most


def limits(unit, system):
    """{title: (dashed lines, band or None)}"""
    bath, condenser = unit.unit.get("bath") or {}, unit.unit.get("refrigeration") or {}
    kelvin = [si(bath["set_point"])] if bath.get("set_point") else []
    set_to = [each * 1.8 - 459.67 if system == "us" else each - 273.15 for each in kelvin]
    cold = [each if system == "us" else (each - 32) / 1.8 for each in (BEER_FREEZES, COLD_ENOUGH)]
    by = 1.0 if system == "us" else 1 / 1.8
    clean = [si(condenser["clean_split"]) * 1.8] if condenser.get("clean_split") else []
    return {
        "Pour and bath": (set_to, cold),
        "Freezing margin of the glycol": ([LEAST_MARGIN * by], None),
        "Condenser: warmer than the air by": ([each * by for of in clean for each in (of, of + OVER_CLEAN)], None),
    }


def margin_is_near(unit):
    """Whether a margin of the year came near the least one; None where that is not clear."""
    over = [
        ((coldest - freezes(mass)) * 1.8 - LEAST_MARGIN - NEAR, (TABLE_SLACK + by_surface) * 1.8 + by_mass * 180)
        for mass, by_mass, freezes, coldest, by_surface in unit.glycol().values()
        if coldest is not None and mass < 0.55
    ]
    if any(each < -slack for each, slack in over):
        return True
    return False if len(over) == len(unit.glycol()) and all(each > slack for each, slack in over) else None
