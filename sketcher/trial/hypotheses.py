"""What may be wrong with a tried test piece, every explanation weighed against every other.

An explanation says how the whole piece sits (right; shifted; shifted and turned; of another size as well) and which
ports are off besides: one by one, or a piece of ports that belong together, shifted or turned as one. Each is fitted
by least squares, and its evidence is worked out for flat priors (Laplace's approximation, exact for a linear model;
MacKay, *Information Theory, Inference, and Learning Algorithms*, chapter 28; from memory):

    -2 ln E = S + 2 sum(ln R) - p ln(2 pi) + ln det F - 2 ln(prior),   S = -2 ln sum(w exp(-(X2/f + d ln f)/2))

with X2 the weighted sum of squares, d the surplus readings, p parameters, R the range of each and F their information
matrix. f is the factor by which the readings' variance is smaller than stated: the stated spread is believed with the
weight ``STATED``, smaller ones share the rest. (Taking the best f for each explanation instead would let a few readings
that agree by chance make right ports stand out.) A parameter more must pay for itself; so two ports off alike, half of
a device's ports, and the whole shifted at once are told apart without an order in which ports are left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Whole = Literal["right", "shifted", "turned", "scaled"]
#: How the whole may sit, and how often it does [common practice, no source].
WHOLES: dict[Whole, float] = {"right": 0.60, "shifted": 0.25, "turned": 0.13, "scaled": 0.02}
#: How often a port, a piece, and a piece that is turned as well are off [common practice, no source].
ODDS = {"port": 0.1, "piece": 0.08, "turned piece": 0.004}
#: Range of an offset (mm), of a turn (radians) and of a change of size.
RANGE_MM, RANGE_TURN, RANGE_SCALE = 8.0, math.radians(6.0), 0.2
#: A piece that is turned farther than this does not lie right, radians.
MOST_TURN = math.radians(35.0)
#: A range is at least so many spreads wide: else a parameter more would cost nothing.
LEAST_RANGE = 20.0
#: Nobody reads better than this by hand, mm: how small the readings' own scatter is believed to be.
FINEST_MM = 0.1
#: How far the stated spread is believed, and the number of smaller ones that are tried [common practice, no source].
STATED, SMALLER = 0.8, 12
#: Explanations that are carried on with one block more, and the largest number of blocks.
BEAM, MOST_BLOCKS = 20, 8
#: Explanations of one size that are kept: the others have no chance that counts.
MOST_KEPT = 40
_SINGULAR = -18.0
#: A turn taken as small may be wrong by this at the farthest port, mm.
_SAME_MM = 0.01


@dataclass(frozen=True)
class RigidPiece:
    """Ports that belong together: the numbers of those in the table of places, two or more."""

    name: str
    ports: tuple[int, ...]


@dataclass(frozen=True)
class Block:
    """One thing that may be off: a port, or a piece as one. ``ports`` were read; ``members`` are all of the piece."""

    kind: Literal["port", "piece", "turned piece"]
    name: str
    ports: tuple[int, ...]
    members: tuple[int, ...]


@dataclass(frozen=True)
class Explanation:
    """How the whole sits and what is off besides; ``chance`` among all that were tried.

    ``movement`` (3,) is the whole's shift x, y (mm) and turn (radians) and ``scale`` its change of size;
    ``predicted`` (ports, 2) what each port should read, mm.
    """

    whole: Whole
    blocks: tuple[Block, ...]
    off: frozenset[int]
    chance: float
    score: float
    chi2: float
    degrees: int
    movement: Array
    scale: float
    predicted: Array


@dataclass(frozen=True)
class Table:
    """What was read: places (ports, 2) about their centre, readings (ports, 2), NaN where none, spreads (ports,)."""

    arm: Array
    measured: Array
    sigma: Array

    @property
    def read(self) -> NDArray[np.bool_]:
        """Which components were read, (ports, 2)."""
        known: NDArray[np.bool_] = np.isfinite(self.measured)
        return known


def explain(
    table: Table, pieces: Sequence[RigidPiece] = (), wholes: Iterable[Whole] = tuple(WHOLES)
) -> list[Explanation]:
    """Every explanation worth a word, the likeliest first; chances add up to 1 over all that were tried.

    The turn is taken as small about an angle that is found first, so that a piece that sits askew is judged rightly.

    Raises:
        ValueError: a piece cannot lie in any of the ways of ``wholes`` and read so: turned beyond what lies right, say.
    """
    wholes, blocks = tuple(wholes), _blocks(table, pieces)
    apart = np.array([[_apart(one, other) for other in blocks] for one in blocks], dtype=bool)
    found: list[_Tried] = []
    reach = float(np.abs(table.arm).max(initial=0.0))
    for whole in wholes:
        turn = 0.0
        tried = _search(table, blocks, apart, whole, turn)
        for _ in range(4 if whole in ("turned", "scaled") else 0):
            best = min(tried, key=lambda one: one.score)
            parameters, _ = _solved(table, blocks, best)
            step = float(parameters[2]) - turn
            turn = float(parameters[2])
            if step * step * reach < 2 * _SAME_MM:
                break
            tried = _search(table, blocks, apart, whole, turn)
        if whole not in ("turned", "scaled") or _believable(table, blocks, tried):
            found += tried
    if not found:
        raise ValueError(f"no piece that lies {' or '.join(wholes)} reads so; let it lie right or shifted too")
    found.sort(key=lambda one: one.score)
    weights = np.exp([-(one.score - found[0].score) / 2 for one in found])
    weights /= weights.sum()
    answers: list[Explanation] = []
    for one, weight in zip(found, weights, strict=True):
        if weight < 1e-4 and answers:
            break
        parameters, predicted = _solved(table, blocks, one)
        chosen = tuple(blocks[b] for b in one.blocks)
        off = frozenset(port for block in chosen for port in block.ports)
        answers.append(
            Explanation(
                one.whole,
                chosen,
                off,
                float(weight),
                one.score,
                one.chi2,
                one.degrees,
                parameters[:3],
                float(parameters[3]),
                predicted,
            )
        )
    return answers


def _believable(table: Table, blocks: Sequence[Block], tried: Sequence[_Tried]) -> bool:
    """Whether the best of these has a turn and a size that a piece laid in right can have."""
    best = min(tried, key=lambda one: one.score)
    if not math.isfinite(best.score):
        return False
    parameters, _ = _solved(table, blocks, best)
    farthest = MOST_TURN if best.whole == "turned" else RANGE_TURN
    return abs(float(parameters[2])) <= farthest and abs(float(parameters[3])) <= RANGE_SCALE / 2


@dataclass(frozen=True)
class _Tried:
    whole: Whole
    turn: float
    blocks: tuple[int, ...]
    score: float
    chi2: float
    degrees: int


def _blocks(table: Table, pieces: Sequence[RigidPiece]) -> list[Block]:
    read: NDArray[np.bool_] = np.asarray(table.read.any(axis=1))
    blocks = [Block("port", str(k), (int(k),), (int(k),)) for k in np.flatnonzero(read)]
    seen: set[tuple[int, ...]] = set()
    for piece in pieces:
        members = tuple(sorted(k for k in piece.ports if read[k]))
        if len(members) < 2 or members in seen:
            continue
        seen.add(members)
        blocks.append(Block("piece", piece.name, members, piece.ports))
        apart = table.arm[list(members)] - table.arm[list(members)].mean(axis=0)
        if float(np.abs(apart).max()) > 1.0 and int(table.read[list(members)].sum()) > 3:
            blocks.append(Block("turned piece", piece.name, members, piece.ports))
    return blocks


def _whole_columns(table: Table, whole: Whole, turn: float) -> tuple[Array, Array, list[float]]:
    """Columns of the whole's parameters (components, p), what the turn alone moves (components,), and ranges."""
    count = len(table.arm)
    c, s = math.cos(turn), math.sin(turn)
    x, y = table.arm[:, 0], table.arm[:, 1]
    ones, none = np.ones(count), np.zeros(count)
    columns, ranges = [], []
    if whole != "right":
        columns += [(ones, none), (none, ones)]
        ranges += [RANGE_MM, RANGE_MM]
    if whole in ("turned", "scaled"):
        columns.append((-s * x - c * y, c * x - s * y))
        ranges.append(RANGE_TURN)
    if whole == "scaled":
        columns.append((c * x - s * y, s * x + c * y))
        ranges.append(RANGE_SCALE)
    matrix = np.array([np.column_stack(pair).ravel() for pair in columns]).reshape(len(columns), 2 * count).T
    return matrix, np.column_stack(((c - 1) * x - s * y, s * x + (c - 1) * y)).ravel(), ranges


