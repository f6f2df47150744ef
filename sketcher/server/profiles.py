"""Profiles of shops: their cutters, walls, tolerances and stock, kept under a name."""

from __future__ import annotations

import json
from http import HTTPStatus

from flask import Blueprint, Response, jsonify
from pydantic import ValidationError

from sketcher.document.plate import Shop
from sketcher.server import requests
from sketcher.server.errors import Refusal

blueprint = Blueprint("profiles", __name__, url_prefix="/api/shops")


@blueprint.get("")
def listed() -> Response:
    """Every kept profile."""
    return jsonify(shops=[json.loads(content) for content in requests.plates().profiles().values()])


@blueprint.put("")
def keep() -> Response:
    """Keeps a profile under its own name, in place of an older one of that name."""
    try:
        shop = Shop.model_validate(requests.body())
    except ValidationError as error:
        first = error.errors()[0]
        place = "/".join(str(part) for part in first["loc"])
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "shop", f"{place}: {first['msg']}") from None
    if not shop.name.strip():
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "shop", "A profile is kept under its name; give the shop one.")
    requests.plates().put_profile(shop.name, shop.model_dump_json())
    return jsonify(shop.model_dump(mode="json"))
