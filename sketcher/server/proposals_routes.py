"""Channels that the program lays out: a search is begun, looked at while it runs, and can be cancelled."""

from __future__ import annotations

import time
from dataclasses import asdict
from http import HTTPStatus
from typing import Any

from flask import Blueprint, current_app

from sketcher.document import to_plain
from sketcher.document.joined import open_connections, with_drawn_connections
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal
from sketcher.server.proposal_answers import (
    DeviceOrders,
    PortsAnswer,
    ProposalBegun,
    ProposalState,
    RerouteAnswer,
    SmallestPlate,
)
from sketcher.server.request_models import OneDocument, PortsWanted, Propose, Reroute, SmallestPlateWanted
from sketcher.server.searches import Search, Searches

#: The smallest outline is sought for so long, s; the best so far is then the answer.
_OUTLINE_S = 30.0
#: Channels follow a hand for so long, s; what is not laid by then stays as it was.
_REROUTE_S = 1.0

# What lays channels is imported when it is asked for: the first answer can do without.
blueprint = Blueprint("proposals", __name__, url_prefix="/api")


@blueprint.post("/proposals")
@takes(Propose)
@gives(ProposalBegun, HTTPStatus.ACCEPTED)
def begin(body: Propose) -> dict[str, Any]:
    """Begins a search for channels that join what ``loop.connections`` asks for, or what drawn channels join."""
    from sketcher.proposing.wishes import Wishes

    document = with_drawn_connections(body.document) if body.anew else body.document
    if not document.loop.connections or not (body.anew or open_connections(document)):
        raise Refusal(
            HTTPStatus.UNPROCESSABLE_ENTITY,
            "nothing-open",
            "Every connection is drawn already, or there is none: say which ports are to be joined.",
        )
    wishes = asdict(
        Wishes(
            style=body.style,
            width_mm=body.width_mm,
            depth_mm=body.depth_mm,
            loss=body.loss,
            length=body.length,
            bends=body.bends,
            milling=body.milling,
            anew=body.anew,
            look=body.look,
            line_x_mm=body.line_x_mm,
            line_y_mm=body.line_y_mm,
            seed=body.seed,
            seconds=body.seconds,
        )
    )
    return {"search": _searches().search({"document": to_plain(document), "wishes": wishes})}


@blueprint.get("/proposals/<search>")
@gives(ProposalState)
def state(search: str) -> dict[str, Any]:
    """How a search stands, with the proposals it has found so far, the best first."""
    return _state(_searches().get(search))


@blueprint.delete("/proposals/<search>")
@gives(ProposalState)
def cancel(search: str) -> dict[str, Any]:
    """Ends a search; what it found so far stands in the answer."""
    found = _searches().get(search)
    found.end()
    return _state(found)


@blueprint.post("/reroute")
@takes(Reroute)
@gives(RerouteAnswer)
def rerouted(body: Reroute) -> dict[str, Any]:
    """Channels that end at what was moved, or that it would hit, laid again around it; for a drag, so quickly."""
    from sketcher.proposing.rerouting import reroute

    until = time.monotonic() + _REROUTE_S
    return reroute(body.document, frozenset(body.moved), lambda: time.monotonic() > until).as_json()


@blueprint.post("/ports")
@takes(PortsWanted)
@gives(PortsAnswer)
def ports(body: PortsWanted) -> dict[str, Any]:
    """The document with every port brought under its tube, turned or moved off what is in the way by least."""
    from sketcher.proposing.port_places import ports_under_tubes

    done = ports_under_tubes(body.document, add=body.add)
    return {"document": to_plain(done.document), **done.as_json()}


@blueprint.post("/orders")
@takes(OneDocument)
@gives(DeviceOrders)
def orders(body: OneDocument) -> dict[str, Any]:
    """Orders of the devices that make plate and tubes simplest, with what each costs in °C."""
    from sketcher.proposing.device_orders import device_orders

    return {"orders": [order.as_json() for order in device_orders(body.document)]}


@blueprint.post("/smallest-plate")
@takes(SmallestPlateWanted)
@gives(SmallestPlate)
def smallest_plate(body: SmallestPlateWanted) -> dict[str, Any]:
    """The document with the smallest plate that holds what is cut into it, lid screws placed again."""
    from sketcher.proposing.outline import smallest_outline

    until = time.monotonic() + _OUTLINE_S
    found = smallest_outline(body.document, lambda: time.monotonic() > until, shape=body.shape, clear_mm=body.clear_mm)
    return {"document": to_plain(found.document), **found.as_json()}


def _state(search: Search) -> dict[str, Any]:
    last = dict(search.last)
    last.pop("done", None)
    return {"state": search.state, "attempts": last.get("attempts", 0), "answer": last or None}


def _searches() -> Searches:
    searches: Searches = current_app.extensions["searches"]
    return searches
