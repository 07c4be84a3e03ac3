"""Signs that follow from readings or from the call itself, as `observations` has those that are looked for."""

from service.domain.triage.explanation import DEAD, RESTING, STOPPED
from service.domain.triage.sign import Sign

WARM = 277.6  # [K] 40 degF: beer that is felt to be warm
FELT = 0.8  # [K] how sharply
ONE_ALONE = ("one_tap_only", "keg_not_cold", "trunk_short_of_flow")  # where the warm tap may not be among those read
COMPLAINT = Sign(
    "warm_beer_reported", "", 0.2, dict.fromkeys(ONE_ALONE, 0.7), follows=(("tap_warm", WARM, FELT),), then=0.75
)
"""That somebody calls about warm beer: likelier where it is warm."""
SEVERAL_WARM = Sign(
    "several_taps_warm",
    "",
    0.5,
    {"one_tap_only": 0.06, "keg_not_cold": 0.3, "trunk_short_of_flow": 0.9},
)
"""That of taps that differ two or more are warm: read, not asked for."""
COLD_BESIDE = Sign("cold_tap_on_the_same_trunk", "", 0.6, {"trunk_short_of_flow": 0.05})
"""That a cold tap hangs on the trunk of a warm one: read, not asked for."""
OPEN_CONTACT = Sign(
    "contactor_open",
    "",
    0.04,
    {
        RESTING: 0.95,
        STOPPED: 0.2,
        DEAD: 0.9,
        "no_power": 0.97,
        "compressor_not_starting": 0.35,
        "controller_dark_or_not_calling": 0.9,
        "condenser_fan_stopped": 0.08,
    },
)
"""That there is voltage before a contactor and none behind it, or none at the compressor."""
EQUAL_WHILE_RUNNING = Sign("equal_pressures_while_running", "", 0.04, {"compressor_weak": 0.6})
"""That both pressures are equal beside a current: it pumps nothing, or they were read while it stood."""
DERIVED = (COMPLAINT, SEVERAL_WARM, COLD_BESIDE, OPEN_CONTACT, EQUAL_WHILE_RUNNING)
