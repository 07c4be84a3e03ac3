"""Stories of current, contacts and voltage."""

from tests.simulation.records import part, task
from tests.simulation.stories.scene import Scene, shop, site
from tests.simulation.stories.story import Story, Verdict, none

SMALL = {"switch-1": {"rated_current": "10 A", "rating": "ac_only"}}
LARGE = {"switch-1": {"rated_current": "30 A", "rating": "motor"}}
SAGGING = {("supply_voltage", None): "98 V", ("current", "switch-1"): "14 A"}
HOT_LUG = {("terminal_temperature", "switch-2"): "93 degC"}
LOW = Verdict(kind="compressor", causes=("low_voltage",), at_least="probable", words=("98 V", "115 V"))

STORIES = (
    Story(
        name="14 A through a 10 A switch",
        scene=(
            "The nameplate of the switch says 10 A, alternating current only. It carries 14 A at every visit and "
            "burnt twice."
        ),
        verdict="Wrong switch. Two is plenty when the clamp shows 14 on a 10. Fit one rated for the motor.",
        lines=tuple(
            shop(
                Scene(read={("current", "switch-1"): "14 A"}, plates=SMALL)
                .kept("2024-02-05", "2026-06-01")
                .failed(("2025-04-15", "2026-01-20"), "switch-1")
            )
        ),
        expected=(
            Verdict(
                kind="power_switch",
                causes=("switch_undersized",),
                at_least="probable",
                words=("14 A", "10 A", "switch-1"),
                checks=("rat",),
            ),
        ),
    ),
    Story(
        name="the right switch at last",
        scene=(
            "A 10 A switch at 14 A burnt three times by March 2024. Since then a 30 A motor-rated one, and 27 quiet "
            "months."
        ),
        verdict="Solved. Nobody needs to look again.",
        lines=tuple(
            shop(
                Scene(installed="2022-06-01", read={("current", "switch-1"): "14 A"}, plates=LARGE)
                .kept("2022-07-01", "2026-06-01")
                .failed(("2022-12-06", "2023-07-11", "2024-03-05"), "switch-1", item={"maker": "Tarn", "model": "M30"})
            )
        ),
        expected=(Verdict(kind="power_switch", at_most="watch"),),
    ),
    Story(
        name="98 V on a 115 V plate",
        scene=(
            "98 V measured at every visit since we have known the house. Two compressors and two controllers in two "
            "years."
        ),
        verdict=(
            "Low voltage: motors stall and pull the contacts down. Call the electrician before the third compressor."
        ),
        lines=tuple(
            shop(
                Scene(read=SAGGING)
                .kept("2024-02-05", "2026-06-01")
                .failed(("2025-01-14", "2026-02-18"), "compressor-1", "burnt")
                .failed(("2024-09-10", "2025-10-07"), "controller-1", "stuck")
            )
        ),
        expected=(
            LOW,
            Verdict(kind="temperature_controller", causes=("low_voltage",), at_least="probable", words=("98 V",)),
        ),
    ),
    Story(
        name="low voltage kills pumps too",
        scene="The same supply, 98 V. Here it is two pump motors and a fan that burnt.",
        verdict="The same cause. A pump motor does not care what the compressor is called.",
        lines=tuple(
            shop(
                Scene(read=SAGGING)
                .kept("2024-02-05", "2026-06-01")
                .failed(("2025-02-03", "2025-12-16"), "pump-1", "burnt")
                .failed(("2025-07-30", "2026-04-21"), "fan-1", "burnt")
            )
        ),
        expected=(
            Verdict(kind="pump", causes=("low_voltage",), at_least="watch", words=("98 V",)),
            Verdict(kind="condenser_fan", causes=("low_voltage",), at_least="watch"),
        ),
    ),
    Story(
        name="one site, one supply",
        scene=(
            "Three units in one house at 98 V, each with two dead compressors or controllers; the house next door "
            "has 118 V."
        ),
        verdict="It is the house's supply. All three, one electrician.",
        lines=tuple(
            shop(
                *(
                    Scene(f"K-{n}", read=SAGGING)
                    .kept("2024-02-05", "2026-06-01")
                    .failed(("2025-03-11", f"2025-1{n}-04"), code, "burnt")
                    for n, code in ((1, "compressor-1"), (2, "controller-1"))
                ),
                Scene("K-3", read=SAGGING)
                .kept("2024-02-05", "2026-06-01")
                .failed(("2024-12-02", "2026-03-03"), "compressor-1", "burnt"),
                Scene("N-1", at="next-door")
                .kept("2024-02-05", "2026-06-01")
                .failed("2025-05-05", "compressor-1", "noisy"),
                sites=[site(), site("next-door")],
            )
        ),
        expected=(
            Verdict(unit="K-1", kind="compressor", causes=("low_voltage",), at_least="probable"),
            Verdict(unit="K-2", kind="temperature_controller", causes=("low_voltage",), at_least="probable"),
            Verdict(unit="K-3", kind="compressor", causes=("low_voltage",), at_least="probable"),
            none("compressor", "N-1"),
        ),
    ),
    Story(
        name="the hot one of two switches",
        scene=(
            "Terminal of switch-2 at 93 degC, of its sister switch-1 at 43 degC, by the same thermometer. Switch-2 "
            "burnt five times."
        ),
        verdict=(
            "A loose or corroded terminal at switch-2. Twenty kelvin over its sister is already too much, fifty is "
            "a fault."
        ),
        source="NETA MTS Table 100.18: more than 15 degC over a similar component is a major deficiency",
        lines=tuple(
            shop(
                Scene(read=HOT_LUG)
                .kept("2024-02-05", "2026-06-01")
                .failed(("2024-06-10", "2024-12-11", "2025-06-24", "2025-12-09", "2026-04-14"), "switch-2")
            )
        ),
        expected=(
            Verdict(
                kind="power_switch",
                causes=("loose_terminal",),
                at_least="probable",
                words=("switch-2", "93"),
                never=("condenser was",),
            ),
        ),
    ),
    Story(
        name="hot only while it burnt",
        scene="Terminal of switch-1 at 85 degC on the two days on which it burnt, at 43 degC a week before and since.",
        verdict="The dying contact heated its lug. Two switches in two years; I read it again at the next visit.",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2026-06-01")
                .failed(
                    ("2024-09-17", "2026-02-10"), "switch-1", read={("terminal_temperature", "switch-1"): "85 degC"}
                )
            )
        ),
        expected=(Verdict(kind="power_switch", at_most="watch"),),
    ),
    Story(
        name="half a volt across a closed contact",
        scene=(
            "0.55 V across the closed contact of switch-1 under load, three burnt there; the terminal was never "
            "measured."
        ),
        verdict="A closed contact drops hundredths. Half a volt at 12 A is six watts in a joint: re-make it.",
        lines=tuple(
            shop(
                Scene(read={("contact_voltage_drop", "switch-1"): "0.55 V", ("terminal_temperature", "switch-1"): None})
                .kept("2024-02-05", "2026-06-01")
                .failed(("2025-01-08", "2025-08-26", "2026-04-08"), "switch-1")
            )
        ),
        expected=(Verdict(kind="power_switch", causes=("loose_terminal",), at_least="probable", words=("switch-1",)),),
    ),
    Story(
        name="the small load burns",
        scene="Switch-1 carries 19 A of its 20 A and never failed. Switch-2 carries 5 A and burnt three times.",
        verdict="Whatever burns switch-2, it is not 19 A through the other one. I do not know yet.",
        lines=tuple(
            shop(
                Scene(read={("current", "switch-1"): "19 A", ("terminal_temperature", "switch-2"): None})
                .kept("2024-02-05", "2026-06-01")
                .failed(("2024-10-09", "2025-06-03", "2026-03-24"), "switch-2")
            )
        ),
        expected=(
            Verdict(
                kind="power_switch",
                causes=("unexplained", "loose_terminal", "bad_parts", "after_repair"),
                at_least="watch",
                words=("switch-2",),
                never=("19 A",),
            ),
        ),
    ),
    Story(
        name="written down as a precaution",
        scene="14 A through a 10 A switch; it burnt three times, and the apprentice ticked 'precaution' twice.",
        verdict="Burnt is burnt, whatever box he ticked.",
        lines=tuple(
            shop(
                Scene(read={("current", "switch-1"): "14 A"}, plates=SMALL)
                .kept("2024-02-05", "2026-06-01")
                .failed("2024-11-19", "switch-1")
                .failed(("2025-07-01", "2026-02-24"), "switch-1", "burnt", "precaution")
            )
        ),
        expected=(Verdict(kind="power_switch", causes=("switch_undersized",), at_least="watch"),),
    ),
    Story(
        name="one wild reading",
        scene="One reading of 24 A among twelve of 12 A, two years ago. Two switches wore out, twenty months apart.",
        verdict="Somebody clamped it while it started. Nothing to see.",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2026-06-01")
                .visit("2024-07-01", read={("current", "switch-1"): "24 A"}, tasks=[task("electrical_check")])
                .failed(("2024-08-12", "2026-04-13"), "switch-1", "worn")
            )
        ),
        expected=(none("power_switch"),),
    ),
    Story(
        name="the sister unit is well",
        scene=(
            "Two units in one cellar. One has a 10 A switch at 14 A that burnt four times; the other lost one switch."
        ),
        verdict="The one with the small switch. Leave the other alone.",
        lines=tuple(
            shop(
                Scene(read={("current", "switch-1"): "14 A"}, plates=SMALL)
                .kept("2024-02-05", "2026-06-01")
                .failed(("2024-09-02", "2025-03-18", "2025-10-01", "2026-04-07"), "switch-1"),
                Scene("K-2").kept("2024-02-05", "2026-06-01").failed("2025-09-15", "switch-1", "worn"),
            )
        ),
        expected=(
            Verdict(kind="power_switch", causes=("switch_undersized",), at_least="probable"),
            none("power_switch", "K-2"),
        ),
    ),
    Story(
        name="the wrong part first",
        scene=(
            "A dead unit: the pump was changed and was good, the next day the switch was found open. Nothing else "
            "in two years."
        ),
        verdict="A wrong guess, then the right one. No root cause.",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2026-06-01")
                .visit("2025-10-13", "service_call", parts=[part("pump-1", "good")])
                .visit("2025-10-14", "service_call", parts=[part("switch-2", "open_circuit")])
            )
        ),
        expected=(none("pump"), none("power_switch")),
    ),
)
