"""A trunk divided into equal cells: liquids exchange heat exactly within a cell, then move by one whole cell.

In one step every cell's temperatures go through the matrix exponential of its exchange, then the flowing liquids move
by one cell. Moving whole cells causes no numerical diffusion and loses no heat, so the only error is that exchange
and flow alternate: it falls with the square of the step when half an exchange stands at either end.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from service.domain.physics.lines.trunk import Run, total_length

if TYPE_CHECKING:  # numpy is imported where it is used: the command line starts without it
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


def cell_runs(runs: Sequence[Run], cells: int) -> list[Run]:
    """Find the run of each cell of a trunk, by the position of its middle.

    .. math:: x_i = (i + 1/2) L / n

    Parameters
    ----------
    runs : sequence of Run
        the trunk's runs, together 0.1 to 500 m [m, K, m K/W]
    cells : int
        number of equal cells [-]

    Returns
    -------
    list of Run
        the run of each cell [m, K, m K/W]

    Raises
    ------
    OutOfRange
        a trunk outside these limits

    Notes
    -----
    A border between runs moves by half a cell at most.

    References
    ----------
    None: a division.

    Examples
    --------
    >>> [run.surroundings for run in cell_runs([Run(1.0, 280.0, 3.0), Run(3.0, 290.0, 3.0)], 4)]
    [280.0, 290.0, 290.0, 290.0]
    """
    width, end = total_length(runs) / cells, 0.0
    found: list[Run] = []
    for run in runs:
        end += run.length
        while len(found) < cells and (len(found) + 0.5) * width <= end * (1.0 + 1e-12):
            found.append(run)
    return found


def exchange(cells: Sequence[Run], slopes: "dict[Run, Array]", seconds: float) -> "Array":
    """Find the matrix that takes each cell's state over some time of exchange.

    .. math:: y(t) = e^{A t} y(0)

    Parameters
    ----------
    cells : sequence of Run
        the run of each cell [m, K, m K/W]
    slopes : dict of Run to array
        the matrix A of each run, dy/dt = A y [1/s]
    seconds : float
        time [s]

    Returns
    -------
    array
        one matrix a cell [-]

    References
    ----------
    C. Moler, C. Van Loan, "Nineteen Dubious Ways to Compute the Exponential of a Matrix", SIAM Review 45 (2003).

    Examples
    --------
    >>> import numpy as np
    >>> run = Run(1.0, 280.0, 3.0)
    >>> float(exchange([run], {run: np.array([[-0.5]])}, 2.0)[0, 0, 0])
    0.36788
    """
    import numpy as np
    from scipy.linalg import expm  # type: ignore[import-untyped]  # scipy ships no types

    maps = {run: expm(slope * seconds) for run, slope in slopes.items()}
    return np.array([maps[run] for run in cells])


def exchanged(maps: "Array", states: "Array") -> "Array":
    """Find the states of all cells after the exchange that their matrices describe.

    .. math:: y_i' = M_i y_i

    Parameters
    ----------
    maps : array
        one matrix a cell, as `exchange` finds them [-]
    states : array
        one row a cell [K]

    Returns
    -------
    array
        one row a cell [K]

    References
    ----------
    None: a product.

    Examples
    --------
    >>> import numpy as np
    >>> exchanged(np.array([[[0.5]], [[2.0]]]), np.array([[10.0], [10.0]])).ravel().tolist()
    [5.0, 20.0]
    """
    import numpy as np

    return np.asarray(np.matmul(maps, states[:, :, None])[:, :, 0])
