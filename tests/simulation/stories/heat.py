"""Stories of heat: dirty condensers, hot rooms, and what is beside them."""

from tests.simulation.records import part, task
from tests.simulation.stories.scene import Scene, shop
from tests.simulation.stories.story import Story, Verdict, none

BLOCKED = task("condenser_clean", "not_done", "blocked", "no time, bar open")
THREE = ("2025-07-14", "2025-11-20", "2026-03-17")


def _three_switches(installed: str) -> Scene:
    """Watched since 2025-01-06; nobody reaches the condenser, which is blocked each time."""
    scene = Scene(installed=installed, care="2025-01-06", read={("current", "switch-1"): "15.4 A"})
    scene.kept("2025-01-20", "2026-06-01", found="heavy", cleaned=False)
    return scene.failed(THREE, "switch-1", tasks=[BLOCKED])


DIRTY_SWITCH = Verdict(
    kind="power_switch",
    causes=("condenser_fouled",),
    at_least="probable",
    words=("switch-1", "2026-03-17", "condenser"),
    checks=("clean",),
)
STORIES = (
    Story(
        name="young unit, blocked condenser",
        scene=(
            "A unit of January 2025. The condenser stands behind crates and is blocked at every call; three "
            "switches burnt."
        ),
        verdict="It is the condenser. Clean it before another switch goes in. I would put that on the list at once.",
        lines=tuple(shop(_three_switches("2025-01-06"))),
        expected=(DIRTY_SWITCH,),
    ),
    Story(
        name="old unit, blocked condenser",
        scene="The same visits, switches and dirt at a unit of 2012 that we took over in January 2025.",
        verdict=(
            "The same. What it did in the twelve years before us, nobody knows, and nobody should count it as good."
        ),
        lines=tuple(shop(_three_switches("2012-05-02"))),
        expected=(DIRTY_SWITCH,),
    ),
    Story(
        name="taken over last winter",
        scene=(
            "A unit of 2014, in our care for seven months. Its condenser was lightly fouled when we came. One pump, "
            "one fan."
        ),
        verdict=(
            "Nothing. Twelve years of uncleaned condenser are nobody's record, and two old parts of two kinds wore out."
        ),
        lines=tuple(
            shop(
                Scene(installed="2014-03-01", care="2025-11-03")
                .kept("2025-11-10", "2026-06-01")
                .failed("2026-01-19", "pump-1", "worn")
                .failed("2026-04-02", "fan-1", "noisy")
            )
        ),
        expected=(none("pump"), none("condenser_fan"), none("power_switch")),
    ),
    Story(
        name="found blocked, not cleaned",
        scene=(
            "At three calls the condenser was blocked and not cleaned; between them a colleague did clean it every "
            "quarter."
        ),
        verdict=(
            "Blocked each time that a switch burnt, so it clogs within weeks. Look at the condenser, and at the fryer."
        ),
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2026-06-01")
                .failed(("2024-10-28", "2025-07-29", "2026-04-27"), "switch-1", tasks=[BLOCKED])
            )
        ),
        expected=(
            Verdict(
                kind="power_switch", causes=("condenser_fouled",), at_least="watch", words=("blocked", "2026-04-27")
            ),
        ),
    ),
    Story(
        name="fan and controller beside a dirty condenser",
        scene=(
            "Condenser never reached since spring 2024. Two fan motors and two controllers burnt, each 15 A at the "
            "switch."
        ),
        verdict="One cause for both: the condenser blows its heat over the fan motor and the controls. Clean it.",
        lines=tuple(
            shop(
                Scene(read={("current", "switch-1"): "15.6 A"})
                .kept("2024-02-05", "2026-06-01", found="blocked", cleaned=False)
                .failed(("2025-06-18", "2026-02-10"), "fan-1", "burnt", tasks=[BLOCKED])
                .failed(("2025-08-05", "2026-05-11"), "controller-1", "burnt", tasks=[BLOCKED])
            )
        ),
        expected=(
            Verdict(kind="condenser_fan", causes=("condenser_fouled",), at_least="watch", words=("condenser",)),
            Verdict(kind="temperature_controller", causes=("condenser_fouled",), at_least="watch"),
        ),
    ),
    Story(
        name="switch and compressor support each other",
        scene="Blocked condenser for two years; two switches burnt, and a compressor that also burnt out.",
        verdict="Two switches alone would make me look. With the compressor I am sure enough to call it probable.",
        lines=tuple(
            shop(
                Scene(read={("current", "switch-1"): "15.8 A"})
                .kept("2024-02-05", "2026-06-01", found="blocked", cleaned=False)
                .failed(("2025-03-12", "2025-12-01"), "switch-1", tasks=[BLOCKED])
                .failed(("2025-08-20", "2026-05-06"), "compressor-1", "burnt", tasks=[BLOCKED])
            )
        ),
        expected=(
            Verdict(kind="power_switch", causes=("condenser_fouled",), at_least="probable"),
            Verdict(kind="compressor", causes=("condenser_fouled",), at_least="probable"),
        ),
    ),
    Story(
        name="cleaned at last, and quiet since",
        scene=(
            "Four switches in sixteen months, then in May 2024 a deep cleaning, kept clean since: two years without "
            "a failure."
        ),
        verdict="It was the condenser, and it is over. Leave it off the list, or say since when it has been quiet.",
        lines=tuple(
            shop(
                Scene(installed="2022-10-03")
                .kept("2022-11-01", "2024-04-20", found="blocked", cleaned=False)
                .failed(("2023-01-16", "2023-06-20", "2023-11-02", "2024-04-29"), "switch-1", tasks=[BLOCKED])
                .visit("2024-05-06", tasks=[task("condenser_deep_clean", "done", "blocked")])
                .kept("2024-08-01", "2026-06-01")
            )
        ),
        expected=(Verdict(kind="power_switch", at_most="watch", words=(("quiet", "no failure", "none since"),)),),
    ),
    Story(
        name="a pump every August",
        scene=(
            "The unit stands in a loft under a tin roof: 44 degC (112 degF) in August, 26 otherwise. A pump died "
            "each of four Augusts."
        ),
        verdict=(
            "Four Augusts is no chance. Heat in that loft; give it air or move it. A strainer would not know the month."
        ),
        lines=tuple(
            shop(
                Scene(installed="2022-01-10", read={("ambient_temperature", None): "26 degC"})
                .kept("2022-02-01", "2026-06-01")
                .failed(
                    ("2022-08-11", "2023-08-19", "2024-08-06", "2025-08-14"),
                    "pump-1",
                    "seized",
                    read={("ambient_temperature", None): "44 degC"},
                )
            )
        ),
        expected=(
            Verdict(kind="pump", causes=("ambient_hot",), at_least="watch", words=(("August", "-08", "summer"), "44")),
        ),
    ),
    Story(
        name="fan motors beside an oven",
        scene=(
            "The unit was moved beside a pizza oven: 47 degC at the coil, the condenser clean at every visit. Three "
            "fan motors."
        ),
        verdict="Too hot where it stands. Nothing wrong with the fans, nor with the cleaning.",
        lines=tuple(
            shop(
                Scene(
                    read={("ambient_temperature", None): "47 degC", ("condenser_air_in_temperature", None): "47 degC"}
                )
                .kept("2024-02-05", "2026-06-01", found="clean")
                .failed(("2025-02-11", "2025-09-08", "2026-03-30"), "fan-1", "burnt")
            )
        ),
        expected=(
            Verdict(
                kind="condenser_fan", causes=("ambient_hot",), at_least="probable", words=("47",), never=("blocked",)
            ),
        ),
    ),
    Story(
        name="dirty, and nothing has failed",
        scene="Blocked at every visit for two years, and not one part has failed.",
        verdict="A cleaning is due, that is another list. There is no failure to explain.",
        lines=tuple(shop(Scene().kept("2024-02-05", "2026-06-01", found="blocked", cleaned=False))),
        expected=(none("power_switch"), none("compressor"), none("condenser_fan")),
    ),
    Story(
        name="one switch, dirty condenser",
        scene="A blocked condenser and one burnt switch in two years.",
        verdict="One is one. Clean the condenser because it is dirty; I would not write that it kills switches.",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2026-06-01", found="heavy", cleaned=False)
                .failed("2025-08-12", "switch-1", tasks=[BLOCKED])
            )
        ),
        expected=(none("power_switch"),),
    ),
    Story(
        name="everything in one storm",
        scene=(
            "A lightning strike in July 2025: controller, fan and compressor dead on the same day. Quiet before and "
            "after."
        ),
        verdict="That was the storm. One event, no root cause.",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2026-06-01")
                .visit(
                    "2025-07-22",
                    "service_call",
                    parts=[part("controller-1"), part("fan-1"), part("compressor-1")],
                    work="Lightning struck the house last night.",
                )
            )
        ),
        expected=(none("temperature_controller"), none("condenser_fan"), none("compressor")),
    ),
)
