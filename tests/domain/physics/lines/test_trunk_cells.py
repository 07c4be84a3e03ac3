"""A trunk in cells."""

from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.lines.trunk import Run
from service.domain.physics.lines.trunk_cells import cell_runs


@given(st.lists(st.floats(0.1, 80.0), min_size=1, max_size=6), st.integers(1, 200))
def test_every_cell_belongs_to_one_run_in_order(lengths: list[float], cells: int) -> None:
    runs = [Run(length, 280.0 + number, 3.0) for number, length in enumerate(lengths)]
    found = [run.surroundings for run in cell_runs(runs, cells)]

    assert len(found) == cells
    assert found == sorted(found)


def test_cells_are_shared_out_by_length() -> None:
    short, long = Run(10.0, 280.0, 3.0), Run(30.0, 290.0, 3.0)

    assert [run.length for run in cell_runs([short, long], 40)].count(10.0) == 10