def _block_columns(table: Table, block: Block) -> list[Array]:
    members = list(block.members)
    found = []
    for axis in (0, 1):
        column = np.zeros((len(table.arm), 2))
        column[members, axis] = 1.0
        found.append(column.ravel())
    if block.kind == "turned piece":
        arm = table.arm[members] - table.arm[list(block.ports)].mean(axis=0)
        column = np.zeros((len(table.arm), 2))
        column[members] = np.column_stack((-arm[:, 1], arm[:, 0]))
        found.append(column.ravel())
    return found


def _search(table: Table, blocks: Sequence[Block], apart: NDArray[np.bool_], whole: Whole, turn: float) -> list[_Tried]:
    """Explanations with this whole: none, one and two blocks off all tried, more from the best of those."""
    read = table.read.ravel()
    weight = 1.0 / np.repeat(table.sigma, 2)[read]
    matrix, moved, ranges = _whole_columns(table, whole, turn)
    ranges = [max(wide, least) for wide, least in zip(ranges, _least_ranges(table, whole), strict=True)]
    values = (table.measured.ravel() - moved)[read] * weight
    design = matrix[read] * weight[:, None]
    use = np.flatnonzero(np.abs(design).sum(axis=0) > 0) if design.size else np.array([], dtype=int)
    design = design[:, use]
    if len(use) and np.linalg.matrix_rank(design / np.linalg.norm(design, axis=0)) < len(use):
        return [_Tried(whole, turn, (), math.inf, 0.0, 0)]
    basis = np.linalg.qr(design)[0] if len(use) else np.zeros((len(values), 0))
    fixed = 2 * sum(math.log(ranges[k]) for k in use) - len(use) * math.log(2 * math.pi)
    fixed += float(np.linalg.slogdet(design.T @ design)[1]) if len(use) else 0.0
    fixed -= 2 * math.log(WHOLES[whole])
    least = _least_ranges(table, "turned")
    offsets = [max(RANGE_MM, least[0]), max(RANGE_MM, least[0]), max(RANGE_TURN, least[2])]
    judge = _Judge(values, basis, fixed, _lowest(table), blocks, _gram(table, blocks, read, weight), offsets)
    tried = judge.of(np.zeros((1, 0), dtype=int), whole, turn)
    count = len(blocks)
    for depth in range(1, MOST_BLOCKS + 1):
        if depth <= 2:
            combos = np.array(list(combinations(range(count), depth)), dtype=int).reshape(-1, depth)
        else:
            best = sorted((one for one in tried if len(one.blocks) == depth - 1), key=lambda one: one.score)[:BEAM]
            last = np.array([one.blocks for one in best], dtype=int).reshape(-1, depth - 1)
            more = np.column_stack((np.repeat(last, count, axis=0), np.tile(np.arange(count), len(last))))
            combos = np.unique(np.sort(more, axis=1), axis=0)
        for i, j in combinations(range(depth), 2):
            combos = combos[apart[combos[:, i], combos[:, j]]]
        if not len(combos):
            break
        before = min(one.score for one in tried)
        deeper = judge.of(combos, whole, turn)
        tried += deeper
        if depth >= 2 and min((one.score for one in deeper), default=math.inf) > before:
            break
    return tried


