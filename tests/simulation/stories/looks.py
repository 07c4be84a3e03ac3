"""Stories of what was looked at last, of work that nobody let us do, and of a reading beside the usual one."""

from tests.simulation.records import task
from tests.simulation.stories.scene import Scene, shop
from tests.simulation.stories.story import Story, Verdict

STORIES = (
    Story(
        name="quiet, and the voltage as low as before",
        scene="101 V on 115 V at every visit; four compressors from January to October 2025, none in the eight months "
        "since. The PM of May 2026 read 101 V again.",
        verdict="Luck. Nobody has touched the supply: send the electrician, and do not write it off as over.",
        lines=tuple(
            shop(
                Scene(read={("supply_voltage", None): "101 V"})
                .kept("2024-02-05", "2026-05-20")
                .failed(("2025-01-14", "2025-04-20", "2025-07-29", "2025-10-10"), "compressor-1", "open_circuit")
            )
        ),
        expected=(
            Verdict(
                kind="compressor",
                causes=("low_voltage",),
                at_least="watch",
                words=("it was still so on 2026-",),
                checks=("electrician",),
                never=("may be gone", "resolved"),
            ),
        ),
    ),
    Story(
        name="nobody let us at the condenser",
        scene="Crates before the condenser at five PM visits in a row; three compressors; cleaned and found "
        "blocked at the last of them.",
        verdict="The condenser. Say what kept us from it, or the next interval will be kept no better than the last.",
        lines=tuple(
            shop(
                Scene()
                .kept("2024-02-05", "2024-03-01", found="heavy")
                .kept("2024-11-05", "2025-12-20", found="blocked", cleaned=False)
                .failed(("2024-12-10", "2025-08-15"), "compressor-1", "open_circuit")
                .failed(
                    "2026-02-10", "compressor-1", "open_circuit", tasks=[task("condenser_clean", "done", "blocked")]
                )
            )
        ),
        expected=(
            Verdict(
                kind="compressor",
                causes=("condenser_fouled",),
                at_least="probable",
                words=("not done at 5 visits before that", "no access, stacked with crates"),
                checks=("whenever it is due",),
            ),
        ),
    ),
    Story(
        name="it breathes its own air",
        scene="24 degC in the room and 46 degC at the condenser's inlet at every visit; the condenser clean. "
        "Three compressors in eighteen months.",
        verdict="Hot air comes back to the condenser. Give it cooler air; the condenser is clean.",
        lines=tuple(
            shop(
                Scene(read={("condenser_air_in_temperature", None): "46 degC"})
                .kept("2024-02-05", "2026-05-20", found="clean")
                .failed(("2024-10-14", "2025-05-20", "2026-03-10"), "compressor-1", "open_circuit")
            )
        ),
        expected=(
            Verdict(
                kind="compressor",
                causes=("ambient_hot",),
                at_least="watch",
                words=("condenser air in temperature 46",),
                checks=("cooler air",),
                never=("clean the condenser",),
            ),
        ),
    ),
)
