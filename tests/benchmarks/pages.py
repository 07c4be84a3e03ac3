"""The pages of the demo fleet in a real browser on a slow phone: cold, warm, bytes, storage; and the server's time.

A browser is found as the browser tests find it. A cold page has nothing kept: no cache, no worker, the processor slowed
4 times, 400 ms and 400 kbit/s, of which the browser's tools know. Its floor is an empty page under the same conditions.
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from statistics import median
from time import perf_counter

from playwright.sync_api import Browser as Chromium
from playwright.sync_api import BrowserContext, CDPSession, Page, StorageState, sync_playwright

from service import clock
from tests.benchmarks.programs import PATIENCE, Server
from tests.benchmarks.ratios import Figure
from tests.benchmarks.run import Run
from tests.web.chromium import NO_BROWSER, QUIET, program

PHONE_SIZE = {"width": 390, "height": 844}
SLOW = {"offline": False, "latency": 400, "downloadThroughput": 50_000, "uploadThroughput": 50_000}  # [ms], [byte/s]
SLOWER = {"rate": 4}
# It can be read and filled in: parsed, styled, its modules run, the form at work. The typeface may still come.
READY = "() => document.readyState !== 'loading' && (document.getElementById('visit')?.dataset.ready ?? '1') === '1'"
KEPT = """async () => {
  const pages = await (await caches.open('pages')).keys();
  return pages.filter((each) => each.url.endsWith('/visits/form')).length;
}"""
USED = "async () => (await navigator.storage.estimate()).usage"
MEGABYTE, ASKED = 1e6, 60


def pages(run: Run) -> Iterator[Figure]:
    """Cold and warm pages of a technician's phone, and what the same costs the server beside JSON."""
    path = program()
    if path is None:
        raise RuntimeError(NO_BROWSER)
    database = _demo(run)
    with run.checkout.serving(database) as server, _browser(path) as browser:
        technician, unit = _first_stop(server)
        token = run.checkout.command(database, "token", "create", "--technician", technician).strip()
        signed = _signed_in(browser, server, token)
        shown = {"My day": "/", "a unit's page": f"/units/{unit}", "the form of a visit": f"/units/{unit}/visits/form"}
        empty = [_cold(browser, signed, server, "/healthz")[0] for _ in range(run.rounds)]
        for name, page in shown.items():
            yield from _cold_figures(name, [_cold(browser, signed, server, page) for _ in range(run.rounds)], empty)
        yield from _warm(browser, signed, server, run.rounds)
        cookie = "; ".join(f"{each['name']}={each['value']}" for each in signed["cookies"])
        for name, page, answer in (
            ("My day", "/", f"/v1/pm-list?technician={technician}&hours=6"),
            ("a unit's page", f"/units/{unit}", f"/v1/units/{unit}/condition"),
        ):
            yield _cost(server, run, name, ({"Cookie": cookie}, page), answer)


def _demo(run: Run) -> Path:
    """The demo fleet of today, imported by the command."""
    database, lines = run.scratch / "pages.sqlite3", run.scratch / "fleet.jsonl"
    lines.write_text(run.checkout.run("seed_data/make_fleet.py", "--today", clock.now().date().isoformat()))
    run.checkout.command(database, "migrate")
    run.checkout.command(database, "import", str(lines))
    return database


@contextmanager
def _browser(path: str) -> Iterator[Chromium]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(QUIET))
        try:
            yield browser
        finally:
            browser.close()


def _address(server: Server) -> str:
    return f"http://127.0.0.1:{server.port}"


@contextmanager
def _phone(browser: Chromium, signed: StorageState | None, *, worker: bool) -> Iterator[tuple[Page, CDPSession]]:
    """A page of a device of its own, and its developer tools."""
    context: BrowserContext = browser.new_context(
        viewport=PHONE_SIZE,
        has_touch=True,
        is_mobile=True,
        storage_state=signed,
        service_workers="allow" if worker else "block",
    )
    try:
        page = context.new_page()
        yield page, context.new_cdp_session(page)
    finally:
        context.close()


def _signed_in(browser: Chromium, server: Server, token: str) -> StorageState:
    """The cookie of the technician's session."""
    with _phone(browser, None, worker=False) as (page, _):
        page.goto(f"{_address(server)}/sign-in")
        page.fill("#token", token)
        page.click("button.main")
        page.wait_for_url(f"{_address(server)}/")
        return page.context.storage_state()


def _first_stop(server: Server) -> tuple[str, str]:
    """The first technician who has a stop today, and a unit of it."""
    for stop in json.loads(server.get("/v1/pm-list"))["stops"]:
        if stop["technician"] and stop["items"]:
            return stop["technician"], stop["items"][0]["unit"]
    raise RuntimeError("nothing is due in the demo fleet")


