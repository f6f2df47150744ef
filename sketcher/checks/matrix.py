"""What is held against what: every kind against every other, and against the plate's and the case's bounds.

A cell names the rules that ask, or says why nobody needs to. The table in ``docs/checks.md`` is made from it, and the
tests hold that no cell is empty and that every rule named has a case that makes it speak.
"""

from __future__ import annotations

#: What is cut into the plate or drawn on it.
CUT = ("port", "channel", "branch", "cutout", "pocket", "hole", "groove", "keep-out")
#: What stands in the case.
HARD = ("fitting", "screw head", "tube", "board", "device", "obstacle", "opening", "plate")
#: What bounds the plate and the case.
BOUNDS = ("edge", "far face", "joint", "case wall", "ceiling", "case floor")
KINDS = (*CUT, *HARD)

Cell = tuple[str, ...] | str
_cells: dict[tuple[str, str], Cell] = {}


def _key(one: str, other: str) -> tuple[str, str]:
    order = (*KINDS, *BOUNDS)
    return (one, other) if order.index(one) <= order.index(other) else (other, one)


def cell(one: str, other: str) -> Cell | None:
    """The rules that hold two kinds against each other, or the reason why none does; none for an empty cell."""
    return _cells.get(_key(one, other))


def _ask(one: str, others: str, *rules: str) -> None:
    for other in others.split(","):
        _cells[_key(one, other.strip())] = rules


def _why(ones: tuple[str, ...], others: tuple[str, ...], reason: str) -> None:
    for one in ones:
        for other in others:
            _cells[_key(one, other)] = reason


_INSIDE = "inside the plate, which is held against it as a whole"
_why(CUT, HARD, _INSIDE)
_why(CUT, ("plate",), "cut out of it")
for _recess in ("port", "cutout", "pocket", "hole"):
    _ask(_recess, "screw head", "head-face")
for _recess in ("cutout", "pocket"):
    _ask(_recess, "board, device", "plate-body")
    _ask(_recess, "obstacle", "plate-over-obstacle")
_why(CUT, ("case wall", "ceiling", "case floor"), _INSIDE)
_why(HARD, ("edge", "far face", "joint"), "stands outside the plate's material")
_why(("plate",), ("plate",), "there is one plate")
_ask("plate", "case wall", "plate-outside-floor")
_ask("plate", "ceiling", "above-ceiling")
_why(("plate",), ("case floor",), "its height above the floor is never negative; what hangs below it is held")
_why(("branch",), CUT, "the ends of channels, which have their walls")
_why(("branch",), ("edge", "far face", "joint"), "the ends of channels, which have their walls")
_why(("keep-out",), ("edge", "far face", "joint", "groove", "keep-out", "branch"), "an area on the drawing, no thing")
_why(("keep-out",), ("tube", "board", "device", "obstacle", "opening", "case wall", "ceiling", "case floor"),
     "an area of the plate, for what is cut into it or screwed onto it")  # fmt: skip
_ask("keep-out", "fitting, screw head", "keep-out-entered")
_why(("opening",), (*HARD, *BOUNDS), "a hole in the case floor, as it was measured")
_ask("pocket", "opening", "cable-open")
_why(("obstacle",), ("obstacle", "case wall", "ceiling", "case floor"), "as it was measured in the case")

