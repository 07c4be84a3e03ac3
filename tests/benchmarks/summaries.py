"""How long a summary's PDF takes, as a multiple of the bare typesetting, and the memory it leaves behind."""

from collections.abc import Iterator
from pathlib import Path
from time import perf_counter

from tests.benchmarks.programs import seconds_of
from tests.benchmarks.ratios import Figure
from tests.benchmarks.run import Run

BARE = """
import typst
from service.rendering.summary_pdf import HERE
text = b'#set document(title: [x])\\n#set text(font: "Open Sans")\\n' + b'#lorem(200)\\n#pagebreak()\\n' * 5 + b'x'
typst.compile(text, font_paths=[HERE / "fonts"], ignore_system_fonts=True, format="pdf", pdf_standards=["ua-1"])
"""
COLD = """
from service.rendering.summary_pdf import render
from tests.rendering.test_summary_documents import a_summary, a_unit
render(a_summary(*(a_unit(f"GU-{n}", visits=8) for n in range(3))))
"""


def pdf(run: Run) -> Iterator[Figure]:
    """A six-page PDF in a fresh process, and again in a process that has made one."""
    from service.rendering.summary_pdf import render
    from tests.rendering.test_summary_documents import a_summary, a_unit

    cold = [(seconds_of("-c", COLD), seconds_of("-c", BARE)) for _ in range(run.rounds)]
    yield Figure("summary PDF, cold", tuple(taken for taken, _ in cold), unit="s", goal=1.5)
    yield Figure("summary PDF, cold / bare typesetting", tuple(taken / floor for taken, floor in cold))
    warm, resident = [], []
    for number in range(run.scaled(300)):
        summary = a_summary(*(a_unit(f"GU-{number}-{n}", visits=8) for n in range(3)))
        start = perf_counter()
        render(summary)
        warm.append(perf_counter() - start)
        resident.append(_megabytes())
    yield Figure("summary PDF, warm", tuple(warm[1:]), unit="s", goal=0.4)
    third = len(resident) // 3
    yield Figure("memory after all PDFs / after a third", (resident[-1] / resident[third],), goal=1.2)


def _megabytes() -> float:
    status = Path("/proc/self/status").read_text()
    return int(status.split("VmRSS:")[1].split()[0]) / 1024
