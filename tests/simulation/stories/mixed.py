"""Stories of old units, seasons, wrong remedies, precautions and records badly kept."""

from tests.simulation.records import part, task
from tests.simulation.stories.scene import USUAL, Scene, shop, site
from tests.simulation.stories.story import Story, Verdict, none

KINDS = ("power_switch", "pump", "temperature_controller", "condenser_fan", "compressor")
BLOCKED = task("condenser_clean", "done", "blocked")
SMALL = {"switch-1": {"rated_current": "10 A", "rating": "ac_only"}}
NEW = {"maker": "Tarn", "model": "C2-X"}
WEAK = {("glycol_strength", None): "19 mass%"}
P9 = {"maker": "Moss", "model": "P9"}
HOUSES = [site(f"house-{n}") for n in range(8)]
SAG = {("supply_voltage", None): "99 V"}
UNREAD = dict.fromkeys(USUAL)


def _cottonwood() -> Scene:
    """The condenser is light but for June, when the fluff flies; cleaned at each visit."""
    scene = Scene()
    for year in (2024, 2025, 2026):
        for month, found in ((2, "light"), (6, "blocked"), (8, "light"), (11, "clean")):
            if (year, month) <= (2026, 6):
                scene.visit(f"{year}-{month:02d}-03", tasks=[task("condenser_clean", "done", found)])
    scene.failed(("2024-05-30", "2025-05-29", "2026-05-27"), "switch-1", tasks=[BLOCKED])
    return scene


def _wrong_box() -> list:
    """Five units, new controllers at four of them, of which three die within four months."""
    scenes = [Scene(f"B-{n}", at=f"house-{n}").kept("2024-02-05", "2026-06-01") for n in range(5)]
    for n in range(4):
        scenes[n].failed(f"2025-{9 + n % 2:02d}-1{n}", "controller-1", "worn", item=NEW)
    for n in range(3):
        scenes[n].failed(f"2026-0{1 + n % 2}-0{3 + n}", "controller-1", "broken", item={"maker": "Moss", "model": "T1"})
    return shop(*scenes, sites=HOUSES)


def _blamed_model() -> list:
    """Eight units have pumps of one model; in five the mix is weak and each loses three of them."""
    scenes = []
    for n in range(8):
        scene = Scene(f"P-{n}", at=f"house-{n}", read=WEAK if n < 5 else None).kept("2024-02-05", "2026-06-01")
        if n < 5:
            days = (f"2024-0{5 + n % 4}-14", f"2025-0{2 + n % 4}-0{3 + n}", f"2026-0{1 + n % 4}-2{n}")
            scene.failed(days, "pump-1", "worn", item=P9)
        else:
            scene.failed(f"2024-0{4 + n % 4}-16", "pump-1", "worn", item=P9)
        scenes.append(scene)
    return shop(*scenes, sites=HOUSES)


