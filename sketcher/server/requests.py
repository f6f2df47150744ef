"""What every route needs of the running application."""

from __future__ import annotations

from http import HTTPStatus

from flask import current_app

from sketcher.server.errors import Refusal
from sketcher.store import Plates, Stored

OTHER_STATE = (
    "The plate was changed in another window: this would not be what is shown. Look at it again, then ask once more."
)


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
