"""Stories that one unit cannot show: batches, people, seasons of a whole fleet."""

from tests.simulation.records import part
from tests.simulation.stories.scene import Scene, shop, site
from tests.simulation.stories.story import Story, Verdict, none

BAD = {"maker": "Tarn", "model": "P9-C"}
GOOD = {"maker": "Tarn", "model": "P7"}
SITES = [site(f"house-{n}") for n in range(12)]


def _kept(n: int, **more: object) -> Scene:
    return Scene(f"F-{n}", at=f"house-{n}", **more).kept("2024-02-05", "2026-06-01")


def _batch() -> list:
    """Ten pumps of one model at eight units in three months; other pumps last."""
    scenes = []
    for n in range(12):
        scene = _kept(n)
        scene.failed(f"2025-11-{3 + n:02d}", "pump-1", "worn", item=BAD if n < 8 else GOOD)
        if n < 8:
            scene.failed(f"2026-{3 + n % 3:02d}-{4 + n:02d}", "pump-1", "leaking", item=BAD if n < 2 else GOOD)
        if n < 2:
            scene.failed(f"2026-05-{20 + n}", "pump-1", "leaking", item=GOOD)
        scenes.append(scene)
    return shop(*scenes, sites=SITES)


def _hands() -> list:
    """What Otis puts in fails within weeks, whatever it is; what the others put in lasts."""
    codes = ("switch-1", "pump-1", "fan-1", "controller-1", "switch-2", "compressor-1")
    scenes = []
    for n in range(12):
        code, scene = codes[n % 6], _kept(n)
        scene.failed(f"2025-{3 + n % 7:02d}-05", code, "worn", technician="otis" if n < 6 else "petra")
        if n < 6:
            scene.failed(f"2025-{4 + n % 7:02d}-02", code, "burnt", technician="petra")
        scenes.append(scene)
    return shop(*scenes, sites=SITES, technicians=("otis", "petra"))


def _again() -> Scene:
    """The same switch within three weeks of each replacement, three times over, then nothing."""
    return (
        Scene()
        .kept("2024-02-05", "2026-06-01")
        .failed(("2026-02-02", "2026-02-17", "2026-03-09", "2026-03-25"), "switch-1")
    )


def _summers() -> list:
    """Fan motors at ten of twelve units, all in July and August of two years, in a town with 40 degC then."""
    scenes = []
    for n in range(12):
        scene = _kept(n, read={("ambient_temperature", None): None})
        if n < 10:
            hot = {("ambient_temperature", None): "41 degC"}
            scene.failed(f"202{4 + n % 2}-0{7 + n % 2}-1{n % 10}", "fan-1", "burnt", read=hot)
        scenes.append(scene)
    return shop(*scenes, sites=SITES)


STORIES = (
    Story(
        name="a batch of pumps",
        scene="Eight units got a pump of the model P9-C in November. Ten of these pumps leaked between March and May.",
        verdict="A bad batch. Take every P9-C off the shelf and out of the other units; claim the warranty.",
        lines=tuple(_batch()),
        expected=(
            Verdict(unit="", causes=("bad_parts",), at_least="probable", words=("P9-C",)),
            none("pump", "F-10"),
        ),
    ),
    Story(
        name="what one pair of hands puts in",
        scene=(
            "Six parts of five kinds that Otis put in burnt within five weeks. Six that Petra put in are still running."
        ),
        verdict="Not the parts. Somebody has to go along with Otis once.",
        lines=tuple(_hands()),
        expected=(Verdict(unit="", causes=("after_repair",), at_least="watch", words=("otis",)),),
    ),
    Story(
        name="the same switch every two weeks",
        scene=(
            "Four burnt switches in eight weeks at one unit, each within three weeks of the last. Load, voltage, "
            "coil all right."
        ),
        verdict="It is how it is put in, or what is put in: the terminal, the wire, the part. Not the weather.",
        lines=tuple(shop(_again())),
        expected=(
            Verdict(
                kind="power_switch",
                causes=("after_repair", "bad_parts", "loose_terminal", "unexplained"),
                at_least="watch",
                words=("2026-03-25", "switch-1"),
                never=("blocked",),
            ),
        ),
    ),
    Story(
        name="hot town, hot fans",
        scene="Fan motors burnt at ten of twelve units, one each, all in July or August, with 41 degC measured.",
        verdict=(
            "The season. One each is no unit's root cause; for the fleet say heat, and look at the motors' class in "
            "spring."
        ),
        lines=tuple(_summers()),
        expected=tuple(none("condenser_fan", f"F-{n}") for n in range(12)),
    ),
    Story(
        name="one van, two makes",
        scene="Twelve units; six got pumps of Tarn, six of Moss. One of each make failed again after a year.",
        verdict="No difference that I can see.",
        lines=tuple(
            shop(
                *(
                    _kept(n)
                    .failed(
                        f"2024-0{4 + n % 5}-11",
                        "pump-1",
                        "worn",
                        item={"maker": ("Tarn", "Moss")[n % 2], "model": "P7"},
                    )
                    .visit(f"2025-0{4 + n % 5}-11", parts=[part("pump-1", "worn")] if n < 2 else [])
                    for n in range(12)
                ),
                sites=SITES,
            )
        ),
        expected=tuple(none("pump", f"F-{n}") for n in range(12)),
    ),
)
