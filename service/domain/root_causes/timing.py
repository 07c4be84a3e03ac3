"""When the failures of a root cause came, in sentences: months, what went before, and how long it has been quiet."""

from datetime import date

from service.domain.root_causes.failures import YEAR
from service.domain.root_causes.presence import Facts

AT_WORK = 0.5  # less probable to be still at work, a cause may be gone
QUIET_FROM = 180  # days without a failure from which the sentence says so
SEASON, SEASON_FROM = 3, 3  # so many months, which hold all of so many failures in different years
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip


def season(facts: Facts) -> list[str]:
    """Which months hold them all, if those of several years lie in three."""
    days = [date.fromisoformat(event["day"]) for event in facts["events"] if event.get("stated") is None]
    if len(days) < len(facts["events"]) or len(days) < SEASON_FROM or len({day.year for day in days}) < SEASON_FROM:
        return []
    first = next((m for m in range(12) if all((day.month - 1 - m) % 12 < SEASON for day in days)), None)
    if first is None:
        return []
    return [f"All in the months {MONTHS[first]} to {MONTHS[(first + SEASON - 1) % 12]}."]


def after_others(facts: Facts) -> list[str]:
    """How many came soon after what else."""
    from service.domain.root_causes.sequences import WINDOW  # it needs scipy

    return [
        f"{each['failures']} of {len(facts['events'])} came within {WINDOW} days after a "
        f"{each['after'].replace('_', ' ')} failure: in this fleet {each['ratio']:.1f} times as often as by chance."
        for each in facts["after_others"]
    ]


def quiet(facts: Facts) -> list[str]:
    """Since when nothing has failed, if for long, and whether the cause may be gone."""
    if facts["quiet"]["days"] < QUIET_FROM:
        return []
    last, absent = facts["events"][-1]["day"], facts["remarks"].get("absent_since")
    if still := facts["remarks"].get("still_so"):
        so = f"it was still so on {still}" if still > last else "by what is on record of the switch it is still so"
        return [f"No failure since {last}, but {so}."]
    unread = f", and no reading since {absent} shows it" if absent else ""
    return [f"No failure since {last}{unread}{': the cause may be gone' if may_be_gone(facts) else ''}."]


def may_be_gone(facts: Facts) -> bool:
    """Whether nothing has failed for so long, or readings show, that the cause may be gone; never what is still so."""
    if "still_so" in (facts.get("remarks") or {}):
        return False
    known = facts.get("quiet") or {"days": 0}
    quietly = known["days"] >= QUIET_FROM and known["still_at_work"] < AT_WORK
    return quietly or "absent_since" in (facts.get("remarks") or {})


def span_of(days: int) -> str:
    """So many days, or months from two on."""
    months = round(days / YEAR * 12)
    return f"{days} days" if months < 2 else f"{months} months"
