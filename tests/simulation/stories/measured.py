"""Stories of what a reading is worth: taken in trouble, over a limit by little, put right, or never written down."""

from tests.simulation.records import part, task
from tests.simulation.stories.scene import USUAL, Scene, shop, site
from tests.simulation.stories.story import Story, Verdict, none

KEPT = ("2024-02-05", "2026-06-01")
NEVER_FOULED = ("fouled condenser, so", "not cleaned for too long")
SMALL = {"switch-1": {"rated_current": "20 A", "rating": "ac_only"}}
PLATES = {"switch-1": {"rated_current": "10 A", "rating": "ac_only"}, "fan-1": {"rated_current": "2 A"}}
UNCLAMPED = {("current", "switch-1"): None, ("current", "switch-2"): None}
UNREAD = {("terminal_temperature", "switch-1"): None, ("terminal_temperature", "switch-2"): None}


def _unlogged() -> Scene:
    """Ten visits without a task."""
    scene = Scene()
    for year in (2024, 2025):
        for month in (2, 5, 8, 11):
            scene.visit(f"{year}-{month:02d}-05")
    return scene.failed(("2024-09-17", "2025-06-10", "2026-03-03"), "switch-1")


def _changed(scene: Scene, then: Scene) -> tuple:
    """A unit and its visits, then those of the same unit when something had been put right."""
    return tuple([*shop(scene), *(line for line in then.lines if line["record"] == "visit")])


def _struck() -> list:
    """Three units of one house: a worn controller each in 2024, another in the storm of 2026-05-13."""
    houses = [Scene(f"L-{n}").kept(*KEPT).failed(f"2024-0{5 + n}-14", "controller-1", "worn") for n in range(3)]
    others = [Scene(f"N-{n}", at="next-door").kept(*KEPT) for n in range(4)]
    return shop(*(house.failed("2026-05-13", "controller-1") for house in houses), *others,
                sites=[site(), site("next-door")])  # fmt: skip


def _new_model() -> list:
    """A new controller in each of three units, all dead within five months."""
    return shop(
        *(
            Scene(f"C-{n}", at=f"house-{n}")
            .kept(*KEPT)
            .failed(f"2025-11-0{3 + n}", "controller-1", "worn", "upgrade", item={"maker": "Tarn", "model": "C2"})
            .failed(f"2026-0{2 + n}-1{n}", "controller-1", "broken", item={"maker": "Moss", "model": "C1"})
            for n in range(3)
        ),
        sites=[site(f"house-{n}") for n in range(3)],
    )


