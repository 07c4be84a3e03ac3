"""Parts that wear by heat, current and what they pump: an account of how the parts of a glycol unit die.

A part is bought with a store of life, drawn from a Weibull law, and uses it up day by day. How fast follows from what
it is exposed to; the failure is put down to a cause by the share of the excess wear that the cause made in that life.
Everything here is common practice and has no source, except where one is named.

* **Contacts** of switches and controllers carry a motor. Heat in the contact goes with the square of the current and is
  added to the air of the box; oxidation doubles every 10 K. Above 80 % of an alternating-current rating (NEC 404.14)
  the make current welds and erodes. A loose terminal heats one position only. Below 90 % of the rated voltage (NEMA
  MG 1: +-10 %) motors stall on starting, and the contact carries locked-rotor current, six times the running current.
* **Windings** of compressors and of fan motors age by heat; the life of insulation is halved every 10 K (class
  temperatures 105, 130, 155, 180 degC). A fouled condenser raises the condensing temperature, with it the current, and
  blows its hot air over the fan motor and the box of the controls. A hot room does the same without any dirt.
* **Pumps** wear at vanes, bearings and seals: by slush where the mix freezes on the coil, by thickness where it is too
  strong, by running dry where the level is low, by cavitation behind a blocked strainer, by rust and grit where the
  inhibitor is used up. A pump that is dead takes nothing with it.
* **Capacitors** dry out: heat, and long starts at low voltage.
* Dirt grows towards a limit, fast in greasy kitchens, and is washed off when somebody reaches the condenser. Rooms and
  voltage follow the season; in August everything is hot, and ordinary failures are more frequent everywhere.
* **People and goods**: one new part in sixteen has a fault and lasts weeks or months, at everybody. Some items are of a
  bad batch, some are put in badly. Many units were old when we took them over; what was in them was neither new nor
  watched. Technicians of three habits keep the record: the careful one, the busy one who writes late and little, and
  the swapper who changes sound parts and sometimes the wrong ones.
"""

from tests.simulation.stress.fleet import fleet

__all__ = ["fleet"]
