"""What this unit's clean condenser would show today: its split, and the unit of the air's temperature by it."""

from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.evidence import Evidence, worth
from service.domain.assessment.refrigerant_of import atmosphere, condensing, refrigerant_of
from service.domain.assessment.unit_meant import as_celsius
from service.domain.physics.refrigeration.capacity import capacity_share
from service.domain.physics.refrigeration.condenser import CLEAN_SPLIT, OLD_SPLIT, USUAL_SPLIT
from service.domain.physics.refrigeration.saturation import STANDARD_ATMOSPHERE
from service.domain.record.visits import Reading

THIN_AIR = 0.7  # exponent of the air's density; a split of 18 °F grows by 2.6 at 5 280 ft, steady cycle by CoolProp 8
HALF = 0.5  # of the split expected: the least of a sound unit; judged, no source
FITS = 5.0 / 1.8  # K over the split expected; judged, no source


def usual_bath(e: Evidence) -> float:
    """The bath at which the clean split is read: the set point, else the middle of the usual band [K]."""
    return worth(e.bath.set_point) or sum(BATH_BAND) / 2.0


def recorded_split(e: Evidence) -> float | None:
    """The clean split on record [K]; None where none is, or one that no condenser has."""
    clean = worth(e.refrigeration.clean_split)
    return clean if clean is not None and CLEAN_SPLIT.low <= clean <= CLEAN_SPLIT.high else None


def expected_split(e: Evidence, clean: float) -> float:
    """The split of the clean condenser today [K]: more with a warm bath, which gives more heat, and in thin air."""
    heat = 1.0
    if e.has("bath_temperature"):
        bath, metering = e.value("bath_temperature"), e.refrigeration.metering
        heat = max(1.0, capacity_share(refrigerant_of(e), rated_bath=usual_bath(e), bath=bath, metering=metering))
    return float(clean * heat * (STANDARD_ATMOSPHERE / atmosphere(e)) ** THIN_AIR)


def meant_in_celsius(e: Evidence, air: Reading) -> float | None:
    """The air's temperature, had its number been °C, where the condenser's split would then be usual [K].

    None where it was entered in another unit or the split would not be that of a sound unit.
    """
    if not air.value.entered.endswith("F") or refrigerant_of(e) is None or not e.has("discharge_pressure"):
        return None
    clean, meant = recorded_split(e), as_celsius(air)
    least, most = USUAL_SPLIT[0], OLD_SPLIT
    if clean is not None:
        expected = expected_split(e, clean)
        least, most = expected, expected + FITS
    return meant if HALF * least <= condensing(e) - meant <= most else None


def perhaps_celsius(e: Evidence, air: Reading) -> str:
    """The hint that the air was perhaps read in °C; empty where that would not fit."""
    meant = meant_in_celsius(e, air)
    if meant is None:
        return ""
    number = air.value.entered.partition(" ")[0]
    return f"If its number is °C ({number} °C is {e.temperature(meant)}), the condenser is in order: check its unit. "
