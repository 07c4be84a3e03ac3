"""One request: decided on by its header, its body read, the application called, the answer sent."""

import asyncio
import logging
from collections.abc import Callable
from email.utils import formatdate
from typing import TypeVar

import h11

from service import clock
from service.api.errors import INTERNAL, MALFORMED, TOO_LARGE, TOO_SLOW, UNAVAILABLE, UNKNOWN_HOST
from service.server.channel import TooLate
from service.server.client import Client
from service.server.gateway import Answer, Application, Environ, call, make_environ
from service.server.head import Head
from service.server.refusals import Refusal
from service.server.spool import PIECE, PIECE_IN_MEMORY, Budget, Spool
from service.server.workers import Busy

NO_CONTENT = frozenset({204, 304})
BUSY = "Too many requests are waiting; try again in a moment."
NO_ROOM = "There is no room on the disk for what is sent; try again later."
T = TypeVar("T")
logger = logging.getLogger("glycol_fleet.server")


class Exchange:
    """A request whose head has been read, and its answer; `refused` when the body was left unread."""

    def __init__(self, client: Client, head: Head) -> None:
        self.refused = False
        self._client = client
        self._channel = client.channel
        self._shared = client.shared
        self._head = head
        self._parser = h11.Connection(h11.SERVER, self._shared.settings.max_header)

    async def answered(self) -> bool:
        """Answer it; whether another request may follow."""
        environ = self._environ()
        body = Spool(self._shared.budget)
        try:
            verdict = await self._admitted(environ)
            if isinstance(verdict, Answer):
                self.refused = True
                return await self._send(verdict)
            await self._read(body, verdict)
            return await self._send(await self._run(environ, body))
        finally:
            body.close()

    def _environ(self) -> Environ:
        self._parser.receive_data(self._head.raw)
        request = self._parser.next_event()
        if not isinstance(request, h11.Request):
            raise Refusal(MALFORMED)
        shared, peer = self._shared, self._client.peer
        environ = make_environ(self._head, request.headers, server=shared.server, address=peer, scheme=shared.scheme)
        if shared.proxies.trust(peer):
            environ["REMOTE_ADDR"] = shared.proxies.client(peer, environ.get("HTTP_X_FORWARDED_FOR", ""))
            if not self._client.named(environ["REMOTE_ADDR"]):
                raise Refusal(UNAVAILABLE, BUSY, retry=True)
            if environ.get("HTTP_X_FORWARDED_PROTO", "").rpartition(",")[2].strip() == "https":
                environ["wsgi.url_scheme"] = "https"
        if not shared.hosts.allow(self._head.host):
            raise Refusal(UNKNOWN_HOST)
        return environ

    async def _admitted(self, environ: Environ) -> int | Answer:
        """The most bytes that the body may have, or the refusal.

        Of a body that has already come nothing more is read, so the application decides by itself.
        """
        head = self._head
        if not head.chunked and (head.length or 0) <= len(self._channel.received):
            return head.length or 0
        verdict = await self._on_worker(_decide, self._shared.admit, environ, self._shared.budget)
        if isinstance(verdict, int) and self._parser.they_are_waiting_for_100_continue:
            await self._channel.send(self._parser.send(h11.InformationalResponse(status_code=100, headers=[])))
        return verdict

    async def _read(self, body: Spool, limit: int) -> None:
        """Read the whole body; of one that is cut off the parser raises RemoteProtocolError."""
        began, missing = self._client.now(), self._head.length
        while not isinstance(event := self._parser.next_event(), h11.EndOfMessage):
            if isinstance(event, h11.Data):
                if body.length + len(event.data) > limit:
                    raise Refusal(TOO_LARGE)
                await self._keep(body, bytes(event.data))
            else:
                missing = await self._feed(missing, self._deadline(began, body.length))
        if self._head.chunked:
            self._channel.received[:0] = self._parser.trailing_data[0]
        elif body.length != (self._head.length or 0):
            raise Refusal(MALFORMED, "The body is not as long as Content-Length says.")
        if not body.claim():
            raise Refusal(UNAVAILABLE, BUSY, retry=True)
        body.rewind()

    def _deadline(self, began: float, received: int) -> float:
        settings = self._shared.settings
        return began + settings.body_seconds + received / settings.body_rate

    async def _feed(self, missing: int | None, deadline: float) -> int | None:
        """Give the parser what has come, of a body of known length no byte beyond; how much is missing then."""
        channel = self._channel
        try:
            if not channel.received and not await channel.more(deadline):
                self._parser.receive_data(b"")  # an end before the end of the body: its next event is a fault
                return missing
        except TooLate:
            raise Refusal(TOO_SLOW, "The body did not arrive in the time allowed for it.") from None
        data = channel.take(len(channel.received) if missing is None else missing)
        self._parser.receive_data(data)
        return None if missing is None else missing - len(data)

    async def _keep(self, body: Spool, data: bytes) -> None:
        try:
            if body.on_disk:
                await asyncio.to_thread(body.write, data)
            else:
                body.write(data)
        except OSError as fault:
            logger.error("a body could not be kept", exc_info=fault)
            raise Refusal(UNAVAILABLE, NO_ROOM, retry=True) from fault

    async def _run(self, environ: Environ, body: Spool) -> Answer:
        environ["wsgi.input"] = body.file
        if self._head.has_body:
            environ["CONTENT_LENGTH"] = str(body.length)
        return await self._on_worker(call, self._shared.application, environ, self._shared.budget)

    async def _on_worker(self, function: Callable[..., T], *arguments: object) -> T:
        self._client.turn(to_client=False)
        try:
            return await self._shared.workers.run(function, *arguments)
        except Busy:
            raise
        except OSError as fault:  # the application answers its own: an answer did not fit on the disk
            logger.warning("an answer could not be kept: %s", fault)
            raise Refusal(UNAVAILABLE, NO_ROOM, retry=True) from fault
        except Exception as fault:
            logger.error("unexpected fault", exc_info=fault)
            raise Refusal(INTERNAL) from fault
        finally:
            self._client.turn(to_client=True)

    async def _send(self, answer: Answer) -> bool:
        """Send in pieces, each after the client has taken the one before; whether the connection goes on."""
        try:
            parser, content = self._parser, answer.content
            pieces = [parser.send(self._response(answer))]
            with_content = self._head.method != "HEAD" and answer.status not in NO_CONTENT
            missing = content.length if with_content else 0
            while missing:
                piece = await self._piece(content)
                pieces.append(parser.send(h11.Data(data=piece)))
                missing -= len(piece)
                if missing:
                    await self._channel.send(b"".join(pieces))
                    pieces.clear()
            pieces.append(parser.send(h11.EndOfMessage()))
            await self._channel.send(b"".join(pieces))
            return parser.our_state is h11.DONE and parser.their_state is h11.DONE
        finally:
            answer.close()

    def _response(self, answer: Answer) -> h11.Response:
        headers = [(name, value) for name, value in answer.headers if name.lower() != "connection"]
        headers.append(("Date", formatdate(clock.now().timestamp(), usegmt=True)))
        if answer.status not in NO_CONTENT and not any(name.lower() == "content-length" for name, _ in headers):
            headers.append(("Content-Length", str(answer.content.length)))
        if self.refused or self._is_last():
            headers.append(("Connection", "close"))
        return h11.Response(status_code=answer.status, headers=headers, reason=answer.reason.encode("latin-1"))

    def _is_last(self) -> bool:
        """Whether no request follows: the client or the server ends, and nothing has come meanwhile."""
        return (self._shared.draining or self._channel.ended) and not self._channel.received

    async def _piece(self, content: Spool) -> bytes:
        if content.on_disk:
            return await asyncio.to_thread(content.file.read, PIECE)
        return content.file.read(PIECE_IN_MEMORY)


def _decide(admit: Callable[[Environ], int | Application], environ: Environ, budget: Budget) -> int | Answer:
    verdict = admit(environ)
    return verdict if isinstance(verdict, int) else call(verdict, environ, budget)
