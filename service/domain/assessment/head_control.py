"""Whether a control may hold the head pressure up, so that split and subcooling show neither dirt nor charge."""

from service.domain.physics.ranges import below

COLD_AIR = 288.7  # K, 60 °F: below it head-pressure control holds the head up by slowing the air; common practice
HELD_HEAD = 313.7  # K, 105 °F: such control holds condensing between some 80 and 100 °F; common practice


def may_be_held(*, condensing: float, air: float) -> bool:
    """Whether a control may hold the head up: both in [K]."""
    return below(air, COLD_AIR) and below(condensing, HELD_HEAD)
