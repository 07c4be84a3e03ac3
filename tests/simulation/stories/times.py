"""Stories of what was known when."""

from datetime import date

from tests.simulation.records import part
from tests.simulation.stories.scene import Scene, shop
from tests.simulation.stories.story import Story, Verdict, none

BEFORE, AFTER = date(2025, 12, 31), date(2026, 6, 1)
SMALL = {"switch-1": {"rated_current": "10 A", "rating": "ac_only"}}


def _late() -> tuple[tuple, dict]:
    """Three burnt switches of 2025, two of which a technician wrote down only in April 2026."""
    scene = Scene(read={("current", "switch-1"): "14 A"}, plates=SMALL)
    scene.visit("2025-01-13").visit("2025-04-14").visit("2025-07-14").visit("2025-10-13").visit("2026-01-12")
    scene.failed(("2025-03-04", "2025-06-10", "2025-11-18"), "switch-1")
    calls = [line for line in scene.visits if line["kind"] == "service_call"]
    return tuple(shop(scene)), {line["id"]: date(2026, 4, 20) for line in calls[:2]}


def _hearsay() -> tuple:
    """Others replaced a burnt switch three times in 2025; we were told so on a visit in March 2026."""
    scene = Scene(installed="2022-05-02", care="2025-01-06", read={("current", "switch-1"): "14 A"}, plates=SMALL)
    scene.visit("2025-01-13").visit("2025-07-14")
    days = ("2025-02-11", "2025-05-20", "2025-09-02")
    parts = [part("switch-1", "burnt", evidence="reported", by="others", on=day) for day in days]
    for each in parts:
        scene.visit("2026-03-03", parts=[each])
    return tuple(shop(scene))


LATE, RECORDED = _late()
SMALL_SWITCH = Verdict(kind="power_switch", causes=("switch_undersized",), at_least="watch")
STORIES = (
    Story(
        name="nobody knew by New Year",
        scene=(
            "Three switches burnt in 2025. Two of the calls were written down in April 2026. What was known on "
            "2025-12-31?"
        ),
        verdict="One switch. Nobody could have known in December what Jo wrote down in April.",
        lines=LATE,
        expected=(none("power_switch"),),
        posted=True,
        recorded=RECORDED,
        asked=BEFORE,
    ),
    Story(
        name="and now it is known",
        scene="The same, asked on 2026-06-01.",
        verdict="Three of them through 14 A on a 10 A switch. Now it is plain.",
        lines=LATE,
        expected=(SMALL_SWITCH,),
        posted=True,
        recorded=RECORDED,
        asked=AFTER,
    ),
    Story(
        name="hearsay counts from when we heard it",
        scene="On 2026-03-03 the landlord says that others changed the switch in February, May and September 2025.",
        verdict="For December: nothing was known.",
        lines=_hearsay(),
        expected=(none("power_switch"),),
        posted=True,
        asked=BEFORE,
    ),
    Story(
        name="hearsay with a reading behind it",
        scene="The same, asked on 2026-06-01; the clamp shows 14 A on a 10 A switch.",
        verdict="I would look. I have not seen the burnt ones, but I have seen the 14 A.",
        lines=_hearsay(),
        expected=(SMALL_SWITCH,),
        posted=True,
        asked=AFTER,
    ),
)
