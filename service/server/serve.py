"""Runs the server until it is asked to end."""

import asyncio
import logging
import signal
import socket
from collections.abc import Callable
from contextlib import suppress
from types import FrameType

from service.server.accepting import Accepting
from service.server.addresses import Hosts, Proxies
from service.server.gateway import Application
from service.server.listening import close, listen
from service.server.places import Places
from service.server.refusals import Count
from service.server.shared import Admit, Shared
from service.server.spool import Budget
from service.server.tls import Certificate, certificate_of
from service.server.workers import Workers
from service.settings import Settings

SWEEP_SECONDS = 0.25
CERTIFICATE_SECONDS = 60.0
logger = logging.getLogger("glycol_fleet.server")
Ready = Callable[[str, int], None]


def serve(
    application: Application,
    settings: Settings,
    *,
    admit: Admit,
    count: Count,
    ready: Ready = lambda _host, _port: None,
) -> None:
    """Answer requests on host and port of the settings until SIGTERM or SIGINT; finish those in progress; return.

    `count` gets the kind of every refusal of the server itself; `ready` gets host and port once connections are taken.
    """
    certificate = certificate_of(settings)
    listeners = listen(settings.host, settings.port)

    def share() -> Shared:
        names = (settings.host, *settings.allowed_hosts)
        return Shared(
            application=application,
            admit=admit,
            count=count,
            settings=settings,
            workers=Workers(settings.threads, settings.queue),
            budget=Budget(settings.body_memory),
            places=Places(settings.max_connections, settings.max_connections_per_address),
            hosts=Hosts(names),
            proxies=Proxies(settings.trusted_proxies),
            server=(settings.host, listeners[0].getsockname()[1]),
            scheme="http" if certificate is None else "https",
        )

    try:
        # The loop that watches sockets on every platform.
        with asyncio.Runner(loop_factory=asyncio.SelectorEventLoop) as runner:
            runner.run(_run(share, listeners, certificate, ready))
    finally:
        close(listeners)


async def _run(
    share: Callable[[], Shared], listeners: list[socket.socket], certificate: Certificate | None, ready: Ready
) -> None:
    shared = share()
    accepting = Accepting(shared, listeners, certificate)
    stopping = _stop_signal()
    watching = [asyncio.create_task(_sweep(shared.places))]
    if certificate is not None:
        watching.append(asyncio.create_task(_renew(certificate)))
    accepting.begin()
    ready(*shared.server)
    await stopping.wait()
    shared.draining = True
    accepting.stop()
    await accepting.finish(shared.settings.grace_seconds)
    for task in watching:
        task.cancel()
    shared.workers.end()


def _stop_signal() -> asyncio.Event:
    """An event that the first signal sets; the second one ends the process at once."""
    stopping = asyncio.Event()
    loop = asyncio.get_running_loop()

    def stop(number: int, _frame: FrameType | None) -> None:
        signal.signal(number, signal.SIG_DFL)
        with suppress(RuntimeError):  # the loop has ended by itself
            loop.call_soon_threadsafe(stopping.set)

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, stop)
    return stopping


async def _sweep(places: Places) -> None:
    """End the waits whose time is over."""
    loop = asyncio.get_running_loop()
    while True:
        await asyncio.sleep(SWEEP_SECONDS)
        for connection in places:
            connection.check(loop.time())


async def _renew(certificate: Certificate) -> None:
    while True:
        await asyncio.sleep(CERTIFICATE_SECONDS)
        try:
            certificate.refresh()
        except OSError as fault:
            logger.error("the certificate could not be loaded again; the former one is used", exc_info=fault)