def _cold(browser: Chromium, signed: StorageState, server: Server, path: str) -> tuple[float, int, int]:
    """(seconds until it can be used, compressed bytes, requests) of a page with nothing kept."""
    with _phone(browser, signed, worker=False) as (page, tools):
        received: list[int] = []
        tools.on("Network.loadingFinished", lambda event: received.append(event["encodedDataLength"]))
        tools.send("Network.enable")
        tools.send("Network.emulateNetworkConditions", SLOW)
        tools.send("Emulation.setCPUThrottlingRate", SLOWER)
        seconds = _seconds_to_use(page, _address(server) + path)
        page.wait_for_load_state("networkidle")
        return seconds, sum(received), len(received)


def _seconds_to_use(page: Page, address: str) -> float:
    start = perf_counter()
    page.goto(address, wait_until="domcontentloaded")
    page.wait_for_function(READY)
    return perf_counter() - start


def _cold_figures(name: str, rounds: list[tuple[float, int, int]], empty: list[float]) -> Iterator[Figure]:
    seconds = tuple(each[0] for each in rounds)
    sizes, requests = [each[1] for each in rounds], max(each[2] for each in rounds)
    yield Figure(
        f"{name}, cold on a slow phone", seconds, unit="s", goal=2, note=f"an empty page {median(empty):.2f} s"
    )
    yield Figure(f"{name}, cold / an empty page", tuple(a / b for a, b in zip(seconds, empty, strict=True)))
    yield Figure(
        f"{name}, compressed",
        tuple(each / MEGABYTE for each in sizes),
        unit="MB",
        goal=0.08,
        note=f"{requests} requests",
    )


def _warm(browser: Chromium, signed: StorageState, server: Server, rounds: int) -> Iterator[Figure]:
    """My day from a worker that has kept the day, and what it keeps on the device."""
    with _phone(browser, signed, worker=True) as (page, tools):
        page.goto(_address(server))
        page.evaluate("() => navigator.serviceWorker.ready.then(() => null)")
        page.reload()
        kept = _settled(page, KEPT)
        used = _settled(page, USED)
        tools.send("Emulation.setCPUThrottlingRate", SLOWER)
        seconds = tuple(_seconds_to_use(page, _address(server)) for _ in range(rounds))
    yield Figure("My day, warm, processor slowed 4 times", seconds, unit="s", goal=0.5)
    yield Figure("kept on the device", (used / MEGABYTE,), unit="MB", goal=60, note=f"{kept} forms of units")


def _settled(page: Page, script: str) -> int:
    """What a script gives once it gives the same thrice in a row, and not 0."""
    seen: list[int] = []
    while len(seen) < 3 or len(set(seen[-3:])) > 1 or not seen[-1]:
        page.wait_for_timeout(500)
        seen.append(page.evaluate(script))
        if len(seen) > PATIENCE:
            raise RuntimeError(f"{script} does not settle: {seen}")
    return seen[-1]


def _cost(server: Server, run: Run, name: str, page: tuple[dict[str, str], str], answer: str) -> Figure:
    """The server's processor time for a page against that for the JSON of the same."""
    times = run.scaled(ASKED)
    bearer = {"Authorization": f"Bearer {server.token}"}
    rounds = [
        (_processor(server, times, page[1], page[0]), _processor(server, times, answer, bearer))
        for _ in range(run.rounds)
    ]
    return Figure(
        f"{name}, processor time / that of its JSON",
        tuple(ours / max(floor, 1e-3) for ours, floor in rounds),
        goal=3,
        note=f"{median(ours for ours, _ in rounds) / times * 1000:.1f} ms",
    )


def _processor(server: Server, times: int, path: str, headers: dict[str, str]) -> float:
    """The processor time of so many answers over one connection, which must be 200 [s]."""
    connection = HTTPConnection("127.0.0.1", server.port, timeout=PATIENCE)
    try:
        _ask(connection, path, headers)
        start = server.processor_seconds()
        for _ in range(times):
            _ask(connection, path, headers)
        return server.processor_seconds() - start
    finally:
        connection.close()


def _ask(connection: HTTPConnection, path: str, headers: dict[str, str]) -> None:
    connection.request("GET", path, headers=headers | {"Accept-Encoding": "gzip"})
    answer = connection.getresponse()
    body = answer.read()
    if answer.status != 200:
        raise RuntimeError(f"GET {path}: {answer.status} {body[:300]!r}")