def _apart(one: Block, other: Block) -> bool:
    """Whether two blocks do not speak of the same ports, but for a port off in a large piece that is off too."""
    smaller, larger = sorted((one, other), key=lambda block: len(block.ports))
    if not set(one.ports) & set(other.ports):
        return True
    return one is not other and len(smaller.ports) == 1 and len(larger.ports) >= 3


def _lowest(table: Table) -> float:
    spread = float(np.median(table.sigma[table.read.any(axis=1)]))
    return min(1.0, (FINEST_MM / spread) ** 2)


def _least_ranges(table: Table, whole: Whole) -> list[float]:
    """Ranges below which the readings' spread alone would fill them: shifts (mm), then turn and change of size."""
    shift = LEAST_RANGE * float(np.median(table.sigma[table.read.any(axis=1)]))
    arm = max(float(np.sqrt((table.arm[table.read.any(axis=1)] ** 2).sum(axis=1).mean())), 1e-9)
    count = {"right": 0, "shifted": 2, "turned": 3, "scaled": 4}[whole]
    return [shift, shift, shift / arm, shift / arm][:count]


def _gram(table: Table, blocks: Sequence[Block], read: NDArray[np.bool_], weight: Array) -> Array:
    """Columns of all blocks, three for each, zero where it has fewer: (components read, 3 * blocks)."""
    found = np.zeros((int(read.sum()), 3 * len(blocks)))
    for b, block in enumerate(blocks):
        for k, column in enumerate(_block_columns(table, block)):
            found[:, 3 * b + k] = column[read] * weight
    return found


