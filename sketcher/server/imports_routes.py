"""Long imports of a drawing: begun, looked at while they run, and cancelled. The short way is in ``floor_routes``."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any, Literal

from flask import Blueprint, current_app, request

from sketcher.importing.floor_import import DrawingError, ImportedFloor
from sketcher.server.answers_imports import ImportBegun, ImportState
from sketcher.server.contract import asks, gives, takes_file
from sketcher.server.floor_routes import FAILED, LONGEST_S, checked_unit, found, sentence
from sketcher.server.jobs import Jobs
from sketcher.server.request_models import FloorQuery
from sketcher.server.requests import ENDED
from sketcher.server.workers import Ended, Runner, Stopped, TooLong

blueprint = Blueprint("imports", __name__, url_prefix="/api/floor/imports")


@dataclass
class Import:
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
        except Ended:
            self._failed(ENDED)
        except Exception:
            self._failed(FAILED)

    def _failed(self, words: str) -> None:
        self.error, self.state = words, "failed"

    def _heard(self, share: float) -> None:
        self.share = share


@blueprint.post("")
@takes_file
@asks(FloorQuery)
@gives(ImportBegun, HTTPStatus.ACCEPTED)
def begin(query: FloorQuery) -> dict[str, Any]:
    """Begins the reading of a large DXF or SVG file, the file itself being the body."""
    checked_unit(query.unit)
    drawing = current_app.extensions["drawings"], request.get_data(), query.kind, query.unit
    id_, reading = _imports().begin(Import, "Two drawings are being read; cancel one of them first.")
    try:
        threading.Thread(target=reading.work, args=drawing, daemon=True).start()
    except RuntimeError:  # no thread is to be had; a job that nobody works at would keep its place for good
        reading.state = "failed"
        raise
    return {"job": id_}


@blueprint.get("/<job>")
@gives(ImportState)
def state(job: str) -> ImportState:
    """How an import stands, with the outlines once it is done."""
    return _state(_imports().get(job))


@blueprint.delete("/<job>")
@gives(ImportState)
def cancel(job: str) -> ImportState:
    """Cancels an import."""
    running = _imports().get(job)
    running.stop.set()
    if running.state == "running":
        running.state = "cancelled"
    return _state(running)


def _state(job: Import) -> ImportState:
    answer = None if job.answer is None else found(job.answer)
    return ImportState(state=job.state, share=round(job.share, 3), answer=answer, error=job.error)


def _imports() -> Jobs[Import]:
    imports: Jobs[Import] = current_app.extensions["imports"]
    return imports
