"""What ``propose`` answers, as plain data and in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import shapely
from shapely import LineString

from sketcher.document import Document, to_plain
from sketcher.findings import findings_json
from sketcher.geometry import build
from sketcher.proposing.found import Found
from sketcher.proposing.judging import numbers
from sketcher.proposing.plate_changes import plate_changes
from sketcher.proposing.ranking import Proposal

#: A place this near to what was drawn is where it was, mm.
_SAME_MM = 1.0


def as_json(found: Found, document: Document, *, documents: bool = False) -> dict[str, Any]:
    """The answer with the keys of ``propose --json``: the best proposal's figures, and all of them side by side.

    Args:
        found: what the search found.
        document: the plate that was asked about.
        documents: whether each alternative carries its whole document.
    """
    best = found.best
    if best is None:
        raise ValueError("a search that made no attempt has no answer")
    best_at = _best_at(found.proposals, document)

    def rows(proposals: Sequence[Proposal]) -> list[dict[str, Any]]:
        return [
            {
                **_figures(one, document),
                "style": one.style,
                "look": one.look,
                "best_at": best_at[id(one)],
                "good": one.judged.good,
                **({"document": to_plain(one.document)} if documents else {}),
            }
            for one in proposals
        ]

    return {
        **_figures(best, document),
        "unconnected": [
            {
                "ports": list(one.ports),
                "why": one.why,
                "move": one.move and {"item": one.move.item, "dx_mm": one.move.dx_mm, "dy_mm": one.move.dy_mm},
            }
            for one in found.stuck
        ],
        "attempts": found.attempts,
        "late": found.late,
        "seconds": round(found.seconds, 2),
        "passes": best.passes,
        "alternatives": rows(found.passing),
        "drafts": rows(found.drafts),
        "failures": [] if found.passing else list(_failures(found, best)),
        "short": list(found.short),
        "few": found.few,
        "tried": [{"words": one.words, "left": one.left} for one in found.tried],
    }


def _failures(found: Found, best: Proposal) -> Iterator[dict[str, Any]]:
    """The errors of the best draft; of a connection without a way the reason stands beside it already."""
    stuck = {id_ for one in found.stuck for id_ in one.ports}
    own = {(error.rule, error.items) for error in best.judged.own_errors}
    told: set[str] = set()
    for error in best.judged.errors:
        if error.message in told:
            continue  # a grouped finding tells of all its items
        if error.rule in ("connection-open", "port-unreached") and stuck.issuperset(error.items):
            continue
        told.add(error.message)
        yield {
            "rule": error.rule,
            "items": list(error.items),
            "message": error.message,
            "remedy": error.remedy,
            "stood_before": (error.rule, error.items) not in own,
        }


def _figures(one: Proposal, document: Document) -> dict[str, Any]:
    new = frozenset(channel.id for channel in one.document.channels) - {channel.id for channel in document.channels}
    figures = numbers(one.document, only=new)
    screws = sum(hole.use == "lid" for hole in one.document.holes)
    open_ports = {id_ for ports in one.judged.unconnected for id_ in ports}
    return {
        "connected": [list(ports) for ports in document.loop.connections if not set(ports) & open_ports],
        "channels": sorted(new, key=lambda id_: (len(id_), id_)),
        "width_mm": one.section.width_mm,
        "depth_mm": one.section.depth_mm,
        "loss_kpa": round(figures.loss_kpa, 4),
        "least_loss_kpa": round(figures.straight_loss_kpa, 4),
        "flow_l_min": figures.flow_l_min,
        "length_mm": round(figures.length_mm, 2),
        "bends": figures.bends,
        "milling_mm3": round(figures.milling_mm3, 1),
        "tidiness": figures.tidiness.whole,
        "parallel": round(figures.tidiness.parallel, 3),
        "along_edges": round(figures.tidiness.edges, 3),
        "mirrored": round(figures.tidiness.mirrored, 3),
        "changed_mm": round(_changed_mm(one.document, document), 1),
        "screw": one.document.seal.screw if screws else "",
        "lid_screws": screws,
        "changes": [change.as_json() for change in plate_changes(one.document, document)],
        "counts": findings_json(one.judged.findings)["counts"],
    }


def _changed_mm(new: Document, old: Document) -> float:
    """Length of channels that lies where none was drawn before, mm."""
    lines = [
        shapely.union_all([LineString(c.path.points(0.1)) for c in build(one).channels.values() if c.path.segments])
        for one in (new, old)
    ]
    return float(shapely.difference(lines[0], shapely.buffer(lines[1], _SAME_MM)).length)


def _best_at(proposals: Sequence[Proposal], document: Document) -> dict[int, list[str]]:
    """What each proposal is better at than all others, in words; where two are as good, the one that stands first."""
    good = [one for one in proposals if one.judged.good]
    found: dict[int, list[str]] = {id(one): [] for one in proposals}
    if len(good) < 2:
        return found
    drawn = len(document.channels) > 0
    kinds: list[tuple[str, Callable[[Proposal], float]]] = [
        ("lowest loss", lambda one: one.judged.numbers.loss_kpa),
        ("shortest milling", lambda one: one.judged.numbers.milling_mm3),
        ("fewest bends", lambda one: one.judged.numbers.bends),
        ("tidiest", lambda one: -one.judged.numbers.tidiness.whole),
        *([("least change", lambda one: _changed_mm(one.document, document))] if drawn else []),
    ]
    for words, figure in kinds:
        figures = [figure(one) for one in good]
        if max(figures) - min(figures) > 1e-3 * max(1.0, abs(max(figures))):
            found[id(good[figures.index(min(figures))])].append(words)
    return found


def in_words(answer: dict[str, Any]) -> Iterator[str]:
    """The answer in lines for a person."""
    joined, open_ = len(answer["connected"]), len(answer["unconnected"])
    if not joined + open_:
        yield "Nothing is to be joined: loop.connections names no ports."
    if not answer["passes"]:
        yield "Nothing found that passes every rule. This is a draft:"
    yield f"{joined} of {joined + open_} connections joined by {len(answer['channels'])} new channels"
    if answer["channels"]:
        yield (
            f"  {answer['width_mm']:g} mm wide, {answer['depth_mm']:g} mm deep; {answer['length_mm']:.0f} mm long with "
            f"{answer['bends']} bends; {answer['loss_kpa']:.2f} kPa at {answer['flow_l_min']:g} l/min "
            f"(straight lines between the ports: {answer['least_loss_kpa']:.2f} kPa)"
        )
        yield (
            f"  looks: {100 * answer['parallel']:.0f} % parallel at an even spacing, "
            f"{100 * answer['along_edges']:.0f} % along edges, {100 * answer['mirrored']:.0f} % mirrored"
        )
        if answer["lid_screws"]:
            yield f"  lid screws: {answer['lid_screws']} × {answer['screw']}"
    if answer["changes"]:
        yield f"  beside channels and lid screws it changes: {_changed_words(answer)}"
    if answer["late"]:
        yield "  This machine was too slow for the whole search: with more seconds it may find better."
    for one in answer["unconnected"]:
        yield f"  not joined: {', '.join(one['ports'])}. {one['why']}"
        move = one["move"]
        if move:
            yield f"    Move {move['item']} by {move['dx_mm']:g}, {move['dy_mm']:g} mm and it fits."
    for one in answer["failures"]:
        before = " (this stood before any channel was proposed)" if one["stood_before"] else ""
        yield f"  {one['rule']}: {one['message']}{before} {one['remedy']}"
    if answer["few"]:
        yield f"  {answer['few']}"
    yield from (f"  too little room: {words}" for words in answer["short"])
    for one in answer["tried"]:
        yield f"  tried without success: {one['words']}. {one['left']}"
    counts = answer["counts"]
    yield ", ".join(f"{count} {level}{'' if count == 1 else 's'}" for level, count in counts.items())
    kind = "alternative" if answer["passes"] else "draft"
    for number, other in enumerate([*answer["alternatives"], *answer["drafts"]][1:], start=2):
        yield (
            f"  {kind} {number}: {other['style']}, {other['width_mm']:g} mm wide, {other['loss_kpa']:.2f} kPa, "
            f"{other['length_mm']:.0f} mm, {other['bends']} bends, tidiness {other['tidiness']:.2f}"
            + (f" ({', '.join(other['best_at'])})" if other["best_at"] else "")
            + (f"; it changes: {_changed_words(other)}" if other["changes"] else "")
        )


def _changed_words(row: dict[str, Any]) -> str:
    return "; ".join(change["words"] for change in row["changes"])
