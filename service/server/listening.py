"""The sockets that the server listens on."""

import socket

BACKLOG = 1024


def listen(host: str, port: int) -> list[socket.socket]:
    """A socket for each address of the host, all on one port; OSError when one cannot be had."""
    listeners: list[socket.socket] = []
    try:
        for family, address in _addresses(host, port):
            chosen = port or (listeners[0].getsockname()[1] if listeners else 0)
            listeners.append(socket.create_server((address, chosen), family=family, backlog=BACKLOG))
            listeners[-1].setblocking(False)
    except OSError:
        close(listeners)
        raise
    return listeners


def close(listeners: list[socket.socket]) -> None:
    """Take no more connections."""
    for listener in listeners:
        listener.close()


def _addresses(host: str, port: int) -> list[tuple[socket.AddressFamily, str]]:
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
    return list(dict.fromkeys((family, str(address[0])) for family, _, _, _, address in found))