STORIES = (
    Story(
        name="sixteen years old and one of each",
        scene="A unit of 2010, taken over in September 2025. In nine months one pump, one compressor, one controller, "
        "one switch.",
        verdict="It is old and comes to us worn. One of each is age. Quote a new one, do not look for a culprit.",
        lines=tuple(
            shop(
                Scene(installed="2010-04-01", care="2025-09-01")
                .kept("2025-09-08", "2026-06-01")
                .failed("2025-10-20", "pump-1", "worn")
                .failed("2025-12-15", "compressor-1", "noisy")
                .failed("2026-02-23", "controller-1", "broken")
                .failed("2026-05-04", "switch-1", "worn")
            )
        ),
        expected=tuple(none(kind) for kind in KINDS),
    ),
    Story(
        name="the lights dim in July",
        scene="99 V in July and August of each year when the whole street cools, 117 V else. A compressor burnt in "
        "each of three summers and a controller in one.",
        verdict="The supply sags in the heat. Have it logged in July; the compressors do not die of anything else.",
        lines=tuple(
            shop(
                Scene(installed="2023-01-09")
                .kept("2023-02-06", "2026-06-01")
                .visit("2023-07-04", read=SAG)
                .visit("2024-07-09", read=SAG)
                .visit("2025-07-08", read=SAG)
                .failed(("2023-07-19", "2024-08-06", "2025-07-29"), "compressor-1", read=SAG)
                .failed("2024-07-16", "controller-1", "stuck", read=SAG)
            )
        ),
        expected=(Verdict(kind="compressor", causes=("low_voltage",), at_least="probable", words=("99 V",)),),
    ),
    Story(
        name="cottonwood in June",
        scene="The coil is light all year but for the weeks when the cottonwood flies: blocked each June. A switch "
        "burnt at the end of May three years running, the coil blocked each time.",
        verdict="The fluff. A cleaning in mid-May, not another switch.",
        lines=tuple(shop(_cottonwood())),
        expected=(
            Verdict(
                kind="power_switch",
                causes=("condenser_fouled",),
                at_least="watch",
                words=("blocked",),
                checks=("clean",),
            ),
        ),
    ),
    Story(
        name="four controllers out of one box",
        scene="Five units. Four got a C2-X in autumn, three of which were dead within four months; no controller had "
        "failed early before.",
        verdict="Three of four out of one box: call the maker. It is none of the three units.",
        lines=tuple(_wrong_box()),
        expected=(
            Verdict(unit="", causes=("bad_parts",), at_least="watch", words=("C2-X",)),
            *(Verdict(kind="temperature_controller", unit=f"B-{n}", at_most="watch") for n in range(3)),
            none("temperature_controller", "B-4"),
        ),
    ),
    Story(
        name="the pump's name is not to blame",
        scene="Eight units with pumps of one model. Five have 19 % instead of 35 % in the bath and lost three each in "
        "two years; the other three lost one each.",
        verdict="Slush, in five baths. The same pump lives where the mix is right: do not send them back.",
        lines=tuple(_blamed_model()),
        expected=(
            *(Verdict(kind="pump", unit=f"P-{n}", causes=("glycol_weak",), at_least="probable") for n in range(5)),
            *(none("pump", f"P-{n}") for n in range(5, 8)),
            Verdict(unit="", causes=("bad_parts",), at_most=""),
        ),
    ),
    Story(
        name="cleaned, and it burns on",
        scene="Two switches burnt behind a blocked coil. Since March 2025 the coil is clean at every visit, and two "
        "more burnt. All the time 14 A through a switch for 10 A.",
        verdict="It was never the coil, or never only. Change the switch for one that can carry the motor.",
        lines=tuple(
            shop(
                Scene(read={("current", "switch-1"): "14 A"}, plates=SMALL)
                .kept("2024-02-05", "2025-02-20", found="blocked", cleaned=False)
                .kept("2025-03-10", "2026-06-01", found="clean", step=60)
                .failed(("2024-06-12", "2024-12-03", "2025-08-19", "2026-04-22"), "switch-1")
            )
        ),
        expected=(
            Verdict(
                kind="power_switch",
                causes=("switch_undersized",),
                at_least="probable",
                words=("14 A", "10 A"),
                checks=("rat",),
            ),
        ),
    ),
    Story(
        name="a clean coil, and it burns on",
        scene="Two switches burnt behind a blocked coil. In June 2024 it was deep cleaned, and is found clean since: "
        "three more burnt. Nothing else was read that would explain it.",
        verdict="Not the coil, or never only. Whoever sends me to clean a clean coil has not read the record.",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2024-06-01", found="blocked", cleaned=False)
                .visit("2024-06-17", tasks=[task("condenser_deep_clean", "done", "blocked")])
                .kept("2024-09-01", "2026-06-01", found="clean")
                .failed(
                    ("2024-03-12", "2024-05-28"),
                    "switch-1",
                    tasks=[task("condenser_clean", "not_done", "blocked", "locked")],
                )
                .failed(
                    ("2025-01-14", "2025-07-29", "2026-02-10"),
                    "switch-1",
                    tasks=[task("condenser_clean", "done", "clean")],
                )
            )
        ),
        expected=(
            Verdict(
                kind="power_switch",
                at_least="watch",
                at_most="probable",
                words=("last 3 came without it",),
                checks=("find the cause",),
                never=("shorten its interval",),
            ),
        ),
    ),
    Story(
        name="the terminal was made again",
        scene="Terminal of switch-1 at 96 degC, three burnt there by April 2025; then the lug was cut and crimped "
        "again: 44 degC ever since, and no failure in thirteen months.",
        verdict="Found and mended. Leave it off, or say that it has been quiet.",
        lines=tuple(
            shop(
                Scene(read={("terminal_temperature", "switch-1"): "96 degC"})
                .kept("2024-02-05", "2025-04-20")
                .failed(("2024-07-02", "2024-12-10", "2025-04-24"), "switch-1")
            )
        )
        + tuple(
            line
            for line in Scene()
            .visit("2025-05-02", tasks=[task("electrical_check")])
            .kept("2025-07-07", "2026-06-01")
            .lines
            if line["record"] == "visit"
        ),
        expected=(Verdict(kind="power_switch", at_most="watch", words=(("quiet", "no failure", "none since"),)),),
    ),
    Story(
        name="the other switch for good measure",
        scene="Switch-1 burnt three times behind a coil that nobody reaches; each time the sound switch-2 was changed "
        "with it as a precaution.",
        verdict="Three failures, of switch-1, not six. The coil; and stop throwing good switches away.",
        lines=tuple(
            shop(
                Scene(read={("current", "switch-1"): "15.6 A"})
                .kept("2024-02-05", "2026-06-01", found="blocked", cleaned=False)
                .visit("2024-10-08", "service_call", parts=[part("switch-1"), part("switch-2", "good", "precaution")])
                .visit("2025-07-22", "service_call", parts=[part("switch-1"), part("switch-2", "good", "precaution")])
                .visit("2026-03-11", "service_call", parts=[part("switch-1"), part("switch-2", "good", "precaution")])
            )
        ),
        expected=(
            Verdict(
                kind="power_switch",
                causes=("condenser_fouled",),
                at_least="probable",
                words=("switch-1", "2026-03-11"),
                never=("6 failures", "switch-2"),
            ),
        ),
    ),
    Story(
        name="the same pump recorded twice",
        scene="The landlord says that others put in a pump in 'May 2025', our own call of 2025-05-12 put one in. "
        "One more wore out in March 2026. All readings are good.",
        verdict="Two pumps at most, and the May one is likely one and the same. Nothing to list.",
        lines=tuple(
            shop(
                Scene(installed="2022-03-01", care="2022-03-01")
                .kept("2022-05-02", "2026-06-01")
                .failed("2025-05-12", "pump-1", "worn")
                .visit("2025-08-11", parts=[part("pump-1", "unknown", evidence="reported", by="others", on="2025-05")])
                .failed("2026-03-03", "pump-1", "worn")
            )
        ),
        expected=(Verdict(kind="pump", at_most="watch"),),
    ),
    Story(
        name="everything written down badly",
        scene="A unit of 2011, taken over in 2023. Months instead of days, 'unknown' for reasons, two readings of the "
        "supply in three years, 96 and 97 V; cleanings not recorded. Three burnt compressors, two controllers.",
        verdict="Nobody kept a record worth the name, but both times that somebody measured it was 20 volts short. "
        "Measure the supply.",
        lines=tuple(
            shop(
                Scene(installed="2011-06-01", care="2023-02-01", read=UNREAD)
                .visit("2023-02-06", read={("supply_voltage", None): "97 V"})
                .visit("2023-09-04")
                .visit(
                    "2024-06-03", parts=[part("compressor-1", "burnt", "unknown", on="2024-05", evidence="reported")]
                )
                .visit("2024-11-20", "service_call", parts=[part("controller-1", "unknown")])
                .visit(
                    "2025-04-02", parts=[part("compressor-1", "burnt", "unknown", on="2025-03", evidence="reported")]
                )
                .visit("2025-11-05", read={("supply_voltage", None): "96 V"})
                .visit("2026-01-15", "service_call", parts=[part("controller-1", "unknown", "unknown")])
                .visit("2026-05-11", "service_call", parts=[part("compressor-1", "unknown")])
            )
        ),
        expected=(Verdict(kind="compressor", causes=("low_voltage",), at_least="probable", words=(("96 V", "97 V"),)),),
    ),
)