class _Judge:
    """Scores of many explanations with the same whole at once."""

    def __init__(self, values: Array, basis: Array, fixed: float, lowest: float, blocks: Sequence[Block],
                 columns: Array, ranges: Sequence[float]) -> None:  # fmt: skip
        rest = values - basis @ (basis.T @ values)
        free = columns - basis @ (basis.T @ columns)
        self.count, self.chi2, self.rank = len(values), float(rest @ rest), basis.shape[1]
        self.fixed = fixed
        # Factors of the variance, evenly in their logarithms, with what each is believed.
        self.log_f = np.linspace(math.log(lowest), 0.0, SMALLER + 1) if lowest < 1.0 else np.zeros(1)
        self.believed = np.full(len(self.log_f), (1.0 - STATED) / max(len(self.log_f) - 1, 1))
        self.believed[-1] = STATED if len(self.log_f) > 1 else 1.0
        used = np.abs(columns).sum(axis=0) > 0
        size = np.sqrt(np.einsum("ij,ij->j", free, free))
        # A column that the whole explains already is no block of its own: it makes its explanation singular.
        own = np.sqrt(np.einsum("ij,ij->j", columns, columns))
        self.bad = used & (size < 1e-6 * np.maximum(own, 1.0))
        size = np.where(used & ~self.bad, size, 1.0)
        self.gram = (free.T @ free) / np.outer(size, size)
        np.fill_diagonal(self.gram, 1.0)
        self.gram[~used, :] = 0.0
        self.gram[:, ~used] = 0.0
        self.gram[~used, ~used] = 1.0
        self.right = np.where(used, free.T @ rest / size, 0.0)
        self.logsize = np.where(used, 2 * np.log(size), 0.0)
        self.cost = np.where(used, 2 * np.log(np.tile(ranges, len(blocks))) - math.log(2 * math.pi), 0.0)
        self.used = used
        self.odds = np.array([2 * math.log((1 - ODDS[b.kind]) / ODDS[b.kind]) for b in blocks])

    def of(self, combos: NDArray[np.int_], whole: Whole, turn: float) -> list[_Tried]:
        """The explanations with these blocks (explanations, blocks); those that nothing can tell are left out."""
        if combos.shape[1] == 0:
            score = self._score(np.array([self.chi2]), np.array([self.count - self.rank]))
            return [_Tried(whole, turn, (), float(score[0]) + self.fixed, self.chi2, self.count - self.rank)]
        index = (3 * combos[:, :, None] + np.arange(3)).reshape(len(combos), -1)
        gram = self.gram[index[:, :, None], index[:, None, :]]
        right = self.right[index]
        logdet = np.linalg.slogdet(gram)[1]
        degrees = self.count - self.rank - self.used[index].sum(axis=1)
        sound = (logdet > _SINGULAR) & ~self.bad[index].any(axis=1) & (degrees >= 0)
        combos, index, gram, right, logdet, degrees = (
            part[sound] for part in (combos, index, gram, right, logdet, degrees)
        )
        if not len(combos):
            return []
        gain = np.einsum("ij,ij->i", right, np.linalg.solve(gram, right[:, :, None])[:, :, 0])
        chi2 = np.maximum(self.chi2 - gain, 0.0)
        score = (
            self._score(chi2, degrees)
            + self.fixed
            + logdet
            + self.logsize[index].sum(axis=1)
            + self.cost[index].sum(axis=1)
        )
        score = score + self.odds[combos].sum(axis=1)
        if len(score) > MOST_KEPT:
            best = np.argpartition(score, MOST_KEPT)[:MOST_KEPT]
            combos, score, chi2, degrees = combos[best], score[best], chi2[best], degrees[best]
        return [
            _Tried(whole, turn, tuple(combo), s, x, d)
            for combo, s, x, d in zip(combos.tolist(), score.tolist(), chi2.tolist(), degrees.tolist(), strict=True)
        ]

    def _score(self, chi2: Array, degrees: NDArray[np.int_]) -> Array:
        each = -(chi2[:, None] * np.exp(-self.log_f) + degrees[:, None] * self.log_f) / 2
        top = each.max(axis=1)
        score: Array = -2 * (top + np.log((self.believed * np.exp(each - top[:, None])).sum(axis=1)))
        return score


