"""Colours and line styles of a drawing that stands alone, as a style sheet.

The page colours the same classes by its own sheet, light and dark. Colour never speaks alone: wet is filled solid, dry
is hatched, forbidden is hatched across, uncertain is dashed.
"""

from __future__ import annotations

from functools import cache

from sketcher.reference.colours import colour

#: What each of the four kinds of area is drawn in, by the palette's names.
MEANINGS = {"wet": "blue", "dry": "bluish green", "forbidden": "vermillion", "uncertain": "reddish purple"}

INK = "#1f2a30"
QUIET = "#7b8488"


@cache
def style_sheet() -> str:
    """CSS for the classes that ``drawing.plan`` and ``drawing.section`` use."""
    wet, dry, forbidden, uncertain = (colour(MEANINGS[name]) for name in MEANINGS)
    return f"""
text {{ font: 5px "Liberation Sans", Arial, sans-serif; fill: {INK}; stroke: none; }}
.middle {{ text-anchor: middle; dominant-baseline: central; }}
path, circle, line, ellipse {{ fill: none; stroke: {INK}; stroke-linejoin: round; }}
path:not([stroke-width]), circle, line, ellipse {{ stroke-width: .35; }}
.floor-outline {{ fill: #f4f3ee; stroke: {QUIET}; stroke-width: .6; }}
.plate-outline {{ fill: #ffffff; stroke: {INK}; stroke-width: .7; }}
.opening {{ stroke: {QUIET}; stroke-dasharray: 4 2; }}
.obstacle {{ fill: url(#hatch-forbidden); stroke: {forbidden}; }}
.keep-out {{ fill: url(#hatch-forbidden); stroke: {forbidden}; stroke-dasharray: 3 1.5; }}
.cutout, .pocket {{ fill: url(#hatch-dry); stroke: {dry}; }}
.pocket {{ stroke-dasharray: 3 1; }}
.bed {{ stroke: {wet}; stroke-linecap: round; opacity: .35; }}
.rim {{ stroke: {wet}; }}
.centreline {{ stroke: {wet}; stroke-dasharray: 6 1.5 1 1.5; stroke-width: .25; }}
.fitting {{ stroke: {QUIET}; stroke-dasharray: 1.5 1; }}
.thread {{ fill: #ffffff; stroke: {wet}; stroke-width: .5; }}
.bore {{ fill: {wet}; fill-opacity: .35; stroke: {wet}; }}
.hole {{ fill: #ffffff; }}
.cross, .thread-mark {{ stroke-width: .25; }}
.joint {{ stroke: {wet}; stroke-dasharray: 1.5 1; }}
.head {{ stroke-dasharray: 1.5 1; }}
.hardware, .foot {{ stroke: {QUIET}; stroke-dasharray: 5 2; }}
.extension, .dimension-line {{ stroke-width: .18; }}
.dimension-arrow {{ fill: {INK}; stroke: none; }} .dimension-hit {{ display: none; }}
.value {{ stroke: #ffffff; stroke-width: 1.2; paint-order: stroke; }}
.tube-line {{ stroke: {wet}; stroke-dasharray: 6 1.5 1 1.5; stroke-width: .25; }}
.device-port, .port-way, .drop {{ stroke: {QUIET}; }}
.room {{ opacity: .08; }}
.room-band {{ stroke: {INK}; stroke-linecap: round; stroke-linejoin: round; }}
.room-disc {{ fill: {INK}; stroke: none; }}
.groove {{ stroke: {INK}; opacity: .25; }}
.groove-line {{ stroke: {INK}; stroke-dasharray: 1 1; }}
.ellipse {{ stroke: {uncertain}; stroke-dasharray: 2 1; }}
.survey-point {{ stroke: {uncertain}; }}
.uncertain {{ stroke: {uncertain}; stroke-dasharray: 2 1; }}
.distance {{ stroke: {forbidden}; stroke-width: .5; }}
.arrow {{ fill: {wet}; stroke: none; }}
.hatch-line-dry {{ stroke: {dry}; stroke-width: .25; opacity: .5; }}
.hatch-line-forbidden {{ stroke: {forbidden}; stroke-width: .25; opacity: .4; }}
.height {{ display: none; }}
.name, .finding-mark {{ display: none; }}
.body {{ fill: #f4f3ee; }} .lid {{ fill: #e4e2d8; }}
.water {{ fill: {wet}; fill-opacity: .35; stroke: {wet}; }}
.air {{ fill: #ffffff; stroke: {dry}; }}
.thread-cut {{ fill: #ffffff; stroke: {wet}; stroke-dasharray: 1 .6; }}
.elevation .hardware, .elevation .fitting, .elevation .head {{ fill: #ffffff; stroke: {INK}; stroke-dasharray: none; }}
.elevation .sheet {{ fill: {QUIET}; }}
.elevation .obstacle {{ fill: #f4e3dc; }}
.case-wall, .case-ceiling {{ stroke: {QUIET}; stroke-width: .6; }}
.tube, .tube-end {{ fill: {wet}; fill-opacity: .2; }}
.joint-line {{ stroke-width: .25; }} .top-edge {{ display: none; }}
.corner {{ fill: #ffffff; stroke: {wet}; }}
.item[data-level="error"] > path {{ stroke: {forbidden}; }}
.elevation .finding-mark {{ display: inline; stroke: {forbidden}; stroke-width: 4; stroke-linecap: round; }}
.groove-cut {{ fill: #ffffff; stroke: {INK}; }}
""".strip()
