"""How long it takes from one place to the next: by an imported table, else from the straight line.

Sources: the haversine formula on a sphere of the mean radius R1 of the Earth, 6 371.0088 km (IUGG; Moritz, Geodetic
Reference System 1980), which is within 0.56 % of the ellipsoid. The factor from straight line to road and the speed
with stops and traffic of a town: common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import asin, cos, radians, sin, sqrt

EARTH_RADIUS = 6_371_008.8  # [m]
ROAD_FACTOR = 1.3
SPEED = 40 / 3.6  # [m/s]
UNKNOWN_LEG = 20 * 60  # [s], where a coordinate is missing; common practice, no source


@dataclass(frozen=True, slots=True)
class Point:
    """A place: the code of a site, empty for where a day begins, and its coordinates [degrees] where they are known."""

    code: str = ""
    latitude: float | None = None
    longitude: float | None = None
    address: str | None = None

    @property
    def known(self) -> bool:
        """Whether both coordinates are known."""
        return self.latitude is not None and self.longitude is not None


def great_circle(a: tuple[float, float], b: tuple[float, float]) -> float:
    """The distance of two points given by latitude and longitude [degrees], in metres.

    From Berlin to Paris, by their coordinates in the encyclopedia (from memory), about 878 km:

    >>> round(great_circle((52.52, 13.405), (48.8566, 2.3522)) / 1000)
    877
    """
    (south, west), (north, east) = ([radians(each) for each in point] for point in (a, b))
    square = sin((north - south) / 2) ** 2 + cos(south) * cos(north) * sin((east - west) / 2) ** 2
    return 2 * EARTH_RADIUS * asin(min(sqrt(square), 1.0))


@dataclass(frozen=True, slots=True)
class Travel:
    """Times of travel; `table` has those that were imported [s], by the codes of two sites.

    `speed` is in m/s. `at_door` is added to each way to a site [s]; of two sites at one address to each.
    """

    table: Mapping[tuple[str, str], int] = field(default_factory=dict)
    road_factor: float = ROAD_FACTOR
    speed: float = SPEED
    at_door: int = 0

    def seconds(self, a: Point | None, b: Point | None) -> int:
        """The time from one place to another [s]; none from or to a place that is not given."""
        if a is None or b is None or a == b or (a.code and a.code == b.code):
            return 0
        return self._road(a, b) + (self.at_door if b.code else 0)

    def _road(self, a: Point, b: Point) -> int:
        measured = self.table.get((a.code, b.code), self.table.get((b.code, a.code)))
        if measured is not None:
            return measured
        if a.latitude is None or a.longitude is None or b.latitude is None or b.longitude is None:
            return 0 if a.address and a.address == b.address else UNKNOWN_LEG
        straight = great_circle((a.latitude, a.longitude), (b.latitude, b.longitude))
        return round(straight * self.road_factor / self.speed)
