"""What a visit's tasks say of the condenser."""

from service.domain.assessment.evidence import Evidence
from service.domain.record.visits import FOULING

CLEANED = frozenset({"condenser_clean", "condenser_deep_clean"})


def left_dirty(e: Evidence) -> str:
    """That it was found fouled and not cleaned, which no warm bath explains; nothing where that was not seen."""
    grades = (t.as_found for t in e.visit.tasks if t.task in CLEANED and t.result != "done")
    found = next((grade for grade in grades if grade in ("heavy", "blocked")), None)
    return f"; it was found {FOULING[found]} and not cleaned" if found else ""


def cleaned(e: Evidence) -> bool:
    """Whether the condenser was cleaned in the visit, or found clean."""
    return found_clean(e) or any(each.task in CLEANED and each.result == "done" for each in e.visit.tasks)


def found_clean(e: Evidence) -> bool:
    """Whether the condenser was looked at and found clean."""
    return any(each.task in CLEANED and each.as_found == "clean" for each in e.visit.tasks)
