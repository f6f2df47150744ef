"""A search in a process of its own: the request comes as one line of JSON, progress and answer go out as lines.

``python -m sketcher.proposing.search_process`` reads ``{"document": …, "wishes": {…}}``. It ends when its input is
closed, so that it never outlives whoever asked.
"""

from __future__ import annotations

import json
import os
import sys
import threading
from typing import Any, TextIO

from sketcher.document import from_plain
from sketcher.document.out_of_memory import take_room
from sketcher.proposing.found import Found
from sketcher.proposing.outcome import as_json
from sketcher.proposing.search import propose
from sketcher.proposing.wishes import Wishes


def main(source: TextIO, sink: TextIO) -> None:
    """One search: every better find is a line, the last line is the answer with ``"done": true``."""
    take_room()
    request = json.loads(source.readline())
    document = from_plain(request["document"])
    threading.Thread(target=_end_with, args=(source,), daemon=True).start()

    def say(found: Found, done: bool) -> None:
        line: dict[str, Any] = {"done": done, **as_json(found, document, documents=True)}
        sink.write(json.dumps(line) + "\n")
        sink.flush()

    found = propose(document, Wishes(**request["wishes"]), progress=lambda found: say(found, False))
    say(found, True)


def _end_with(source: TextIO) -> None:
    source.read()
    os._exit(0)


if __name__ == "__main__":
    main(sys.stdin, sys.stdout)
