"""The search for the runs with the least travel, by PyVRP (Wouda, Lan and Kool 2024, INFORMS J. Computing 36:943)."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from service.domain.driving.day import Job, Shift
from service.domain.driving.travel import Point, Travel

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from pyvrp import Client, ClientGroup, ProblemData, VehicleType

SEED = 1
FAR = 10**7  # [s], to where a technician is not to go
PRIZE = 10**5  # of weight one: of the least weight, ten, more than any travel
FEW, ITERATIONS_OF_FEW, ITERATIONS = 25, 1200, 1000


def improved(jobs: Sequence[Job], shifts: Sequence[Shift], travel: Travel) -> dict[str, list[Job]]:
    """The jobs of each technician in the order found; what does not fit is left out."""
    if not jobs or not shifts:
        return {}
    from pyvrp import solve
    from pyvrp.stop import MaxIterations

    of_client = [job for job in jobs for _ in job.windows]
    data = _problem(jobs, shifts, travel)
    iterations = ITERATIONS_OF_FEW if len(jobs) <= FEW else ITERATIONS
    best = solve(data, stop=MaxIterations(iterations), seed=SEED, collect_stats=False, display=False).best
    if not best.is_feasible():
        return {}
    return {
        shifts[route.vehicle_type()].technician: [of_client[each.idx] for each in route if each.is_client()]
        for route in best.routes()
    }


def _problem(jobs: Sequence[Job], shifts: Sequence[Shift], travel: Travel) -> "ProblemData":
    """The places of the jobs come first, then the two ends of each technician's day."""
    from pyvrp import Depot, Location, ProblemData

    points: list[Point | None] = [job.point for job in jobs]
    for shift in shifts:
        points += shift.first, shift.last
    times = np.array([[travel.seconds(a, b) for b in points] for a in points], dtype=np.int64)
    matrices: list[Any] = [_reachable(times, jobs, shift) for shift in shifts]
    clients, groups = _clients(jobs, min(shift.start for shift in shifts))
    return ProblemData(
        [Location(n, 0) for n in range(len(points))],
        clients,
        [Depot(n) for n in range(len(jobs), len(points))],
        list(_vehicles(shifts)),
        matrices,
        matrices,
        groups,
    )


def _reachable(times: "NDArray[np.int64]", jobs: Sequence[Job], shift: Shift) -> "NDArray[np.int64]":
    """The times of travel of one technician, to whom other people's jobs are out of reach."""
    own = times.copy()
    for n, job in enumerate(jobs):
        if shift.technician not in job.technicians:
            own[n, :] = own[:, n] = FAR
            own[n, n] = 0
    return own


def _clients(jobs: Sequence[Job], begin: int) -> "tuple[list[Client], list[ClientGroup]]":
    """A client for each window of a job; of those of one job only one is visited."""
    from pyvrp import Client, ClientGroup

    clients: list[Client] = []
    groups: list[ClientGroup] = []
    for n, job in enumerate(jobs):
        several = len(job.windows) > 1
        if several:
            groups.append(ClientGroup([len(clients) + at for at in range(len(job.windows))], required=False))
        clients += (
            Client(
                n,
                delivery=[job.minutes],
                service_duration=60 * job.minutes,
                tw_early=max(first - begin, 0),
                tw_late=max(last - begin, 0),
                prize=job.weight * PRIZE,
                required=False,
                group=len(groups) - 1 if several else None,
            )
            for first, last in job.windows
        )
    return clients, groups


def _vehicles(shifts: Sequence[Shift]) -> "Iterator[VehicleType]":
    from pyvrp import VehicleType

    begin = min(shift.start for shift in shifts)
    for n, shift in enumerate(shifts):
        yield VehicleType(
            capacity=[24 * 60 if shift.work is None else shift.work],
            start_depot=2 * n,
            end_depot=2 * n + 1,
            tw_early=shift.start - begin,
            tw_late=max(shift.end - begin, shift.start - begin),
            profile=n,
        )
