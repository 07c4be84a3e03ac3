"""Stories in which there is nothing to find: precautions, upgrades, age, chance, mistakes taken back."""

from tests.simulation.records import part
from tests.simulation.stories.scene import Scene, shop
from tests.simulation.stories.story import Story, Verdict, none

KINDS = ("power_switch", "pump", "temperature_controller", "condenser_fan", "compressor")


def _well(name: str, scene: str, verdict: str, lines: list, *kinds: str) -> Story:
    expected = tuple(none(kind) for kind in kinds or KINDS)
    return Story(name=name, scene=scene, verdict=verdict, lines=tuple(lines), expected=expected)


def _kept() -> Scene:
    return Scene().kept("2024-02-05", "2026-06-01")


def _voided() -> list:
    """Two of three failures were recorded at the wrong unit and voided."""
    scene = _kept().failed(("2024-12-03", "2025-07-08", "2026-02-17"), "switch-1")
    calls = [line for line in scene.visits if line["kind"] == "service_call"]
    record = {"record": "void", "at": "2026-03-02T12:00:00Z", "by": "ada", "reason": "recorded at the wrong unit"}
    voids = [record | {"visit": line["id"]} for line in calls[1:]]
    return [*shop(scene), *voids]


def _small_fleet() -> list:
    """Twelve units, a failure at each, of this kind and that, spread over two years."""
    codes = ("switch-1", "pump-1", "fan-1", "controller-1")
    scenes = [
        Scene(f"W-{n}")
        .kept("2024-02-05", "2026-06-01")
        .failed(f"{2024 + n % 2}-{3 + n % 9:02d}-1{n % 10}", codes[n % 4], "worn")
        for n in range(12)
    ]
    return shop(*scenes)


STORIES = (
    _well(
        "new switches every spring",
        "The owner wants new switches each April before the season: three times, every one of them sound.",
        "Money, not trouble. A precaution is no failure.",
        shop(_kept().failed(("2024-04-10", "2025-04-08", "2026-04-14"), "switch-1", "good", "precaution")),
    ),
    _well(
        "better controllers",
        "Controllers changed twice for newer models, one with a display.",
        "Upgrades. Nothing has failed.",
        shop(_kept().failed(("2024-09-16", "2026-01-12"), "controller-1", "good", "upgrade")),
    ),
    _well(
        "one burnt switch",
        "A single burnt switch in two and a half years; everything else as it should be.",
        "It happens.",
        shop(_kept().failed("2025-05-20", "switch-1")),
    ),
    _well(
        "one of each",
        "One pump, one fan and one controller in thirty months, months apart, all worn.",
        "Three parts of three kinds. That is a usual bill.",
        shop(
            _kept()
            .failed("2024-08-13", "pump-1", "worn")
            .failed("2025-04-22", "fan-1", "noisy")
            .failed("2026-02-10", "controller-1", "broken")
        ),
    ),
    _well(
        "the switches of ten years",
        "Three switches in the ten years that we have kept the unit, in two positions.",
        "Two switches, ten years, three changes: that is how long they last.",
        shop(
            Scene(installed="2016-03-01")
            .kept("2016-06-01", "2026-06-01", step=182)
            .failed(("2019-02-12", "2025-08-19"), "switch-1", "worn")
            .failed("2022-11-08", "switch-2", "stuck")
        ),
    ),
    _well(
        "what the bartender remembers",
        "We took the house over in March. The bartender says "
        "that the switch was changed 'three or four times' before us.",
        "Perhaps. I would look at the switch on my next visit, but I have seen nothing.",
        shop(
            Scene(installed="2017-05-01", care="2026-03-02")
            .kept("2026-03-09", "2026-06-08", step=45)
            .visit(
                "2026-03-10",
                parts=[part("switch-1", "unknown", "unknown", evidence="reported", by="others", on="2024-01-01")],
            )
        ),
    ),
    _well(
        "recorded at the wrong unit",
        "Two of three burnt switches belonged to the unit next to it; those visits were voided.",
        "One switch is left. Nothing.",
        _voided(),
    ),
    _well(
        "a spare part that was dead in the box",
        "A new controller did not work and was changed on the same afternoon. Nothing before and nothing since.",
        "One failure and a bad box. Send it back.",
        shop(
            _kept()
            .visit("2025-09-09", "service_call", parts=[part("controller-1", "broken")])
            .visit("2025-09-09", "follow_up", parts=[part("controller-1", "broken")])
        ),
    ),
    Story(
        name="two hot summers",
        scene=(
            "A fan motor wore out in the heat of July 2024 and another in July 2025; the cellar is cool, the coil "
            "clean."
        ),
        verdict="Two in two summers. Everybody's motors go in July. I would wait for a third.",
        lines=tuple(shop(_kept().failed(("2024-07-15", "2025-07-21"), "fan-1", "noisy"))),
        expected=(Verdict(kind="condenser_fan", at_most="watch"), none("power_switch"), none("compressor")),
    ),
    Story(
        name="twelve well-kept units",
        scene="Twelve units, each of which lost one part in two years: a switch here, a pump there.",
        verdict="A good year. An empty list is the right list.",
        lines=tuple(_small_fleet()),
        expected=tuple(none(kind, f"W-{n}") for n in range(12) for kind in KINDS),
    ),
)
