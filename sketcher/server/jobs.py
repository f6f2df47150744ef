"""What is begun by one request, looked at by others and ended by one more: a search, the reading of a large drawing."""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable
from http import HTTPStatus
from typing import Generic, Protocol, TypeVar

from sketcher.server.errors import Refusal

#: So many run at once; another one is refused.
MOST_RUNNING = 2
#: An answer that nobody fetched is kept so long, s.
KEPT_S = 600.0


class Job(Protocol):
    """One of them: when it was begun (by the monotonic clock, s) and whether it is ``running`` still."""

    begun: float

    @property
    def state(self) -> str:
        """``running``, or how it ended."""


Kind = TypeVar("Kind", bound=Job)


class Jobs(Generic[Kind]):
    """The jobs of one kind on one server. ``what`` it is called, in the singular, where it is missed."""

    def __init__(self, what: str) -> None:
        self._what = what
        self._lock = threading.Lock()
        self.by_id: dict[str, Kind] = {}

    def begin(self, make: Callable[[], Kind], busy: str) -> tuple[str, Kind]:
        """A new job and its id.

        Raises:
            Refusal: as many run as may; ``busy`` says what to do.
        """
        with self._lock:
            for id_, job in list(self.by_id.items()):
                if job.state != "running" and time.monotonic() - job.begun > KEPT_S:
                    del self.by_id[id_]
            if sum(job.state == "running" for job in self.by_id.values()) >= MOST_RUNNING:
                raise Refusal(HTTPStatus.TOO_MANY_REQUESTS, "busy", busy)
            id_ = secrets.token_hex(8)
            self.by_id[id_] = made = make()
        return id_, made

    def get(self, id_: str) -> Kind:
        """The job of an id.

        Raises:
            Refusal: there is none, or no longer.
        """
        job = self.by_id.get(id_)
        if job is None:
            raise Refusal(
                HTTPStatus.NOT_FOUND, "not-found", f"No such {self._what} runs here, or its answer was not fetched."
            )
        return job
