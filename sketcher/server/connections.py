"""Connections that are bounded in time and in number: whoever is slow, silent or many does not keep the page waiting.

waitress reads requests in one thread and works on whole ones in others, so that a slow client costs a place and no
thread. What it leaves open is bounded here: how long the head and the body of a request may take, how long an answer
may wait to be fetched, how many are connected, and how much somebody without the token may send. Times are those of the
monotonic clock: a system clock that is set back must not keep anybody connected for a day.
"""

from __future__ import annotations

import json
import socket
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import partial
from typing import Any

from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.receiver import ChunkedReceiver
from waitress.server import TcpWSGIServer
from waitress.task import ErrorTask
from waitress.utilities import BadRequest, Error

#: From the first byte of a request to the end of its head, and to the end of its body, s. Both come from this machine.
HEAD_S, BODY_S = 10.0, 60.0
#: An answer of which nothing more is fetched, and a connection on which nothing is asked, are closed after so long, s.
UNFETCHED_S, IDLE_S = 60.0, 60.0
#: Who was refused may finish sending for so long, s: closed at once, the line would be reset before the reason is read.
REFUSED_S = 3.0
#: How often it is looked whether anybody takes too long, s.
LOOKED_AFTER_S = 1.0
#: A browser opens six to one server. Beyond this the one that has waited longest makes room, strangers first.
MOST = 100
#: Without the token nothing is asked that has a body; so much is read and answered in the application's words, bytes.
STRANGERS_BODY_BYTES = 65_536
#: A size in hexadecimal with what may stand behind it, and the fields behind the last chunk, bytes (RFC 9112, 7.1).
CHUNK_LINE_BYTES, TRAILER_BYTES = 1024, 16_384

#: Whether the head of a request, by the names of its fields as waitress has them (``COOKIE``), shows the token.
Knows = Callable[[Mapping[str, str]], bool]

_WORDS = {
    400: ("request", "This is no request of HTTP/1.1: its first line, a header or its length is wrong."),
    403: ("token", "So much is taken with the token of the address that the program printed only."),
    413: ("too-large", "So much is not taken; a plate document is far smaller."),
    431: ("headers", "The address or the headers are longer than is taken here."),
    501: ("encoding", "Send the body as it is or in chunks; no other transfer coding is read."),
}


class _Stranger(Error):  # type: ignore[misc]
    code, reason = 403, "Forbidden"


class Request(HTTPRequestParser):  # type: ignore[misc]
    """A request as it comes in; ``known`` once its head has shown the token."""

    known = False
    _head_read = False

    def __init__(self, adj: Adjustments, knows: Knows) -> None:
        super().__init__(adj)
        self._knows = knows

    def received(self, data: bytes) -> int:
        """Reads on; gives how many bytes were this request's."""
        consumed: int = super().received(data)
        if self.completed:
            # It was refused, or asked for leave to send what it does not have: told to go on, it would be waited for.
            self.expect_continue = False
        if not self.headers_finished or self.error:
            return consumed
        if not self._head_read:
            self._head_read = True
            self.known = self._knows(self.headers)
        if not self.completed:
            body = self.body_rcv
            chunked = isinstance(body, ChunkedReceiver)
            if not self.known and max(self.content_length, self.body_bytes_received) > STRANGERS_BODY_BYTES:
                self._refuse(_Stranger(""))
            elif chunked and (len(body.control_line) > CHUNK_LINE_BYTES or len(body.trailer) > TRAILER_BYTES):
                self._refuse(BadRequest(""))
        return consumed

    def _refuse(self, error: Error) -> None:
        self.error, self.completed, self.expect_continue = error, True, False


class _Refused(ErrorTask):  # type: ignore[misc]
    """What is no request is refused in the envelope of every other refusal."""

    def execute(self) -> None:
        error = self.request.error
        code, words = _WORDS.get(error.code, ("unforeseen", "The program failed; nothing was lost."))
        body = json.dumps({"error": {"code": code, "message": words}}).encode()
        self.status = f"{error.code} {error.reason}"
        self.response_headers += [("Content-Type", "application/json"), ("X-Content-Type-Options", "nosniff")]
        self.set_close_on_finish()
        self.content_length = len(body)
        self.channel.lingers = True
        self.write(body)


