"""The position of the frost line at the capillary's end, and what it may indicate.

The reading is `frost_distance_after_capillary`: positive past the end on the evaporator's inlet, negative back on the
capillary itself. It is a hint, not a measurement: temperatures and pressures take precedence.
"""

from dataclasses import dataclass

from service.domain.physics.ranges import Range, above

FROST_DISTANCE = Range("frost distance after the capillary", -3.0, 10.0, "m")


@dataclass(frozen=True, slots=True)
class FrostPosition:
    """One section [m] of the line: its code, whether frost there is normal, and what it may indicate."""

    code: str
    start: float
    end: float
    normal: bool
    points_at: tuple[str, ...] = ()


# Common practice, no source. Half a metre leaves room for units whose first bend lies late.
FROST_POSITIONS = (
    FrostPosition("on_capillary", -3.0, 0.0, False, ("capillary_restricted", "moisture_in_circuit", "low_charge")),
    FrostPosition("past_capillary", 0.0, 0.5, True),
    FrostPosition("far_past_capillary", 0.5, 10.0, False, ("overcharge", "low_heat_load", "no_glycol_flow")),
)


def frost_position(distance: float) -> FrostPosition:
    """Return what frost at this distance past the capillary's end may mean.

    The first stretch of `FROST_POSITIONS` whose end is not below the distance; exactly 0 counts as past the end.

    Parameters
    ----------
    distance : float
        Frost past the capillary's end, negative back on the capillary [m].

    Returns
    -------
    FrostPosition
        Code, limits [m], whether that is normal, and the codes of what it may point at [-].

    Raises
    ------
    OutOfRange
        If the distance lies outside -3 to 10 m.

    Notes
    -----
    With a warm bath there may be no frost at all; that shows nothing.

    References
    ----------
    Frost 2 in past the end is normal, frost back on the capillary is not: common practice, no source.

    Examples
    --------
    >>> frost_position(0.0508).normal, frost_position(-0.03).code
    (True, 'on_capillary')
    """
    FROST_DISTANCE.check(distance)
    if distance < 0.0:
        return FROST_POSITIONS[0]
    return next(each for each in FROST_POSITIONS[1:] if not above(distance, each.end))
