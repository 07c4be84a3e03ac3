"""What glasses show where the beer is cold: foam, and a first glass that alone is warm."""

from collections.abc import Iterator

from service.domain.assessment.evidence import Evidence
from service.domain.assessment.finding import Finding
from service.domain.assessment.pouring import CARE, TAP, WARM, bath_is_warm, cooler_is_warm, warm_taps
from service.domain.assessment.rule import Rule, note
from service.domain.assessment.uncertainty import taken

FIRST_GLASS = 3.0  # K of the first glass over a later one; judged, no source


def _first_glass(e: Evidence) -> Iterator[Finding]:
    """A tap whose first glass was warm and whose latest is cold: what stood in the line had warmed."""
    cold = [each for each in e.each("beer_temperature_at_tap") if each not in warm_taps(e)]
    for last in cold:
        first = max(
            (each for each in e.readings if each.quantity == last.quantity and each.tap == last.tap and each.at),
            key=lambda each: each.value.value,
            default=last,
        )
        if last.at and first.at and first.at < last.at and first.value.value - last.value.value > FIRST_GLASS:
            yield note(
                "first_glass_warm",
                f"Tap {last.tap} poured at {e.show_reading(first)} at first and then at {e.show_reading(last)}: only "
                "what stood in its line was warm.",
                advice="After a line was cleaned or stood with the glycol off nothing is to be repaired. If it comes "
                "back each day, follow the line's last stretch and the tower: insulation, and glycol up to the faucet.",
                first=taken(first),
                last=taken(last),
            )


def _foams(e: Evidence) -> Iterator[Finding]:
    """Foam although everything that was read is cold."""
    foaming = e.visit.complaint is not None and e.visit.complaint.symptom == "foaming"
    if not foaming or warm_taps(e) or cooler_is_warm(e) or bath_is_warm(e):
        return
    yield note(
        "foam_not_from_warmth",
        "Beer pours cold, so warmth does not explain the foam.",
        advice="Look at what else makes foam: gas pressure and blend, a keg just tapped or shaken, coupler and "
        "washers, a dirty line or faucet, a glass that is not clean. If a line may have frozen, look for ice.",
        **{f"tap {each.tap}": taken(each) for each in e.each("beer_temperature_at_tap")},
    )


RULES = (
    Rule(
        codes=("first_glass_warm",),
        needs=(TAP,),
        judge=_first_glass,
        shows="whether only the first glass is warm",
        source="Beer that stands takes the line's temperature; lines are cleaned with warm solution and the glycol "
        "off (a brewers' association): common practice, no source for the limit",
        caution=CARE,
        asked_by=WARM,
        weight=0.0,
    ),
    Rule(
        codes=("foam_not_from_warmth",),
        needs=(TAP,),
        judge=_foams,
        shows="whether warmth makes the foam",
        source="A draught beer course's foaming check list: temperature first; then gas, coupler, line, faucet, glass",
        caution=CARE,
        asked_by=frozenset({"foaming"}),
        weight=0.0,
    ),
)