_ask("port", "port", "wall-port-port", "same-place")
_ask("port", "channel", "wall-channel-port", "bore-meets", "bore-through", "port-opening", "thread-reaches-channel")
_ask("port", "cutout", "wall-port-cutout")
_ask("port", "pocket", "wall-port-pocket")
_ask("port", "hole", "wall-port-hole")
_ask("port", "groove", "seal-under")
_ask("port", "keep-out", "keep-out-entered")
_ask("port", "edge", "wall-port-edge", "outside-plate")
_ask("port", "far face", "depth-under-thread", "bore-through", "edge-port-thickness")
_ask("port", "joint", "thread-in-lid", "edge-port-thickness")
_ask("port", "fitting", "fitting-face")
_ask("channel", "channel", "wall-channel-channel", "wall-channel-itself")
_ask("channel", "cutout", "wall-channel-cutout")
_ask("channel", "pocket", "wall-channel-pocket", "sheet-thickness", "web-stress")
_ask("channel", "hole", "wall-channel-hole")
_ask("channel", "groove", "seal-wall")
_ask("channel", "keep-out", "keep-out-entered")
_ask("channel", "edge", "wall-channel-edge", "outside-plate")
_ask("channel", "far face", "depth-under-channel")
_why(("channel",), ("joint",), "open towards the lid by design")
_ask("branch", "branch", "same-place")
_ask("cutout", "cutout", "wall-cutout-cutout", "same-place")
_ask("cutout", "pocket", "wall-cutout-pocket", "cable-open", "cable-wall")
_ask("cutout", "hole", "wall-cutout-hole")
_ask("cutout", "groove", "seal-wall")
_ask("cutout", "keep-out", "keep-out-entered")
_ask("cutout", "edge", "wall-cutout-edge", "outside-plate")
_why(("cutout",), ("far face", "joint"), "goes through by design")
_ask("cutout", "fitting", "fitting-face")
_ask("pocket", "pocket", "wall-pocket-pocket", "same-place", "cable-open", "cable-wall")
_ask("pocket", "hole", "wall-pocket-hole")
_ask("pocket", "groove", "seal-under", "web-stress", "web-squeeze")
_ask("pocket", "keep-out", "keep-out-entered")
_ask("pocket", "edge", "wall-pocket-edge", "outside-plate", "cable-open", "cable-wall")
_ask("pocket", "far face", "depth-under-pocket")
_ask("pocket", "joint", "depth-under-pocket", "web-stress")
_ask("pocket", "fitting", "fitting-face")
_ask("hole", "hole", "wall-hole-hole", "same-place")
_ask("hole", "groove", "seal-wall")
_ask("hole", "keep-out", "keep-out-entered")
_ask("hole", "edge", "wall-hole-edge", "outside-plate", "screw-edge")
_ask("hole", "far face, joint", "depth-under-hole", "depth-under-head")
_ask("hole", "fitting", "fitting-face")
_ask("groove", "groove, edge", "seal-wall")
_ask("groove", "far face", "seal-impossible", "sheet-thickness")
_why(("groove",), ("joint",), "open towards the lid by design")
_ask("fitting", "fitting", "fittings-touch", "spanner-room")
_ask("fitting", "screw head", "screw-head", "head-blocked")
_ask("fitting", "tube", "tube-clearance", "tube-blocked")
_ask("fitting", "board, device", "height-above", "fitting-blocked", "spanner-room")
_ask("fitting", "obstacle", "height-above", "fitting-blocked", "spanner-room", "hangs-below")
_ask("fitting", "edge", "fitting-face")
_why(("fitting",), ("far face",), "screwed on from outside")
_ask("fitting", "joint", "fitting-face")
_ask("fitting", "plate", "fitting-blocked")
_ask("fitting", "case wall", "fitting-blocked", "spanner-room")
_ask("fitting", "ceiling", "height-above")
_ask("fitting", "case floor", "hangs-below")
_ask("screw head", "screw head", "head-blocked")
_ask("screw head", "tube", "tube-clearance", "tube-blocked")
_ask("screw head", "board, device", "head-blocked")
_ask("screw head", "obstacle", "head-blocked", "hangs-below")
_ask("screw head", "case floor", "hangs-below")
_why(("screw head",), ("plate",), "screwed onto it")
_ask("screw head", "case wall", "outside-case")
_ask("screw head", "ceiling", "above-ceiling")
_ask("screw head", "edge", "head-face")
_ask("tube", "tube, board, device, obstacle", "tube-blocked", "tube-clearance")
_ask("tube", "plate, case wall, ceiling, case floor", "tube-clearance")
_ask("board", "board, device", "bodies-overlap")
_ask("device", "device", "bodies-overlap")
_ask("board", "obstacle", "body-obstacle")
_ask("device", "obstacle", "body-obstacle")
_ask("board", "plate", "plate-body")
_ask("device", "plate", "plate-body")
_ask("obstacle", "plate", "plate-over-obstacle")
_why(("opening",), ("plate",), "a hole in the case floor, as it was measured")
for _screwed in ("hole", "board", "device"):
    _ask(_screwed, "opening", "mount-opening")
for _body in ("board", "device"):
    _ask(_body, "case wall", "outside-case")
    _ask(_body, "ceiling", "above-ceiling")
    _ask(_body, "case floor", "through-floor")


def table() -> str:
    """The matrix as Markdown: one row for each kind and what it is held against."""
    head = "| kind | against | asked by, or why not |\n| --- | --- | --- |\n"
    rows = []
    for kind in KINDS:
        by_cell: dict[Cell | None, list[str]] = {}
        for other in (*KINDS, *BOUNDS):
            by_cell.setdefault(cell(kind, other), []).append(other)
        for found, others in by_cell.items():
            said = ", ".join(f"`{rule}`" for rule in found) if isinstance(found, tuple) else f"*{found}*"
            rows.append(f"| {kind} | {', '.join(others)} | {said} |")
    return head + "\n".join(rows)
