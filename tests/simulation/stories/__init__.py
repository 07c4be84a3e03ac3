"""Stories: what happened at a unit, and what a senior technician says of it before the engine is asked.

The houses, units and makers are invented. Verdicts are common practice and have no source, except where a story names
one. `KNOWN_SHORT` lists the stories whose verdict the engine does not meet, each with the reason.
"""

from tests.simulation.stories import electrical, fleetwide, healthy, heat, looks, measured, mixed, times, wet
from tests.simulation.stories.known_short import KNOWN_SHORT
from tests.simulation.stories.play import stage
from tests.simulation.stories.story import unclear

STORIES = (
    *heat.STORIES,
    *electrical.STORIES,
    *wet.STORIES,
    *healthy.STORIES,
    *fleetwide.STORIES,
    *times.STORIES,
    *mixed.STORIES,
    *measured.STORIES,
    *looks.STORIES,
)


def main() -> None:
    """Print every story with its verdict and what the engine says, and count those that fall short."""
    failed = 0
    with stage() as app:
        for story in STORIES:
            items = app.play(story)
            short = story.short(items) + [line for item in items for line in unclear(item)]
            failed += bool(short)
            known = " (known)" if story.name in KNOWN_SHORT else ""
            print(f"{'short' + known if short else 'met'}: {story.name}\n  {story.scene}\n  Verdict: {story.verdict}")
            for item in items:
                causes = item["causes"][0]["cause"]
                place = " ".join(filter(None, (item["unit"] or "fleet", item.get("component_kind"))))
                print(f"  {place} {item['tier']} {causes}: {item['explanation']}")
            for line in short:
                print(f"    - {line}")
    print(f"{len(STORIES)} stories, {failed} short of the verdict")
