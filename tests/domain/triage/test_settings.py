import numpy as np

from service.domain.triage.settings import RUNS, SETTINGS, design, draws


def test_the_design_is_balanced_and_orthogonal():
    # Plackett and Burman, Biometrika 33 (1946) 305: 24 runs, 23 two-level factors, each pair in all four combinations.
    columns = design()

    assert columns.shape == (RUNS, RUNS - 1)
    assert not columns.sum(axis=0).any()
    assert np.array_equal(columns.T @ columns, RUNS * np.eye(RUNS - 1))


def test_every_setting_has_its_middle_and_spread():
    drawn = draws(split_known=True)

    for name, (middle, spread) in SETTINGS.items():
        assert np.isclose(drawn[name].mean(), middle, atol=1e-12)
        assert np.isclose(drawn[name].std(), spread)
