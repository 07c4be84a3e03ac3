"""Nothing but a table: how often parts fail, and by how much each of a few exposures multiplies that.

The account of how parts die is that nobody knows. Parts of a kind fail at a rate; units differ by a gamma factor; while
an exposure lasts, the rates of some kinds are multiplied by a relative risk. There is no physics, no age and no season:
the times between failures are exponential. An exposure is visible as readings, grades and conditions drawn from one
distribution while it lasts and from another otherwise. All numbers are judged and have no source.
"""

from tests.simulation.risks.fleet import fleet

__all__ = ["fleet"]