def _solved(table: Table, blocks: Sequence[Block], tried: _Tried) -> tuple[Array, Array]:
    """The whole's shift, turn and change of size (4,), and what each port should read (ports, 2), mm."""
    matrix, moved, _ = _whole_columns(table, tried.whole, tried.turn)
    columns = [column for b in tried.blocks for column in _block_columns(table, blocks[b])]
    full = np.column_stack([matrix, *columns]) if matrix.size or columns else np.zeros((2 * len(table.arm), 0))
    read = table.read.ravel()
    weight = 1.0 / np.repeat(table.sigma, 2)[read]
    parameters = np.zeros(full.shape[1])
    if full.shape[1]:
        values = (table.measured.ravel() - moved)[read] * weight
        parameters = np.linalg.lstsq(full[read] * weight[:, None], values, rcond=None)[0]
    whole = np.zeros(4)
    whole[: matrix.shape[1]] = parameters[: matrix.shape[1]]
    whole[2] += tried.turn
    return whole, (full @ parameters + moved).reshape(-1, 2)


def fitted(table: Table, blocks: Sequence[Block], whole: Whole, turn: float) -> tuple[float, int]:
    """Weighted sum of squares and surplus readings of one explanation, its turn taken as small about ``turn``."""
    matrix, moved, _ = _whole_columns(table, whole, turn)
    columns = [column for block in blocks for column in _block_columns(table, block)]
    full = np.column_stack([matrix, *columns]) if matrix.size or columns else np.zeros((2 * len(table.arm), 0))
    read = table.read.ravel()
    weight = 1.0 / np.repeat(table.sigma, 2)[read]
    values = (table.measured.ravel() - moved)[read] * weight
    if not full.shape[1]:
        return float(values @ values), len(values)
    design = full[read] * weight[:, None]
    parameters, _, rank, _ = np.linalg.lstsq(design, values, rcond=1e-9)
    misfit = values - design @ parameters
    return float(misfit @ misfit), len(values) - int(rank)
