"""The door to the heavy libraries."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

from service.domain.physics.libraries import props_si, root


def test_loading_all_leaves_nothing_heavy_for_the_first_request_and_prints_nothing():
    script = (
        "import sys; from service.domain.physics.libraries import load_all; load_all(); before = set(sys.modules);"
        "from service.domain.physics.lines.loop_flow import Loop, flow_at_pressure;"
        "flow_at_pressure(Loop(bore=0.01, length=60.0), pressure=1e5, mass_fraction=0.35, temperature=271.0);"
        "print({name.split('.')[0] for name in set(sys.modules) - before})"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)

    assert done.stdout == "{'service'}\n"


def test_eight_threads_get_the_answer_of_one():
    strengths = [n / 100 for n in range(61)] * 8
    ask = [f"INCOMP::MPG[{strength}]" for strength in strengths]
    with ThreadPoolExecutor(8) as threads:
        together = list(threads.map(lambda fluid: props_si("D", "T", 300.0, "P", 101325.0, fluid), ask))

    assert together == [props_si("D", "T", 300.0, "P", 101325.0, fluid) for fluid in ask]


def test_what_the_library_refuses_is_a_value_error():
    with pytest.raises(ValueError, match="below the freezing point"):
        props_si("D", "T", 262.0, "P", 101325.0, "INCOMP::MPG[0.2]")


def test_a_root_is_found_to_the_last_few_digits():
    assert root(lambda x: x * x - 2.0, 0.0, 2.0) == pytest.approx(2.0**0.5, rel=1e-13)
    assert root(lambda x: x - 1e-7, 1e-9, 0.1) == pytest.approx(1e-7, rel=1e-7)
