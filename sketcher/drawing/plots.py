"""Small plots as SVG: lines over axes with round numbers, and the point that the plate is at.

Colours come from the page's classes or, for a plot that stands alone, from Okabe and Ito's palette; each line also has
a dash and a word of its own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import svgwrite

from sketcher.drawing import marks
from sketcher.reference.colours import colour

Series = Sequence[Sequence[float]]

WIDTH, HEIGHT = 320.0, 210.0
LEFT, RIGHT, TOP, FOOT = 46.0, 12.0, 26.0, 38.0
#: Lines by number: the palette's colour and the dash.
LINES = (("blue", ""), ("vermillion", "6 3"), ("bluish green", "2 2"))


@dataclass(frozen=True)
class Line:
    """A line of a plot: its name and its points, in the axes' units."""

    name: str
    points: Series


@dataclass(frozen=True)
class Plot:
    """What is plotted: a title, the axes' words with their units, the lines, and the point it is at now."""

    title: str
    x: str
    y: str
    lines: tuple[Line, ...]
    now: tuple[float, float] | None = None
    now_words: str = ""


def pump_and_loop(curves: Mapping[str, Any], point: Mapping[str, float]) -> Plot:
    """The pump's curve and the loop's, meeting at the operating point."""
    at = (float(point["flow_l_min"]), float(point["pump_pressure_kpa"]))
    lines = (Line("pump", curves["pump"]), Line("loop", curves["loop"]))
    return Plot("Pump and loop", "flow, l/min", "pressure, kPa", lines, at, f"{at[0]:.2f} l/min, {at[1]:.1f} kPa")


def channel_plots(study: Mapping[str, Any]) -> list[Plot]:
    """Loss of one channel against its width and against its depth, at the loop's present flow."""
    found = []
    for key in ("width", "depth"):
        part = study[key]
        now = (float(part["now"][0]), float(part["now"][1]))
        slope = part.get("kpa_per_mm")
        words = f"{now[1]:.2f} kPa at {now[0]:g} mm" + ("" if slope is None else f", {slope:+.2f} kPa/mm")
        title = f"{study['id']}: loss against {key}"
        found.append(Plot(title, f"{key}, mm", "loss, kPa", (Line("loss", part["points"]),), now, words))
    return found


def plot_svg(plot: Plot, alone: bool = True) -> str:
    """The plot as SVG; one that stands alone carries its colours."""
    xs = [float(point[0]) for line in plot.lines for point in line.points] + ([plot.now[0]] if plot.now else [])
    ys = [float(point[1]) for line in plot.lines for point in line.points] + ([plot.now[1]] if plot.now else [])
    x_ticks, y_ticks = ticks(min([0.0, *xs]), max(xs, default=1.0)), ticks(0.0, max(ys, default=1.0))
    drawing = svgwrite.Drawing(debug=False, size=(f"{WIDTH:g}", f"{HEIGHT:g}"), viewBox=f"0 0 {WIDTH:g} {HEIGHT:g}")
    drawing.set_desc(title=plot.title, desc=plot.now_words)
    if alone:
        drawing.defs.add(drawing.style(style_sheet()))

    def place(x: float, y: float) -> tuple[float, float]:
        u = (x - x_ticks[0]) / (x_ticks[-1] - x_ticks[0])
        v = (y - y_ticks[0]) / (y_ticks[-1] - y_ticks[0])
        return (LEFT + u * (WIDTH - LEFT - RIGHT), HEIGHT - FOOT - v * (HEIGHT - TOP - FOOT))

    root = drawing.g(class_="plot-root")
    for x in x_ticks:
        root.add(_line(drawing, place(x, y_ticks[0]), place(x, y_ticks[-1]), "grid-rule"))
        root.add(_text(drawing, f"{x:g}", (place(x, 0)[0], HEIGHT - FOOT + 14), "step middle"))
    for y in y_ticks:
        root.add(_line(drawing, place(x_ticks[0], y), place(x_ticks[-1], y), "grid-rule"))
        root.add(_text(drawing, f"{y:g}", (LEFT - 6, place(0, y)[1] + 4), "step end"))
    root.add(_text(drawing, plot.x, ((LEFT + WIDTH - RIGHT) / 2, HEIGHT - 6), "axis middle"))
    root.add(_text(drawing, plot.y, (4, TOP - 13), "axis"))
    for number, line in enumerate(plot.lines):
        points = [place(float(x), float(y)) for x, y in line.points]
        data = "M" + "L".join(f"{marks.number(x)} {marks.number(y)}" for x, y in points) if points else ""
        root.add(drawing.path(d=data, class_=f"curve curve-{number}"))
        if points and len(plot.lines) > 1:
            at = points[len(points) * (2 + number) // 5]
            root.add(_text(drawing, line.name, (at[0] + 5, at[1] - 5), f"curve-word curve-word-{number}"))
    if plot.now is not None:
        x, y = place(*plot.now)
        root.add(drawing.circle(center=(marks.number(x), marks.number(y)), r=4, class_="now-point"))
        root.add(_text(drawing, plot.now_words, (WIDTH - RIGHT - 4, TOP + 12), "now-word end"))
    drawing.add(root)
    return str(drawing.tostring())


def ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Round numbers from at most ``low`` to at least ``high``: steps of 1, 2 or 5 times a power of ten."""
    reach = max(high - low, 1e-9)
    raw = reach / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(times * power for times in (1, 2, 5, 10) if times * power >= raw * (1 - 1e-9))
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(n * step, 12) + 0.0 for n in range(first, max(last, first + 1) + 1)]


def _line(drawing: svgwrite.Drawing, a: tuple[float, float], b: tuple[float, float], class_: str) -> Any:
    ends = [tuple(marks.number(value) for value in place) for place in (a, b)]
    return drawing.line(start=ends[0], end=ends[1], class_=class_)


def _text(drawing: svgwrite.Drawing, words: str, at: tuple[float, float], class_: str) -> Any:
    return drawing.text(words, insert=(marks.number(at[0]), marks.number(at[1])), class_=class_)


def style_sheet() -> str:
    """CSS for a plot that stands alone."""
    curves = "".join(
        f".curve-{n} {{ stroke: {colour(name)}; stroke-dasharray: {dash or 'none'}; }} "
        f".curve-word-{n} {{ fill: {colour(name)}; }}\n"
        for n, (name, dash) in enumerate(LINES)
    )
    return f"""
text {{ font: 11px "Liberation Sans", Arial, sans-serif; fill: #1f2a30; }}
.middle {{ text-anchor: middle; }} .end {{ text-anchor: end; }}
.grid-rule {{ stroke: #d8d8d2; }} .curve {{ fill: none; stroke-width: 2; }}
.now-point {{ fill: #1f2a30; }} .now-word {{ font-weight: bold; }}
{curves}""".strip()
