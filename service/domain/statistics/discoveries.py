"""Which of many comparisons stand together, when a set share of those told may be false."""

from collections.abc import Sequence


def adjusted(chances: Sequence[float], *, of: int | None = None) -> tuple[float, ...]:
    """Adjust probabilities of luck for how many were looked at; those at most q stand at the false share q.

    .. math:: \\tilde p_{(i)} = \\min_{j \\ge i} \\min(1, p_{(j)} m / j)

    Parameters
    ----------
    chances : sequence of float
        probabilities of luck, in any order [-]
    of : int or None
        how many were looked at; more than given where the rest had nothing to show, and so 1 each [-]

    Returns
    -------
    tuple of float
        adjusted, in the order given [-]

    Raises
    ------
    ValueError
        fewer looked at than given

    Notes
    -----
    Holds for comparisons that are independent or lean the same way; shy where counts are small.

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
        raise ValueError(f"{many} looked at cannot be fewer than the {len(chances)} given")
    from scipy.stats import false_discovery_control  # type: ignore[import-untyped]  # scipy ships no types

    found = false_discovery_control([*chances, *[1.0] * (many - len(chances))], method="bh")
    return tuple(found[: len(chances)].tolist())
