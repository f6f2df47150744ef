"""What every route needs of the running application."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from flask import current_app

from sketcher.server.errors import Refusal
from sketcher.server.workers import Busy, Ended, Failed, Runner, TooLong
from sketcher.store import Plates, Stored

OTHER_STATE = (
    "The plate was changed in another window: this would not be what is shown. Look at it again, then ask once more."
)

#: The files of the largest plate take a minute or two on a slow machine; what takes longer has gone wrong, s.
LONGEST_FILES_S = 600.0
ENDED = (
    "The process that does this beside the server was ended, most often for want of memory; nothing was lost. Close "
    "other programs and try again."
)
FAILED = "The program failed at this; nothing was lost. Undo the last change, and report what it was."


def plates() -> Plates:
    """The store of the running application."""
    store: Plates = current_app.extensions["plates"]
    return store


def shown(plate: int, state: int) -> Stored:
    """The plate as it stands, if that is the ``state`` that the page shows (0: any). Raises ``Refusal``."""
    stored = plates().get(plate)
    if state and stored.state != state:
        raise Refusal(HTTPStatus.CONFLICT, "other-state", OTHER_STATE)
    return stored


def files(task: str, *arguments: Any) -> Any:
    """The answer of a task that makes files, worked out beside the server.

    Raises:
        Refusal: too many are being made, or the program failed at it.
        ExportError: as the task refuses it.
    """
    runner: Runner = current_app.extensions["files"]
    try:
        return runner.run(task, *arguments, seconds=LONGEST_FILES_S)
    except Busy:
        raise Refusal(
            HTTPStatus.SERVICE_UNAVAILABLE, "busy", "Files are being made for several others; try again in a minute."
        ) from None
    except TooLong:
        raise Refusal(
            HTTPStatus.SERVICE_UNAVAILABLE, "too-long", f"This took longer than {LONGEST_FILES_S:.0f} s and was ended."
        ) from None
    except Ended:
        raise Refusal(HTTPStatus.SERVICE_UNAVAILABLE, "ended", ENDED) from None
    except Failed as error:
        raise Refusal(HTTPStatus.INTERNAL_SERVER_ERROR, "unforeseen", f"{FAILED} ({error})") from None


def handed_off(plate: int, before: int = 0) -> list[tuple[str, str, str]]:
    """Label, day and reason of the revisions that went to a shop, the oldest first: those before one, 0 for all."""
    return [
        (kept.label, kept.made[:10], kept.reason)
        for kept in plates().revisions(plate)
        if kept.kind == "hand-off" and (not before or kept.number < before)
    ]
