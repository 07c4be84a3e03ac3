"""Parts that take a defect on one day and fail of it on a later one: an account of how parts of a glycol unit die.

A sound part takes a defect: by bad luck, or by trouble that stands that day. Rates add up; none multiplies another.
What has a defect fails after a delay, whether or not the trouble has gone meanwhile, as in the delay-time model of
maintenance (Christer and Waller 1984, from memory). Bad luck is uneven: some units run long hours and break more of
everything. Trouble begins on a day, comes and goes with dirt, level, strength and season, and ends when somebody
understands it, which is likelier the more often it has cost a part. All rates are judged and have no source.

Heat of a fouled condenser or of the room, overloaded contacts, a loose terminal at one position, a site's voltage, a
pump without enough liquid or behind a dirty strainer, a mix that is too thick or freezes, rain that gets in (which no
quantity shows), a batch of bad parts and a technician whose repairs do not last. Whoever keeps the record is thorough,
hurried or lazy: ticks what was not done, does what is not ticked, swaps sound parts beside the bad one, writes late.
"""

from tests.simulation.defects.fleet import fleet

__all__ = ["fleet"]
