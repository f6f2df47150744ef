"""Long imports of a drawing: begun, looked at while they run, and cancelled. The short way is ``floor``'s."""

from __future__ import annotations

import secrets
import threading
import time
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any, Literal

from flask import Blueprint, current_app, request

from sketcher.importing.floor_import import DrawingError, ImportedFloor
from sketcher.server.answers_imports import ImportBegun, ImportState
from sketcher.server.bodies import FloorQuery
from sketcher.server.contract import asks, gives, takes_file
from sketcher.server.errors import Refusal
from sketcher.server.floor import FAILED, LONGEST_S, checked_unit, found, sentence
from sketcher.server.workers import Busy, Runner, Stopped, TooLong

blueprint = Blueprint("imports", __name__, url_prefix="/api/floor/imports")

MOST_RUNNING = 2
#: An answer that nobody fetched is kept so long, s.
_KEPT_S = 600.0


@dataclass
class Job:
    """One import under way."""

    state: Literal["running", "done", "cancelled", "failed"] = "running"
    share: float = 0.0
    answer: ImportedFloor | None = None
    error: str = ""
    stop: threading.Event = field(default_factory=threading.Event)
    begun: float = field(default_factory=time.monotonic)

    def work(self, runner: Runner, data: bytes, kind: str, unit: str | None) -> None:
        """Reads the drawing to its end, its limit or its cancelling."""
        try:
            self.answer = runner.run(
                "read_drawing", data, kind, unit, seconds=LONGEST_S, progress=self._heard, stop=self.stop
            )
            if not self.stop.is_set():
                self.share, self.state = 1.0, "done"
        except Stopped:
            self.state = "cancelled"
        except TooLong:
            self._failed(f"The drawing takes longer than {LONGEST_S:.0f} s to read. Take out what is not the floor.")
        except DrawingError as error:
            self._failed(sentence(error))
        except Exception:
            self._failed(FAILED)

    def _failed(self, words: str) -> None:
        self.error, self.state = words, "failed"

    def _heard(self, share: float) -> None:
        self.share = share


class Jobs:
    """The imports of one server."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._by_id: dict[str, Job] = {}

    def begin(self, runner: Runner, data: bytes, kind: str, unit: str | None) -> str:
        """Starts an import and gives its id. Raises ``Busy``."""
        with self._lock:
            for id_, job in list(self._by_id.items()):
                if job.state != "running" and time.monotonic() - job.begun > _KEPT_S:
                    del self._by_id[id_]
            if sum(job.state == "running" for job in self._by_id.values()) >= MOST_RUNNING:
                raise Busy
            id_, job = secrets.token_hex(8), Job()
            self._by_id[id_] = job
        threading.Thread(target=job.work, args=(runner, data, kind, unit), daemon=True).start()
        return id_

    def get(self, id_: str) -> Job | None:
        """The import of an id; none when there is none, or no longer."""
        return self._by_id.get(id_)


@blueprint.post("")
@takes_file
@asks(FloorQuery)
@gives(ImportBegun, HTTPStatus.ACCEPTED)
def begin(query: FloorQuery) -> dict[str, Any]:
    """Begins the reading of a large DXF or SVG file, the file itself being the body."""
    checked_unit(query.unit)
    try:
        return {"job": _jobs().begin(current_app.extensions["drawings"], request.get_data(), query.kind, query.unit)}
    except Busy:
        raise Refusal(
            HTTPStatus.TOO_MANY_REQUESTS, "busy", "Two drawings are being read; cancel one of them first."
        ) from None


@blueprint.get("/<job>")
@gives(ImportState)
def state(job: str) -> ImportState:
    """How an import stands, with the outlines once it is done."""
    return _state(_job(job))


@blueprint.delete("/<job>")
@gives(ImportState)
def cancel(job: str) -> ImportState:
    """Cancels an import."""
    running = _job(job)
    running.stop.set()
    if running.state == "running":
        running.state = "cancelled"
    return _state(running)


def _state(job: Job) -> ImportState:
    answer = None if job.answer is None else found(job.answer)
    return ImportState(state=job.state, share=round(job.share, 3), answer=answer, error=job.error)


def _job(id_: str) -> Job:
    job = _jobs().get(id_)
    if job is None:
        raise Refusal(HTTPStatus.NOT_FOUND, "not-found", "No such import runs here, or its answer was not fetched.")
    return job


def _jobs() -> Jobs:
    jobs: Jobs = current_app.extensions["imports"]
    return jobs
