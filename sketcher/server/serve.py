"""Serving the page on this machine with waitress."""

from __future__ import annotations

import logging
import os
import socket
import threading
import webbrowser
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from sketcher.document import Document
from sketcher.document.collector import collect_rarely
from sketcher.server.app import create_app
from sketcher.server.connections import Server
from sketcher.server.guard import Keys
from sketcher.store import Plates

HOST = "127.0.0.1"
#: Room for whoever waits: a save on another program's lock, files that are made. A thread costs little while it waits.
#: Connections are bounded in ``connections``; those at work are never closed, and this many more wait to be let in.
ROOM: dict[str, Any] = {
    "threads": 32,
    "connection_limit": 300,
    "backlog": 1024,
    # It goes on listening to who waits for an answer, and so knows when nobody does any more.
    "channel_request_lookahead": 1,
    # Windows has no poll.
    "asyncore_use_poll": os.name != "nt",
    # Cookies of every other server of this machine come along.
    "max_request_header_size": 65_536,
    # A client that hangs up is no fault to be told of.
    "log_socket_errors": False,
    "ident": "plate-sketcher",
}
#: 0 would be any free port; a fixed one keeps the page's address from one day to the next.
USUAL_PORT = 8765
#: No more of a body is read. Up to this the application refuses, and says how much it takes.
HOPELESS_BODY_BYTES = 64_000_000


def serve(
    documents: Sequence[Document],
    data: Path,
    port: int = USUAL_PORT,
    browser: bool = True,
    say: Callable[[str], None] = print,
    demo: Document | None = None,
) -> None:
    """Serves until interrupted, and opens the first document.

    A document that was opened before is not added again: what was made of it is opened. Without documents it is the
    plate that was changed last, or the demo where there is no plate yet.

    Raises:
        StoreError: the data folder cannot be used.
        OSError: the port is taken.
    """
    app = create_app(data, apart=True)
    plates: Plates = app.extensions["plates"]
    opened = [(plates.find(document) or plates.add(document, "opened from a file")).id for document in documents]
    if not opened:
        opened = [row.id for row in plates.listed() if not row.deleted and not row.fault][:1]
    if not opened and demo is not None:
        opened = [plates.add(demo, "the demo").id]
    keys: Keys = app.extensions["keys"]
    server = Server(app, bound(port), keys.shown, max_request_body_size=HOPELESS_BODY_BYTES, **ROOM)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    address = f"http://{HOST}:{server.effective_port}/"
    plate = f"#plate={opened[0]}" if opened else ""
    say(
        f"The plate sketcher is at {address}?token={keys.token}{plate}\nPlates are kept in {data}. Stop it with Ctrl+C."
    )
    if browser:
        # What a browser is started with, every user of the machine can read: this key is good once.
        threading.Timer(0.3, webbrowser.open, [f"{address}?token={keys.once()}{plate}"]).start()
    collect_rarely()
    try:
        server.run()
    finally:
        server.close()


def bound(port: int) -> socket.socket:
    """A socket on this machine's own address. Raises ``OSError`` when the port is taken."""
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name != "nt":  # there the option would let two servers share a port
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.bind((HOST, port))
    except OSError:
        bound.close()
        raise
    return bound
