"""How much beer to purge from the lines that pour warm; it is worth doing once the cause is known."""

from collections.abc import Iterator

from service.domain.assessment.evidence import Evidence, Need, computed, listed, span
from service.domain.assessment.finding import Finding
from service.domain.assessment.pouring import MOST_NAMED, TAP, bath_is_warm, cooler_is_warm, trunks_of, warm_taps
from service.domain.assessment.rule import Rule, note
from service.domain.physics.lines.draught import line_volume
from service.domain.physics.lines.purge import purge


def _purge(e: Evidence) -> Iterator[Finding]:
    lines = {tap: volume for each in warm_taps(e) if (tap := each.tap) and (volume := _line_volume(e, tap)) > 0.0}
    if not lines:
        return
    cleared = purge(list(lines.values()))
    each_tap = listed([f"tap {tap}: {e.show(volume, 'volume')}" for tap, volume in list(lines.items())[:MOST_NAMED]])
    yield note(
        "purge_lines",
        f"The warm lines hold {e.show(cleared.volume, 'volume')} of beer ({each_tap}): {cleared.pitchers:.1f} "
        f"× {e.show(cleared.volume / cleared.pitchers, 'volume')} pitchers, {span(cleared.seconds)} of pouring.",
        advice=_purge_or_wait(e),
        volume=computed(cleared.volume, "volume"),
        pitchers=round(cleared.pitchers, 2),
        glasses=round(cleared.glasses, 1),
        time=computed(cleared.seconds, "time"),
        taps=", ".join(lines),
    )


def _purge_or_wait(e: Evidence) -> str:
    if cooler_is_warm(e) or bath_is_warm(e):
        return "Do not purge yet: the beer behind it is as warm. Get cooler and bath cold first, then purge or wait."
    return (
        "Purge it before serving, or let the glycol cool it while the bar is closed: a standing line cools by itself "
        "once the loop is cold. Then measure a glass."
    )


def _line_volume(e: Evidence, tap: str) -> float:
    """Volume of a tap's line outside the cooler [m3]; 0 where its bore or length is not recorded."""
    for trunk in trunks_of(e, tap):
        bore = next((line.bore.value for line in trunk.beer_lines if line.tap == tap and line.bore is not None), None)
        length = sum(run.length.value for run in trunk.runs if run.surroundings != "cooler")
        if bore and length:
            return line_volume(bore=bore, length=length)
    return 0.0


LINES = Need(
    "trunks.beer_lines.bore",
    "unit",
    "bore and length of the beer lines on the unit's record",
    lambda e: any(line.bore is not None for trunk in e.unit.trunks if trunk.runs for line in trunk.beer_lines),
)

RULES = (
    Rule(
        codes=("purge_lines",),
        needs=(TAP, LINES),
        judge=_purge,
        shows="how much to purge",
        source="Bore and length of the line; 60 fl oz pitchers, two to three a tap for 160 to 250 ft of 3/8 in line: "
        "common practice, no source; pour rate 2 fl oz/s, beer-system technician manual, p. 17",
        caution="Purged beer belongs to the customer: ask before pouring it away, and never serve it. "
        "Wet floors are slippery.",
        weight=0.3,
    ),
)
