"""Profiles of shops: their cutters, walls, tolerances and stock, kept under a name."""

from __future__ import annotations

from http import HTTPStatus

from flask import Blueprint
from pydantic import ValidationError

from sketcher.document import DocumentError
from sketcher.document.plate import Shop
from sketcher.document.strict_json import parse
from sketcher.server import requests
from sketcher.server.answers import ShopList
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal

blueprint = Blueprint("profiles", __name__, url_prefix="/api/shops")


@blueprint.get("")
@gives(ShopList)
def listed() -> ShopList:
    """Every kept profile; one that is damaged in the store is named beside them, and keeping it again puts it right."""
    shops, damaged = [], []
    for name, content in requests.plates().profiles().items():
        try:
            shops.append(Shop.model_validate(parse(content)))
        except (DocumentError, ValidationError):
            damaged.append(name)
    return ShopList(shops=shops, damaged=damaged)


@blueprint.put("")
@takes(Shop, HTTPStatus.UNPROCESSABLE_ENTITY, "shop")
@gives(Shop)
def keep(body: Shop) -> Shop:
    """Keeps a profile under its own name, in place of an older one of that name."""
    if not body.name.strip():
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "shop", "A profile is kept under its name; give the shop one.")
    requests.plates().put_profile(body.name, body.model_dump_json())
    return body
