"""Profiles of shops: their cutters, walls, tolerances and stock, kept under a name."""

from __future__ import annotations

import json
from http import HTTPStatus
from typing import Any

from flask import Blueprint

from sketcher.document.plate import Shop
from sketcher.server import requests
from sketcher.server.answers import ShopList
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal

blueprint = Blueprint("profiles", __name__, url_prefix="/api/shops")


@blueprint.get("")
@gives(ShopList)
def listed() -> dict[str, Any]:
    """Every kept profile."""
    return {"shops": [json.loads(content) for content in requests.plates().profiles().values()]}


@blueprint.put("")
@takes(Shop, HTTPStatus.UNPROCESSABLE_ENTITY, "shop")
@gives(Shop)
def keep(body: Shop) -> Shop:
    """Keeps a profile under its own name, in place of an older one of that name."""
    if not body.name.strip():
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "shop", "A profile is kept under its name; give the shop one.")
    requests.plates().put_profile(body.name, body.model_dump_json())
    return body
