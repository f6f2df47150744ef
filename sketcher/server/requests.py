"""What every route needs of the running application."""

from __future__ import annotations

from flask import current_app

from sketcher.store import Plates


def plates() -> Plates:
    """The store of the running application."""
    store: Plates = current_app.extensions["plates"]
    return store
