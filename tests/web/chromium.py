"""A real browser for tests, where this machine has one."""

import os
import shutil
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from typing import Any, TypeVar

from playwright.sync_api import Browser as Chromium
from playwright.sync_api import BrowserContext, Page, sync_playwright
from werkzeug.serving import make_server

from tests.api.resources.conftest import Shop

NO_BROWSER = "no browser found: set GLYCOL_FLEET_TEST_BROWSER, or install chromium"
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
QUIET = ("--disable-background-networking", "--disable-component-update", "--no-first-run")
T = TypeVar("T")


def program() -> str | None:
    """The path of a browser, None where there is none."""
    return os.environ.get("GLYCOL_FLEET_TEST_BROWSER") or next(filter(None, map(shutil.which, NAMES)), None)


class Window:
    """A browser in a thread of its own.

    Playwright's loop runs in the thread that started it; in the thread of the tests it would break every later
    `asyncio.run`.
    """

    def __init__(self, path: str) -> None:
        self._thread = ThreadPoolExecutor(1)
        self._playwright, self._chromium = self.do(lambda: _started(path))

    def do(self, work: Callable[[], T]) -> T:
        """Run something in the browser's thread."""
        return self._thread.submit(work).result()

    def visit(self, work: Callable[[BrowserContext], T], **options: Any) -> T:
        """Run something in a new context, closed at the end; a message on a page's console fails it."""

        def run() -> T:
            context = self._chromium.new_context(**options)
            context.set_default_timeout(30_000)
            try:
                with quiet(context):
                    return work(context)
            finally:
                context.close()

        return self.do(run)

    def close(self) -> None:
        """End the browser and its thread."""
        self.do(self._chromium.close)
        self.do(self._playwright.stop)
        self._thread.shutdown()


def _started(path: str) -> tuple[Any, Chromium]:
    playwright = sync_playwright().start()
    return playwright, playwright.chromium.launch(executable_path=path, args=list(QUIET))


@contextmanager
def quiet(context: BrowserContext) -> Iterator[None]:
    """Fail on an error of a script, or one on the console that is not about the network."""
    faults: list[str] = []

    def watch(page: Page) -> None:
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        page.on("console", lambda message: message.type == "error" and faults.append(message.text))

    context.on("page", watch)
    yield
    assert [fault for fault in faults if "Failed to load resource" not in fault and "net::" not in fault] == []


class Served:
    """The application on a port of this machine, which can be taken away and come back."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.port = 0
        self.start()

    @property
    def address(self) -> str:
        """Where it is."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Listen, on the same port as before."""
        self._server = make_server("127.0.0.1", self.port, self.shop.app, threaded=True)
        self.port = self._server.port
        self._thread = Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.05})
        self._thread.start()

    def stop(self) -> None:
        """Refuse connections."""
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()


AXE = Path(__file__).with_name("axe") / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
RUN_AXE = """async (rules) => {
  const found = await axe.run(document, { runOnly: rules, resultTypes: ["violations", "incomplete"] });
  const problem = (each) => `${each.id}: ${each.nodes.slice(0, 3).map((node) => node.target.join(" ") + " " + (node.any[0]?.message ?? "")).join(" | ")}`;
  return [found.violations.map(problem), found.incomplete.map(problem)];
}"""  # noqa: E501


def findings_of_axe(page: Page) -> tuple[list[str], list[str]]:
    """(violations, what axe could not decide) on a page, by the rules of WCAG 2.2 A and AA."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(AXE.read_text(encoding="utf-8"))
    violations, incomplete = page.evaluate(RUN_AXE, RULES)
    return violations, incomplete
