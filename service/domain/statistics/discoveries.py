"""Correction for many comparisons: the share of false discoveries is limited."""

from collections.abc import Sequence


def adjusted(chances: Sequence[float], *, of: int | None = None) -> tuple[float, ...]:
    """Adjust probabilities of chance for the number of comparisons; at most q holds at a false discovery rate q.

    .. math:: \\tilde p_{(i)} = \\min_{j \\ge i} \\min(1, p_{(j)} m / j)

    Parameters
    ----------
    chances : sequence of float
        probabilities of chance, in any order [-]
    of : int or None
        number of comparisons; more than given where the rest have probability 1 [-]

    Returns
    -------
    tuple of float
        adjusted, in the order given [-]

    Raises
    ------
    ValueError
        fewer comparisons than given

    Notes
    -----
    Holds for comparisons that are independent or positively dependent; conservative for small counts.

    References
    ----------
    Benjamini and Hochberg 1995.

    Examples
    --------
    >>> adjusted([0.01, 0.02, 0.5])
    (0.03, 0.03, 0.5)
    """
    many = len(chances) if of is None else of
    if many < len(chances):
        raise ValueError(f"{many} comparisons cannot be fewer than the {len(chances)} given")
    least, rank, found = 1.0, len(chances), [1.0] * len(chances)
    for place in sorted(range(len(chances)), key=lambda each: chances[each], reverse=True):
        found[place] = least = min(least, chances[place] * (many / rank))
        rank -= 1
    return tuple(found)
