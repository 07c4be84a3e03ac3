"""A short form of `python -m tests.soak`: every fault once or so, and records that equal a recount."""

from tests.soak.run import soak


def test_records_equal_a_recount_after_faults(tmp_path):
    found = soak(tmp_path, requests=100, seconds=10, on=0.5, seed=7)

    assert found.wrong == []
    assert any(kind.startswith("post 201") for kind in found.answers)