class Connection(HTTPChannel):  # type: ignore[misc]
    """One client's line, and since when it has been as it is."""

    error_task_class = _Refused
    will_close: bool
    close_when_flushed: bool

    def __init__(self, server: Server, *args: Any, **named: Any) -> None:
        self.known = self.lingers = self.draining = self.half_closed = False
        self._since = time.monotonic()
        self._unsent: tuple[int, float] = (0, self._since)
        self._part: Request | None = None
        super().__init__(server, *args, **named)
        self.parser_class = partial(Request, knows=server.knows)

    def received(self, data: bytes) -> bool:
        """Takes what came in."""
        if self.draining:
            return False
        taken: bool = super().received(data)
        if self.request is not self._part:
            self._part, self._since = self.request, time.monotonic()
        return taken

    def service(self) -> None:
        """Answers one request, in a thread of its own."""
        self.known = self.known or self.requests[0].known
        super().service()
        self._since = time.monotonic()
        if self.half_closed and not self.requests:
            self.close_when_flushed = True
            self.server.pull_trigger()

    def readable(self) -> bool:
        """Whether there is a use in reading on."""
        return not self.half_closed and (self.draining or bool(super().readable()))

    def handle_read(self) -> None:
        """Reads on. Who has sent all and closed that half of the line is answered still; nothing long is tried for
        him, since whoever has hung up looks the same."""
        if self.requests and not self.draining:
            with suppress(OSError):  # the read below meets it again
                self.half_closed = not self.socket.recv(1, socket.MSG_PEEK)
        if not self.half_closed:
            super().handle_read()

    def check_client_disconnected(self) -> bool:
        """Whether nobody may be waiting any more."""
        return self.half_closed or bool(super().check_client_disconnected())

    def handle_write(self) -> None:
        """Sends what waits, and closes after the last of it if that is due."""
        if self.lingers and self.close_when_flushed and not self.total_outbufs_len and not self.will_close:
            self.close_when_flushed, self.draining, self._since = False, True, time.monotonic()
            try:
                self.socket.shutdown(socket.SHUT_WR)
            except OSError:
                self.will_close = True
            return
        super().handle_write()

    @property
    def waits(self) -> bool:
        """Whether nothing is being worked out for it: it is silent, or sends, or does not fetch its answer."""
        return not self.requests

    @property
    def since(self) -> tuple[bool, float]:
        """What makes room first comes first: strangers, then who has waited longest."""
        part = self._part
        return self.known or (part is not None and part.known), self._since

    def overdue(self, now: float) -> bool:
        """Whether it has taken longer than it may."""
        if self.draining:
            return now - self._since > REFUSED_S
        unsent = self.total_outbufs_len
        if not unsent or unsent != self._unsent[0]:
            self._unsent = unsent, now
        if unsent:
            return now - self._unsent[1] > UNFETCHED_S
        if self.requests:
            return False
        if self.half_closed:
            return True
        part = self._part
        if part is None:
            return now - self._since > IDLE_S
        return now - self._since > (BODY_S if part.headers_finished else HEAD_S)


class Server(TcpWSGIServer):  # type: ignore[misc]
    """waitress's server with such connections."""

    channel_class = Connection

    def __init__(
        self,
        application: Any,
        bound: socket.socket,
        knows: Knows,
        map: dict[int, Any] | None = None,
        **adjustments: Any,
    ) -> None:
        self.knows = knows
        self._tended = time.monotonic()
        adj = Adjustments(sockets=[bound], **adjustments)
        sockinfo = (bound.family, bound.type, bound.proto, bound.getsockname())
        super().__init__(application, map, _sock=bound, adj=adj, bind_socket=False, sockinfo=sockinfo)

    def readable(self) -> bool:
        """Whether another client is let in; called once a second at least, and so the place to look at the others."""
        now = time.monotonic()
        if now - self._tended > LOOKED_AFTER_S:
            self._tended = now
            for connection in self._open():
                if connection.overdue(now):
                    self._drop(connection)
        return bool(super().readable())

    def maintenance(self, now: float) -> None:
        """waitress's own, by the system's clock; ``readable`` does it."""

    def handle_accept(self) -> None:
        """Lets one in, and where that is one too many, closes another."""
        super().handle_accept()
        there = self._open()
        if len(there) > MOST:
            # The newest has had no time to say what it wants.
            waiting = [one for one in there[:-1] if one.waits]
            if waiting:
                self._drop(min(waiting, key=lambda one: one.since))

    def _drop(self, connection: Connection) -> None:
        """Closes a line between two looks at them all. Told so alone, it would wait until it can be written to."""
        connection.will_close = True
        self.trigger.pull_trigger(connection.handle_close)

    def _open(self) -> list[Connection]:
        return [one for one in self.active_channels.values() if not one.will_close]
