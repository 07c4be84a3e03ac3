"""Mean and covariance of a mixture follow from its values."""

import numpy as np
import pytest

from service.domain.triage.mixture import Mixture


@pytest.fixture
def mixture() -> Mixture:
    """Four channels, of which the last stands still; three hypotheses in seven variants."""
    values = np.random.default_rng(3)
    part = np.append(values.uniform(size=(3, 7)), np.zeros((1, 7)), axis=0)
    source = np.array([0, 0, 1, 1, 2, 2, 2])
    return Mixture(values.normal(size=(4, 3, 24)), {0: 0, 1: 1, 2: 2}, values.normal(size=(3, 3, 24)), source, part)


@pytest.mark.parametrize("channels", [[2], [3, 0, 1], [1, 2, 1, 3]])
@pytest.mark.parametrize("rows", [slice(None), np.array([5, 2])])
def test_covariance_is_that_of_the_values(mixture: Mixture, channels: list[int], rows: slice) -> None:
    """Also of a channel that is asked for twice, as a figure may hold one that was read."""
    values = mixture.values(channels, rows)
    apart = values - values.mean(axis=-1, keepdims=True)
    expected = np.einsum("ird,jrd->ijr", apart, apart) / values.shape[-1]

    assert mixture.covariance(channels, rows) == pytest.approx(expected, abs=1e-12)
    assert mixture.mean[channels][:, rows] == pytest.approx(values.mean(axis=-1), abs=1e-12)


@pytest.mark.parametrize("channels", [[3], [0], [3, 1]])
def test_rows_that_count_as_one_have_the_same_values(mixture: Mixture, channels: list[int]) -> None:
    rows = np.array([0, 1, 1, 3, 4, 5, 6])
    first, back = mixture.alike(channels, rows)

    assert (mixture.values(channels, first[back]) == mixture.values(channels, rows)).all()
    assert first.tolist() == ([0, 3, 4] if channels == [3] else [0, 1, 3, 4, 5, 6])
