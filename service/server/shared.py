"""What all connections of a server share."""

from collections.abc import Callable
from dataclasses import dataclass

from service.server.addresses import Hosts, Proxies
from service.server.gateway import Application, Environ
from service.server.places import Places
from service.server.refusals import Count
from service.server.spool import Budget
from service.server.workers import Workers
from service.settings import Settings

Admit = Callable[[Environ], int | Application]


@dataclass(slots=True, kw_only=True)
class Shared:
    """`admit` decides by an environ without body: the most bytes that the body may have, or the refusal as an answer.

    `server` is host and port as the application sees them; `draining` is true once the server ends.
    """

    application: Application
    admit: Admit
    count: Count
    settings: Settings
    workers: Workers
    budget: Budget
    places: Places
    hosts: Hosts
    proxies: Proxies
    server: tuple[str, int]
    scheme: str
    draining: bool = False
