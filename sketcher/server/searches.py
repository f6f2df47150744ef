"""Searches under way, each in a process of its own: begun, looked at, ended."""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import threading
import time
import weakref
from collections.abc import Mapping
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any

from sketcher.server.errors import Refusal
from sketcher.server.jobs import Jobs
from sketcher.server.requests import ENDED


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

    def listen(self, request: str) -> None:
        """Gives the process its request, and reads what it says until it is done."""
        assert self.process.stdout is not None
        assert self.process.stdin is not None
        with contextlib.suppress(OSError):  # one that is gone has failed, and its state says so
            self.process.stdin.write(request + "\n")
            self.process.stdin.flush()
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


class Searches(Jobs[Search]):
    """The searches of one server; no process outlives it."""

    def __init__(self) -> None:
        super().__init__("search")
        weakref.finalize(self, _end_all, self.by_id)

    def search(self, request: Mapping[str, Any]) -> str:
        """Starts a search and returns its id. Raises ``Refusal``."""
        try:
            id_, search = self.begin(_begun, "Two searches are running; cancel one of them first.")
            try:
                threading.Thread(target=search.listen, args=(json.dumps(request),), daemon=True).start()
            except RuntimeError:  # nobody would listen, and it would wait with its answer for good
                search.end()
                raise
        except (OSError, RuntimeError):  # no memory for a process, no thread to listen to it
            raise Refusal(HTTPStatus.SERVICE_UNAVAILABLE, "ended", ENDED) from None
        return id_


def _begun() -> Search:
    return Search(
        subprocess.Popen(
            [sys.executable, "-m", "sketcher.proposing.search_process"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
    )


def _end_all(searches: Mapping[str, Search]) -> None:
    for search in searches.values():
        search.end()
