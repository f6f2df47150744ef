"""Searches under way, each in a process of its own: begun, looked at, ended."""

from __future__ import annotations

import contextlib
import json
import secrets
import subprocess
import sys
import threading
import time
import weakref
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

#: So many run at once; one more takes the place of the oldest that is done, or is refused.
MOST_RUNNING = 2
#: An answer that nobody fetched is kept so long, s.
_KEPT_S = 600.0


class TooMany(Exception):
    """As many searches run as may; one has to end first."""


@dataclass
class Search:
    """One search: its process, and the last that it said."""

    process: subprocess.Popen[str]
    begun: float = field(default_factory=time.monotonic)
    last: Mapping[str, Any] = field(default_factory=dict)
    ended: bool = False

    @property
    def state(self) -> str:
        """``running``, ``done``, ``cancelled`` or ``failed``."""
        if self.last.get("done"):
            return "done"
        if self.ended:
            return "cancelled"
        return "running" if self.process.poll() is None else "failed"

    def listen(self) -> None:
        """Reads what the process says until it is done."""
        assert self.process.stdout is not None
        assert self.process.stdin is not None
        with self.process.stdout, contextlib.suppress(OSError), self.process.stdin:
            for line in self.process.stdout:
                try:
                    self.last = json.loads(line)
                except ValueError:
                    continue
        self.process.wait()

    def end(self) -> None:
        """Ends the process; what it found so far stays."""
        self.ended = self.state == "running"
        if self.process.poll() is None:
            self.process.kill()


class Searches:
    """The searches of one server."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._by_id: dict[str, Search] = {}
        # No process outlives the server that began it.
        weakref.finalize(self, _end_all, self._by_id)

    def begin(self, request: Mapping[str, Any]) -> str:
        """Starts a search and returns its id.

        Raises:
            TooMany: as many run as may.
        """
        with self._lock:
            self._forget()
            if sum(search.state == "running" for search in self._by_id.values()) >= MOST_RUNNING:
                raise TooMany
            process = subprocess.Popen(
                [sys.executable, "-m", "sketcher.proposing.worker"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
                encoding="utf-8",
            )
            assert process.stdin is not None
            search = Search(process)
            id_ = secrets.token_hex(8)
            self._by_id[id_] = search
        process.stdin.write(json.dumps(request) + "\n")
        process.stdin.flush()
        threading.Thread(target=search.listen, daemon=True).start()
        return id_

    def get(self, id_: str) -> Search | None:
        """The search of an id; none when there is none, or no longer."""
        return self._by_id.get(id_)

    def _forget(self) -> None:
        now = time.monotonic()
        for id_, search in list(self._by_id.items()):
            if search.state != "running" and now - search.begun > _KEPT_S:
                del self._by_id[id_]


def _end_all(searches: Mapping[str, Search]) -> None:
    for search in searches.values():
        search.end()
