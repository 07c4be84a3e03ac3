"""The model, short: `python -m tests.fleet_model` plays the long form."""

import pytest

from tests.fleet_model.run import opened, play


@pytest.fixture(scope="module")
def application():
    with opened(postgresql=False) as shop:
        yield shop


@pytest.mark.parametrize("seed", [1, 6, 8, 15])
def test_due_items_lists_and_histories_are_the_models_and_survive_an_import(application, seed: int) -> None:
    played, compared = play(application, seed, 40)
    assert compared > 100
    assert len(set(played.steps)) > 10