STORIES = (
    Story(
        name="six percent over",
        scene="17 A at every visit through a 20 A AC-only switch, which may carry 16 A of motors. The coil is light as "
        "ever. Burnt three times.",
        verdict="Six percent over, and three burnt. Not beyond doubt, but it has to be said.",
        source="NEC 404.14: an AC-only switch carries motors up to 80 % of its rating",
        lines=tuple(
            shop(
                Scene(read={("current", "switch-1"): "17 A"}, plates=SMALL)
                .kept(*KEPT)
                .failed(("2024-09-10", "2025-06-17", "2026-03-03"), "switch-1")
            )
        ),
        expected=(
            Verdict(kind="power_switch", causes=("switch_undersized",), at_least="watch", words=("17 A", "20 A")),
        ),
    ),
    Story(
        name="hot only when we were called",
        scene="Terminals never read at PM. 88 degC on each of three calls, with the switch burnt.",
        verdict="Of course it is hot on the day it burns. I would not swear to the terminal.",
        lines=tuple(
            shop(
                Scene(read=UNREAD)
                .kept(*KEPT)
                .failed(
                    ("2024-08-13", "2025-04-15", "2026-01-20"),
                    "switch-1",
                    read={("terminal_temperature", "switch-1"): "88 degC"},
                )
            )
        ),
        expected=(Verdict(kind="power_switch", at_most="watch", never=("almost certain",)),),
    ),
    Story(
        name="the leaking seal emptied it",
        scene="92 % at every PM. At two calls the pump's seal leaked and the bath stood at 55 %.",
        verdict="The seal emptied the bath, not the other way round.",
        lines=tuple(
            shop(
                Scene()
                .kept(*KEPT)
                .failed(("2025-01-14", "2026-02-24"), "pump-1", "leaking", read={("bath_level", None): "55 %"})
            )
        ),
        expected=(Verdict(kind="pump", at_most="watch", never=("bath level too low",)),),
    ),
    Story(
        name="a stalled compressor draws the mains down",
        scene="117 V at nine PM visits, 98 V on two calls with a seized compressor.",
        verdict="The stalled motor drags it. Read it running; no electrician yet.",
        lines=tuple(
            shop(
                Scene()
                .kept(*KEPT)
                .failed(("2025-01-21", "2026-03-31"), "compressor-1", "seized", read={("supply_voltage", None): "98 V"})
            )
        ),
        expected=(Verdict(kind="compressor", at_most="watch", never=("electrician correct",)),),
    ),
    Story(
        name="the mains were put right",
        scene="98 V until March 2025 and two compressors; 118 V since, and nothing has failed.",
        verdict="The electrician has been. Say that it is quiet and reads well; do not send him again.",
        lines=_changed(
            Scene(read={("supply_voltage", None): "98 V"})
            .kept("2024-02-05", "2025-02-20")
            .failed(("2024-03-05", "2024-11-12"), "compressor-1"),
            Scene(read={("supply_voltage", None): "118 V"}).kept("2025-04-07", "2026-06-01"),
        ),
        expected=(
            Verdict(
                kind="compressor",
                causes=("low_voltage",),
                at_most="probable",
                words=("may be gone",),
                never=("electrician correct",),
            ),
        ),
    ),
    Story(
        name="the electrician came, and compressors die on",
        scene="97 V until November 2024 and two compressors; 117 V since, and two more.",
        verdict="The mains are fine now. It is something else: look at the circuit.",
        lines=_changed(
            Scene(installed="2023-02-06", read={("supply_voltage", None): "97 V"})
            .kept("2023-03-06", "2024-11-04")
            .failed(("2023-10-10", "2024-08-13"), "compressor-1"),
            Scene().kept("2024-11-18", "2026-05-25").failed(("2025-06-10", "2026-03-10"), "compressor-1"),
        ),
        expected=(
            Verdict(
                kind="compressor",
                causes=("unexplained",),
                at_least="watch",
                words=("last 2 came without it",),
                never=("electrician correct",),
            ),
        ),
    ),
    Story(
        name="cleanings never written down",
        scene="Visits every quarter and not one task logged. Three switches burnt.",
        verdict="We may well have cleaned it, nobody wrote it down. Say so; do not say that it was not cleaned.",
        lines=tuple(shop(_unlogged())),
        expected=(Verdict(kind="power_switch", at_most="probable", never=NEVER_FOULED),),
    ),
    Story(
        name="the plates say it, nobody clamped it",
        scene="No current was ever read. By the plates the 10 A AC-only switch carries 9 A. Burnt twice.",
        verdict="Nine on eight, by the plates. Clamp it; do not claim a reading.",
        lines=tuple(
            shop(
                Scene(read=dict.fromkeys(USUAL) | UNCLAMPED, plates=PLATES)
                .kept(*KEPT)
                .failed(("2025-01-14", "2026-02-10"), "switch-1")
            )
        ),
        expected=(
            Verdict(
                kind="power_switch",
                causes=("switch_undersized",),
                at_least="watch",
                words=("ratings show it",),
                never=("readings or findings show it",),
            ),
        ),
    ),
    Story(
        name="a storm, and a worn one before",
        scene="Three controllers of one house died in one storm; each had been changed once before, worn, in the "
        "spring of 2024.",
        verdict="Two in two years each, one of them by lightning. No season, no model, no mains.",
        lines=tuple(_struck()),
        expected=(
            *(Verdict(kind="temperature_controller", unit=f"L-{n}", at_most="watch") for n in range(3)),
            Verdict(unit="", kind="temperature_controller", at_most="watch", never=("these months",)),
        ),
    ),
    Story(
        name="three of three in a shop of three",
        scene="Three units, a new C2 controller in each in November, all dead by April.",
        verdict="Three of three in five months: the model.",
        lines=tuple(_new_model()),
        expected=(Verdict(unit="", causes=("bad_parts",), at_least="watch", words=("C2",)),),
    ),
    Story(
        name="all at once in one night",
        scene="One unit lost its controller, compressor, switch and pump in one night.",
        verdict="A surge. Nothing keeps failing.",
        lines=tuple(
            shop(
                Scene()
                .kept(*KEPT)
                .visit(
                    "2026-05-13",
                    "service_call",
                    tasks=[task("electrical_check")],
                    parts=[part(code) for code in ("controller-1", "compressor-1", "switch-1", "pump-1")],
                )
            )
        ),
        expected=tuple(none(kind) for kind in ("temperature_controller", "compressor", "power_switch", "pump")),
    ),
)
