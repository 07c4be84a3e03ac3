"""One connection: reads heads, has each request answered, refuses what is wrong, and ends in good order."""

import h11

from service.api.errors import MALFORMED, TOO_SLOW, UNAVAILABLE
from service.server.channel import Gone, TooLate
from service.server.client import Client
from service.server.exchange import BUSY, Exchange
from service.server.head import Head, end_of_head, read_head
from service.server.refusals import Refusal, document, log_refusal
from service.server.workers import Busy

LINGER_SECONDS = 2.0
LINGER_BYTES = 32 * 1024 * 1024  # [B] of a refused body that are read and dropped, so that its sender sees the refusal
BLANK_LINE = b"\r\n"
MOST_BLANK_LINES = 4


class Connection:
    """Serves one client."""

    def __init__(self, client: Client) -> None:
        self._client = client
        self._channel = client.channel
        self._shared = client.shared
        self._method: str | None = None

    async def serve(self) -> None:
        """Answer requests until either side ends."""
        try:
            while await self._next():
                self._method = None
                self._client.between_requests()
        except Gone as gone:
            if gone.reason:
                self._client.lost(gone.reason)

    async def refuse(self, refusal: Refusal) -> None:
        """Answer with a refusal, and end without cutting it off."""
        request_id = log_refusal(refusal, address=self._client.address, method=self._method, count=self._shared.count)
        self._client.turn(to_client=True)
        secure, with_body = self._shared.scheme == "https", self._method != "HEAD"
        await self._channel.send(document(refusal, request_id, secure=secure, with_body=with_body))
        await self._linger()

    async def _next(self) -> bool:
        """One request and its answer; whether another may follow."""
        try:
            head = await self._head()
            if head is None:
                return False
            self._method = head.method
            exchange = Exchange(self._client, head)
            if await exchange.answered():
                return True
            if exchange.refused:
                await self._linger()
        except Refusal as refusal:
            await self.refuse(refusal)
        except Busy:
            await self.refuse(Refusal(UNAVAILABLE, BUSY, retry=True))
        except h11.RemoteProtocolError as fault:
            await self.refuse(Refusal(MALFORMED, f"The request is not valid HTTP: {fault}."))
        return False

    async def _head(self) -> Head | None:
        """The next head; None when the client sends none."""
        channel, settings = self._channel, self._shared.settings
        deadline = self._client.now() + self._client.idle_seconds()
        self._client.idle, checked, blank = True, 0, 0
        while True:
            while not checked and blank < MOST_BLANK_LINES and channel.received.startswith(BLANK_LINE):
                channel.take(len(BLANK_LINE))
                blank += 1
            end = end_of_head(channel.received, checked, settings.max_header)
            if end >= 0:
                self._client.idle = False
                return read_head(channel.take(end), settings.max_header_fields)
            checked = len(channel.received) if len(channel.received) >= len(BLANK_LINE) else 0
            if self._client.idle and channel.received:
                self._client.idle, deadline = False, self._client.now() + settings.header_seconds
            if not await self._more(deadline):
                return None

    async def _more(self, deadline: float) -> bool:
        """Wait for more of the head; False when the client has begun none, Refusal when it does not end."""
        try:
            if await self._channel.more(deadline):
                return True
        except TooLate:
            if not self._client.idle:
                raise Refusal(TOO_SLOW, "The header did not arrive in the time allowed for it.") from None
        if self._channel.received:
            raise Refusal(MALFORMED, "The request ends within its header.")
        return False

    async def _linger(self) -> None:
        """Say that nothing more comes, and drop what still arrives: closing at once would take the answer back."""
        channel, dropped, deadline = self._channel, 0, self._client.now() + LINGER_SECONDS
        channel.end_sending()
        try:
            while dropped < LINGER_BYTES:
                dropped += len(channel.take(len(channel.received)))
                if not await channel.more(deadline):
                    return
        except TooLate:
            return
