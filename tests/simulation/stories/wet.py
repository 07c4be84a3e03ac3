"""Stories of the bath, the mix and the pump."""

from tests.simulation.records import task
from tests.simulation.stories.scene import Scene, shop
from tests.simulation.stories.story import Story, Verdict, none

FOUND_BLOCKED = task("strainer_clean", "not_done", "blocked", "no spare")
PUMPS = ("2024-11-12", "2025-06-25", "2026-02-03")

STORIES = (
    Story(
        name="slush in the bath",
        scene="Somebody tops up with water: 18 % at every visit, 35 % is the target. Three pumps in fifteen months.",
        verdict="Weak glycol, ice at the coil. Change the mix, then the pump.",
        lines=tuple(
            shop(
                Scene(read={("glycol_strength", None): "18 mass%"})
                .kept("2024-02-05", "2026-06-01")
                .failed(PUMPS, "pump-1", "worn")
            )
        ),
        expected=(
            Verdict(
                kind="pump",
                causes=("glycol_weak",),
                at_least="probable",
                words=("18", ("35", "target"), "2026-02-03"),
                never=("condenser",),
            ),
        ),
    ),
    Story(
        name="syrup in the bath",
        scene="54 % instead of 35 %: thick, and every pump is hot. Three burnt.",
        verdict="Too strong. At 28 degF that is more than twice as thick as it should be. Thin it down.",
        lines=tuple(
            shop(
                Scene(read={("glycol_strength", None): "54 mass%"})
                .kept("2024-02-05", "2026-06-01")
                .failed(PUMPS, "pump-1", "burnt")
            )
        ),
        expected=(Verdict(kind="pump", causes=("glycol_strong",), at_least="probable", words=("54",)),),
    ),
    Story(
        name="the pump runs dry",
        scene="The bath is half empty at every visit, 45 %. Three pumps, two with torn seals.",
        verdict="Dry running, seconds are enough. Find the leak.",
        source="rotary-vane pump manual, correct use: dry running damages the seal within seconds",
        lines=tuple(
            shop(
                Scene(read={("bath_level", None): "45 %"})
                .kept("2024-02-05", "2026-06-01")
                .failed(PUMPS[:2], "pump-1", "leaking")
                .failed(PUMPS[2], "pump-1", "seized")
            )
        ),
        expected=(Verdict(kind="pump", causes=("bath_low",), at_least="probable", words=("45",)),),
    ),
    Story(
        name="gravel in the pump",
        scene="Noise like gravel, three pumps; the strainer is blocked at every visit and at every call.",
        verdict="Cavitation behind the strainer. Clean it monthly.",
        source="rotary-vane pump manual, correct use: a dirty filter on the suction side causes cavitation",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2026-06-01", strainer="blocked")
                .failed(PUMPS, "pump-1", "noisy", tasks=[FOUND_BLOCKED])
            )
        ),
        expected=(Verdict(kind="pump", causes=("strainer_blocked",), at_least="probable", words=("strainer",)),),
    ),
    Story(
        name="blocked though not cleaned",
        scene=(
            "The strainer was found blocked at three calls, with the note 'not done'; nobody ever recorded it "
            "otherwise."
        ),
        verdict="Found blocked is found blocked, done or not done.",
        lines=tuple(
            shop(
                Scene()
                .visit("2024-02-05")
                .visit("2024-08-05")
                .visit("2025-02-03")
                .visit("2025-09-01")
                .failed(PUMPS, "pump-1", "noisy", tasks=[FOUND_BLOCKED])
            )
        ),
        expected=(Verdict(kind="pump", causes=("strainer_blocked",), at_least="watch", words=("blocked",)),),
    ),
    Story(
        name="weak once, long ago",
        scene="One reading of 22 % in spring 2024, changed the same week, 35 % ever since. A pump wore out in 2026.",
        verdict="Nothing. That was put right two years ago.",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-06-03", "2026-06-01")
                .visit("2024-03-04", read={("glycol_strength", None): "22 mass%"}, tasks=[task("glycol_change")])
                .failed("2026-03-09", "pump-1", "worn")
            )
        ),
        expected=(none("pump"),),
    ),
    Story(
        name="the mix was changed",
        scene="Three pumps at 18 %, then a glycol change in May 2024 and 35 % since. Two years without a failure.",
        verdict="Done. If it is shown at all, then as something that was.",
        lines=tuple(
            shop(
                Scene(installed="2022-04-04", read={("glycol_strength", None): "18 mass%"})
                .kept("2022-05-02", "2024-05-01")
                .failed(("2022-12-05", "2023-07-19", "2024-04-23"), "pump-1", "worn")
                .visit("2024-05-13", tasks=[task("glycol_change")]),
            )
        )
        + tuple(
            line
            for line in Scene(installed="2022-04-04").kept("2024-08-01", "2026-06-01").lines
            if line["record"] == "visit"
        ),
        expected=(Verdict(kind="pump", at_most="watch", words=(("quiet", "no failure", "none since"),)),),
    ),
    Story(
        name="nothing measured explains it",
        scene=(
            "Seven pumps in 28 months, all readings as they should be, strainer clean, seven different technicians' "
            "words."
        ),
        verdict="I do not know why, but I know that it is not chance. Say so, and do not make up a condenser.",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2026-06-01")
                .failed(
                    ("2024-04-09", "2024-08-20", "2024-12-17", "2025-04-29", "2025-09-09", "2026-01-13", "2026-05-19"),
                    "pump-1",
                    "seized",
                )
            )
        ),
        expected=(
            Verdict(
                kind="pump",
                causes=("unexplained", "bad_parts", "after_repair"),
                at_least="probable",
                words=("2026-05-19",),
                never=("condenser",),
            ),
        ),
    ),
    Story(
        name="six seized fans",
        scene="Six fan motors seized in 29 months. Clean condenser, cool room, right voltage.",
        verdict="Six is six, seized or burnt. Cause unknown; send one to the maker and check the mounting.",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2026-06-01", found="clean")
                .failed(
                    ("2024-03-12", "2024-09-03", "2025-01-21", "2025-06-17", "2025-11-25", "2026-05-12"),
                    "fan-1",
                    "seized",
                )
            )
        ),
        expected=(
            Verdict(
                kind="condenser_fan",
                causes=("unexplained", "bad_parts", "after_repair"),
                at_least="probable",
                words=("6",),
                never=("blocked",),
            ),
        ),
    ),
    Story(
        name="two pumps in seven years",
        scene="A pump in 2019 and one in 2025, at a unit that we have kept since 2018.",
        verdict="That is a pump's life.",
        lines=tuple(
            shop(
                Scene(installed="2018-06-01")
                .kept("2018-09-03", "2026-06-01", step=182)
                .failed(("2019-11-05", "2025-07-08"), "pump-1", "worn")
            )
        ),
        expected=(none("pump"),),
    ),
)
