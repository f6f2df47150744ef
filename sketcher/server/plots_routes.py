"""Plots of the loop as SVG: pump and loop, and the chosen channel's loss against its width and depth."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from sketcher.document import items
from sketcher.document.plate import Channel
from sketcher.drawing.plots import Plot, channel_plots, plot_svg, pump_and_loop
from sketcher.flow import solve_loop
from sketcher.flow.builder_questions import channel_study, further
from sketcher.geometry import build
from sketcher.server.answers import LoopAnswers
from sketcher.server.contract import gives, takes
from sketcher.server.request_models import Answers

blueprint = Blueprint("plots", __name__, url_prefix="/api")


@blueprint.post("/answers")
@takes(Answers)
@gives(LoopAnswers)
def answers(body: Answers) -> dict[str, Any]:
    """What takes a few solutions more: loop orders, half speed, what widening buys, and plots; `channel` names one."""
    document = body.document
    result = solve_loop(document, build(document))
    found = further(result)
    drawn: list[Plot] = []
    if found["curves"] is not None:
        drawn.append(pump_and_loop(found["curves"], result.as_json()["operating_point"]))
    if result.flows and isinstance(items(document).get(body.channel), Channel):
        drawn += channel_plots(channel_study(result, body.channel))
    plots = [
        {"title": plot.title, "words": plot.now_words, "svg": plot_svg(plot, alone=False), "file": plot_svg(plot)}
        for plot in drawn
    ]
    return {**found, "plots": plots}
