"""Why a connection finds no way, and the smallest move of one item that gives it one, tried out before it is named."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document, items
from sketcher.document.joined import open_connections
from sketcher.findings import mm, natural
from sketcher.proposing.attempt import Table
from sketcher.proposing.budget import ALL_RULES_S, PER_EDGE_S, SCREWS_S, Budget
from sketcher.proposing.certain import SAME_MM, Certain
from sketcher.proposing.item_moves import Move, least, movable, moved_item, real_errors, stands
from sketcher.proposing.judging import judge
from sketcher.proposing.lattice import Floats
from sketcher.proposing.narrow_gaps import narrow_gap
from sketcher.proposing.negotiation import Net, Prices, lay
from sketcher.proposing.rule_distances import MARGIN_MM
from sketcher.proposing.writing import with_screws

#: What a way through an obstacle costs beyond the open ground, in lengths: so it crosses as few as it can.
_THROUGH = 20.0
#: Moves are tried in these steps up to the farthest, mm.
_STEP_MM, _FARTHEST_MM = 2.0, 40.0
_DIRECTIONS = tuple((math.cos(k * math.pi / 4), math.sin(k * math.pi / 4)) for k in range(8))
#: A port lies at a piece of open ground when it is so near, mm.
_AT_MM = 3.0
#: What looking at a move costs before it is tried, s.
_MOVE_S = 0.002


@dataclass(frozen=True)
class Stuck:
    """A connection without a way: its ports, why, and the move that gives it one, when one was found."""

    ports: tuple[str, ...]
    why: str
    move: Move | None


def explain(
    table: Table,
    ports: tuple[str, ...],
    prices: Prices,
    budget: Budget,
    *,
    laid: Document | None = None,
    broken: str = "",
    sure: Certain | None = None,
) -> Stuck:
    """What stands between a connection's ports, and the least move that frees it.

    Args:
        table: the plate with the section that was tried; its other connections count as they can be laid.
        ports: of the connection that found no way.
        prices: of turns.
        budget: what the trials may take.
        laid: the plate with what else was laid, which may be what leaves no way.
        broken: what the rules said of the channel that was tried, when they did.
        sure: what was known of it before any search.
    """
    document = table.document
    net = next(net for net in table.nets if set(net.ports) & set(ports))
    crossing = sure.crossing if sure is not None else None
    gap = None
    if sure is not None and crossing is not None:
        why, candidates = sure.why, [*crossing.ports]
    elif laid is not None and (gap := narrow_gap(table, net, prices, laid)) is not None:
        why, candidates = gap.why, [id_ for id_ in gap.sides if id_]
    else:
        why, candidates = _reason(table, net, prices, laid, broken)
    known = items(document)
    free = [id_ for id_ in candidates if not known[id_].locked and movable(document, id_)]
    if gap is not None and (locked := [id_ for id_ in candidates if known[id_].locked]):
        why += f" {_are(locked)} locked."
    moves = _moves(table, net, free) if gap is None else (Move(*one) for one in gap.moves(set(free)))
    joined = {frozenset(c) for c in document.loop.connections} - {
        frozenset(id_ for part in parts for id_ in part) for parts in open_connections(laid or document)
    }
    errors: list[int] = []

    def frees(move: Move) -> Move | None:
        moved = moved_item(document, move)
        if moved is None or not stands(moved, move.item, budget):
            return None
        if not errors:
            errors.append(len(real_errors(judge(_screwed(document, table, budget)))))
        held = joined if gap is not None else set()
        return move if _frees(table, net, moved, move, prices, errors[0], held, budget) else None

    for move in moves:
        budget.spend(_MOVE_S)
        if not budget.left():
            break
        if crossing is not None and crossing.stays(move.item, move.dx_mm, move.dy_mm):
            continue
        if frees(move) is not None:
            # A coarse step found it: less of it may do.
            return Stuck(ports, why, _shortened(move, frees, budget))
    return Stuck(ports, why, None)


def _shortened(move: Move, frees: Callable[[Move], Move | None], budget: Budget) -> Move:
    """The least of a move in its direction that still frees the connection."""
    return least(move.far_mm, move, lambda far_mm: frees(move.as_far_as(far_mm)), budget.left)[1]


def _listed(words: Sequence[str]) -> str:
    """Words one after another: "A", "A and B", "A, B and C"; ids in the order of their numbers."""
    *before, last = sorted(words, key=natural)
    return f"{', '.join(before)} and {last}" if before else last


def _are(ids: list[str]) -> str:
    return f"{_listed(ids)} {'is' if len(ids) == 1 else 'are'}"


def _screwed(document: Document, table: Table, budget: Budget) -> Document:
    """With lid screws of its own thread only: what is asked is whether the move makes it worse, time and again."""
    budget.spend(SCREWS_S + ALL_RULES_S)
    return with_screws(document, table.limits, document)


def _reason(table: Table, net: Net, prices: Prices, laid: Document | None, broken: str) -> tuple[str, list[str]]:
    """Why a net has no way, in words, and the items of which one may have to move, the likeliest first."""
    way = f"from {net.ports[0]} to {_listed(net.ports[1:])}"
    ports = [id_ for id_ in net.ends if id_ in table.shapes.ports]
    if same := _same_place(table, net):
        return f"{same[0]} and {same[1]} are in the same place: there is nothing to draw between them.", [*same]
    plate = table.shapes.plate_polygon
    if outside := [id_ for id_ in ports if not shapely.intersects_xy(plate, *table.roots[id_])]:
        verb = "lies" if len(outside) == 1 else "lie"
        return f"{_listed(outside)} {verb} outside the plate.", outside
    blocking = _blocking(table, net, prices)
    if blocking is None:
        why = _too_small(table, way)
        return why, sorted(
            ports, key=lambda id_: -shapely.distance(table.tight.inside, shapely.Point(table.roots[id_]))
        )
    if blocking:
        verb = "stands" if len(blocking) == 1 else "stand"
        why = f"{_listed(blocking)} {verb} in the way {way}."
        known = items(table.document)
        if locked := [id_ for id_ in blocking if known[id_].locked]:
            why += f" {_are(locked)} locked."
        return why, list(dict.fromkeys([*blocking, *_beside(table, blocking), *net.ports]))
    if laid is not None and (others := _crossed(table, net, prices, laid)):
        names = [f"from {one} to {other}" for one, other in others]
        verb = "leaves" if len(names) == 1 else "leave"
        why = f"The channel{'s' if len(names) > 1 else ''} {_listed(names)} {verb} no way {way}: they would cross."
        return why, [*ports, *(id_ for pair in others for id_ in pair if id_ in table.shapes.ports)]
    if broken:
        return f"The way found {way} breaks a rule: {broken}", ports
    return f"The other channels leave no way {way}.", ports


def _too_small(table: Table, way: str) -> str:
    """What a plate would have to measure, where it is too narrow for one channel between its own edges."""
    left, front, right, rear = table.shapes.plate_polygon.bounds
    narrow = min(right - left, rear - front)
    edge, width = table.tight.edge_mm, table.section.width_mm
    needed = width + 2 * (edge + MARGIN_MM)
    if needed <= narrow:
        return f"The plate is too small here: no way {way} keeps {mm(edge)} from the plate's edge."
    larger = math.ceil(2 * (needed - narrow) + 0.2) / 2
    return (
        f"The plate is too small: a channel {mm(width)} wide that keeps {mm(edge)} from the edge on either side needs "
        f"{mm(needed)}, and the plate measures {mm(narrow)}. Make it {mm(larger)} larger."
    )


def _same_place(table: Table, net: Net) -> tuple[str, str] | None:
    """Two ends of different parts that are in one place."""
    for one, other in combinations(net.parts, 2):
        for a in one:
            for b in other:
                if math.dist(table.roots[a], table.roots[b]) < SAME_MM:
                    return a, b
    return None


def _crossed(table: Table, net: Net, prices: Prices, laid: Document) -> list[tuple[str, str]]:
    """The ends of the channels, among those that were laid, that leave the net no way."""
    then = Table(laid, table.limits, table.section, table.style)
    again = next((one for one in then.nets if set(one.ports) & set(net.ports)), None)
    before = {channel.id for channel in table.document.channels}
    new = {c.id: (c.start, c.end) for c in laid.channels if c.id not in before}
    blocking = _blocking(then, again, prices) if again is not None else None
    ends = [new[id_] for id_ in blocking or () if id_ in new]
    return [(one, other) for one, other in ends if one is not None and other is not None]


def _moves(table: Table, net: Net, free: list[str]) -> Iterator[Move]:
    """Moves of one item, the least first, after which the ports lie in one piece of open ground."""
    ground = {id_: _without(table, net, id_) for id_ in free}
    radii = {port.id: port.fitting_diameter_mm / 2 for port in table.document.ports}
    for distance in np.arange(_STEP_MM, _FARTHEST_MM + 1e-9, _STEP_MM):
        for item in free:
            for dx, dy in _DIRECTIONS:
                move = Move(item, round(float(distance) * dx, 1), round(float(distance) * dy, 1))
                others, own, pieces = ground[item]
                if item in radii and _on_a_fitting(table, move, radii):
                    continue
                if not own.is_empty:
                    rest = shapely.difference(others, affinity.translate(own, move.dx_mm, move.dy_mm))
                    pieces = shapely.get_parts(rest).tolist()
                places = [
                    shapely.Point(x + move.dx_mm, y + move.dy_mm) if id_ == item else shapely.Point(x, y)
                    for id_ in net.ports
                    for x, y in [table.roots[id_]]
                ]
                if any(all(shapely.dwithin(piece, place, _AT_MM) for place in places) for piece in pieces):
                    yield move
    for item in free:
        if item in net.own and item in radii:
            yield from _inwards(table, net, item)


def _inwards(table: Table, net: Net, item: str) -> Iterator[Move]:
    """A port far outside the open ground moved straight into it, as far as the nearest place and a little further."""
    ground = table.tight.free(frozenset(net.own), net.beside)
    place = shapely.Point(table.roots[item])
    if ground.is_empty or shapely.distance(ground, place) <= _FARTHEST_MM - _STEP_MM:
        return
    (x0, y0), (x1, y1) = shapely.shortest_line(place, ground).coords
    far = math.dist((x0, y0), (x1, y1))
    for more in (0.0, 2.0, 4.0, 8.0, 16.0):
        share = math.ceil(far + more) / far
        yield Move(item, round(share * (x1 - x0), 1), round(share * (y1 - y0), 1))


def _on_a_fitting(table: Table, move: Move, radii: Mapping[str, float]) -> bool:
    """Whether a moved port's fitting would stand on another's: the rules would say so, and take longer."""
    x, y = table.roots[move.item]
    there = (x + move.dx_mm, y + move.dy_mm)
    return any(
        math.dist(there, table.roots[id_]) < radius + radii[move.item] - 1e-6
        for id_, radius in radii.items()
        if id_ != move.item
    )


def _without(table: Table, net: Net, item: str) -> tuple[BaseGeometry, BaseGeometry, list[BaseGeometry]]:
    """The open ground with one item away, what that item closes (a port of the net's own closes nothing), and the
    ground's pieces."""
    own = [
        area
        for obstacle, area in zip(table.tight.obstacles, table.tight.grown, strict=True)
        if obstacle.id == item and item not in net.own
    ]
    ground = table.tight.free(frozenset((*net.own, item)), net.beside)
    return ground, shapely.union_all(own), shapely.get_parts(ground).tolist()


def _blocking(table: Table, net: Net, prices: Prices) -> list[str] | None:
    """The obstacles on the way that crosses fewest of them; none when only the plate's edge is in the way."""
    lattice, ground = table.lattice, table.ground
    open_ = ground.costs(net)
    all_ids = sorted(set(ground.closed_by))
    through = ground.costs(net, all_ids)
    shut = ~np.isfinite(open_) & np.isfinite(through)
    costs: Floats = np.where(shut, lattice.lengths * _THROUGH, through)
    laid = lay(lattice, net, costs, prices, {})
    if laid.missing:
        return None
    used = np.concatenate([lattice.edge_between(leg.nodes) for leg in laid.legs])
    crossed = used[shut[used]]
    return [id_ for id_ in all_ids if id_ not in net.own and np.isin(crossed, ground.closed_by[id_]).any()]


def _beside(table: Table, blocking: list[str]) -> list[str]:
    """Obstacles so near to those that block that no way leads between them."""
    named = list(zip(table.tight.obstacles, table.tight.grown, strict=True))
    shut = shapely.union_all([area for obstacle, area in named if obstacle.id in blocking])
    return [obstacle.id for obstacle, area in named if shapely.intersects(area, shut)]


def _frees(
    table: Table,
    net: Net,
    moved: Document,
    move: Move,
    prices: Prices,
    errors: int,
    joined: set[frozenset[str]],
    budget: Budget,
) -> bool:
    """Whether the connection finds a way once the item is moved, and so do those that were joined; the rules then find
    no more than before, and nothing about the item where it then is."""
    trial = Table(moved, table.limits, table.section, table.style)
    budget.spend(PER_EDGE_S * len(trial.lattice.tails))
    again = next((one for one in trial.nets if set(one.ports) & set(net.ports)), None)
    if again is None or lay(trial.lattice, again, trial.ground.costs(again), prices, trial.ground.closed_by).missing:
        return False
    attempt = trial.attempt(prices, 0, budget.nets(trial.lattice.steps, 1, look=False))
    if any(set(missing) & set(net.ports) or frozenset(missing) in joined for missing in attempt.missing):
        return False
    found = real_errors(judge(_screwed(attempt.document, table, budget)))
    return len(found) <= errors and not any(move.item in error.items for error in found)
