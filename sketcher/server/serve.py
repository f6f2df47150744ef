"""Serving the page on this machine with waitress."""

from __future__ import annotations

import logging
import threading
import webbrowser
from collections.abc import Callable, Sequence
from pathlib import Path

import waitress

from sketcher.document import Document, dumps
from sketcher.server.app import create_app
from sketcher.store import Plates

HOST = "127.0.0.1"
#: 0 would be any free port; a fixed one keeps the page's address from one day to the next.
USUAL_PORT = 8765


def serve(
    documents: Sequence[Document],
    data: Path,
    port: int = USUAL_PORT,
    browser: bool = True,
    say: Callable[[str], None] = print,
) -> None:
    """Serves until interrupted. Documents that the store has as they are already are not added again.

    Raises:
        StoreError: the data folder cannot be used.
        OSError: the port is taken.
    """
    app = create_app(data)
    opened = [_find_or_add(app.extensions["plates"], document) for document in documents]
    server = waitress.create_server(app, host=HOST, port=port, threads=6)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    address = f"http://{HOST}:{server.effective_port}/"
    where = address + (f"#plate={opened[0]}" if opened else "")
    say(f"The plate sketcher is at {where}\nPlates are kept in {data}. Stop it with Ctrl+C.")
    if browser:
        threading.Timer(0.3, webbrowser.open, [where]).start()
    try:
        server.run()
    finally:
        server.close()


def _find_or_add(plates: Plates, document: Document) -> int:
    text = dumps(document)
    for row in plates.listed():
        if not row.deleted and not row.fault and plates.get(row.id).text == text:
            return row.id
    return plates.add(document, "opened from a file").id
