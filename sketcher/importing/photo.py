"""A photo from above, laid flat: the projective map from pixels to millimetres that four known points give.

A flat floor photographed from anywhere is seen through a homography, a 3 by 3 matrix up to its scale (Hartley
and Zisserman, Multiple View Geometry in Computer Vision, chapter 4). It is found by the direct linear
transformation on normalised coordinates; with more than four points in the least-squares sense, then refined so
that the squared distances on the floor are least. How the lens bends lines is estimated beside it
(:mod:`sketcher.importing.photo_lens`). What rises above the floor is not where it seems: points kept back to check say
how far to trust the photo.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sketcher.document.floor import Photo, PhotoMark
from sketcher.importing.photo_lens import Lens, View, camera_mismatch, estimate

Array = NDArray[np.float64]

#: Three points that span less than this share of the whole's extent count as lying on one line.
LEAST_SPAN = 0.02
#: How finely a point is picked in a photo, pixels (common practice, no source).
PICK_PX = 1.5
#: Lengths between the marks that are farther from what a camera sees than this (a logarithm) are doubted.
MISMATCH = 0.05
#: Another mark explains a disagreement nearly as well: difference of the sums of squares.
RIVAL = 9.0
#: Marks that span less than this, or more, mm, are asked about: no case floor does (common practice, no source).
SMALLEST, LARGEST = 70.0, 1500.0


class PhotoError(ValueError):
    """The marks cannot place the photo; the message says which and what would."""


@dataclass(frozen=True)
class Rectified:
    """A placed photo.

    ``matrix`` (3, 3) takes pixels (from the top left, y down) to floor millimetres; ``misses`` (marks, 2), mm,
    is where each mark comes out less where it is; ``checks`` tells which marks only judge. ``pick_mm`` is what
    an unsteady hand of 1.5 pixels makes on the floor at the marks' middle. ``lens`` is the estimate with the lens's
    bend, and ``within_mm`` the radius within which places between the marks are true in 95 %, by that estimate.
    ``doubted`` are the numbers of the marks of which one is wrong: one alone when it can be told. ``swapped`` are pairs
    of marks that agree once their places change over; ``mismatch`` how far their lengths are from what a camera sees.
    """

    matrix: Array
    marks: tuple[PhotoMark, ...]
    misses: Array
    pick_mm: float
    horizon_inside: bool
    lens: Lens
    within_mm: float
    doubted: tuple[int, ...] = ()
    swapped: tuple[tuple[int, int], ...] = ()
    mismatch: float = 0.0

    @property
    def checks(self) -> tuple[bool, ...]:
        """Which marks only judge the photo."""
        return tuple(mark.check for mark in self.marks)

    @property
    def trust_mm(self) -> float | None:
        """Root mean square miss of the checking marks, mm; without any, of the surplus placing marks; else None."""
        judged = np.array(self.checks)
        if not judged.any():
            if len(self.marks) <= 4:
                return None
            surplus = 2 * len(self.marks) - 8
            return math.sqrt(float(np.sum(self.misses**2)) / surplus)
        return math.sqrt(float(np.mean(np.sum(self.misses[judged] ** 2, axis=1))))

    def to_px(self, places: Array) -> Array:
        """Pixels of floor places, mm; both (n, 2)."""
        return _map(np.asarray(np.linalg.inv(self.matrix)), np.asarray(places, dtype=float))

    @property
    def messages(self) -> tuple[str, ...]:
        """How far to trust the photo, in words."""
        said = [*self._doubts(), *self._span()]
        if self.trust_mm is None:
            said.append(
                "Four marks place the photo exactly, so nothing checks them, and they cannot tell how the lens bends "
                "lines. Mark the middle of a side too, as a check, or mark an edge that is straight. Until then places "
                f"between the marks are within {self.within_mm:.1f} mm (95 %) if the marks are right."
            )
        else:
            said.append(f"Known points lie where the photo shows them within {self.trust_mm:.1f} mm.")
            if not self.lens.known:
                said.append(
                    "The marks do not tell how the lens bends lines: mark the middles of the sides, or an edge that is "
                    f"straight. Places between the marks are within {self.within_mm:.1f} mm (95 %)."
                )
            else:
                said.append(
                    f"The lens's bend is known (k1 {self.lens.k1:+.3f} ± {self.lens.sigma_k1:.3f}); straightened, "
                    f"places between the marks are within {self.within_mm:.1f} mm (95 %)."
                )
        if self.horizon_inside:
            said.append("The photo was taken so flat that its far part cannot be laid out: take it more from above.")
        said.append("What rises above the floor is shown too far out; measure it, do not take it from the photo.")
        return tuple(said)

    def _doubts(self) -> list[str]:
        if self.swapped:
            pairs = " or ".join(f"{_name(self.marks[a])} and {_name(self.marks[b])}" for a, b in self.swapped)
            return [f"The marks disagree, and agree once two of them change places: {pairs}. Were they swapped?"]
        if len(self.doubted) == 1:
            mark = self.marks[self.doubted[0]]
            return [
                f"The mark at {_name(mark)} comes out {self._off_mm(self.doubted[0]):.1f} mm away, and without it the "
                "others agree: it may be typed wrong, or stand above the floor."
            ]
        if self.doubted:
            names = ", ".join(_name(self.marks[k]) for k in self.doubted)
            return [f"The marks do not agree, and it cannot be told which of {names} is wrong: mark one more point."]
        if self.mismatch > MISMATCH:
            return [
                f"The lengths between the marks are {100 * (math.exp(self.mismatch) - 1):.0f} % off what a camera can "
                "see: two marks may be swapped, or a width typed for a depth."
            ]
        if not self.lens.agrees:
            return ["The marks do not agree, and more than one of them is wrong: look at their numbers."]
        return []

    def _off_mm(self, number: int) -> float:
        """How far a mark comes out from its place when the others alone place the photo, mm."""
        others = [mark for k, mark in enumerate(self.marks) if k != number]
        matrix = solve(np.array([[m.x_px, m.y_px] for m in others]), np.array([[m.x_mm, m.y_mm] for m in others]))
        mark = self.marks[number]
        ((x, y),) = _map(matrix, np.array([[mark.x_px, mark.y_px]]))
        return math.hypot(x - mark.x_mm, y - mark.y_mm)

    def _span(self) -> list[str]:
        """A question about the unit, when the marks span no case floor."""
        width, depth = (float(np.ptp([getattr(mark, key) for mark in self.marks])) for key in ("x_mm", "y_mm"))
        if SMALLEST <= max(width, depth) <= LARGEST:
            return []
        small = max(width, depth) < SMALLEST
        asked = "were they typed in inches or centimetres?" if small else "was a decimal point lost?"
        return [f"The marks span {width:.0f} × {depth:.0f} mm, too {'little' if small else 'much'} for a case: {asked}"]

    def as_json(self) -> dict[str, Any]:
        """The result: ``matrix`` row by row, misses by mark, trust, words."""
        return {
            "matrix": [[float(value) for value in row] for row in self.matrix],
            "marks": [
                {
                    "x_px": mark.x_px,
                    "y_px": mark.y_px,
                    "x_mm": mark.x_mm,
                    "y_mm": mark.y_mm,
                    "check": mark.check,
                    "miss_x_mm": round(float(miss[0]), 6) + 0.0,
                    "miss_y_mm": round(float(miss[1]), 6) + 0.0,
                }
                for mark, miss in zip(self.marks, self.misses, strict=True)
            ],
            "trust_mm": None if self.trust_mm is None else round(self.trust_mm, 6),
            "pick_mm": round(self.pick_mm, 6),
            "within_mm": round(self.within_mm, 6),
            "doubted": list(self.doubted),
            "swapped": [list(pair) for pair in self.swapped],
            "lens": {
                "k1": round(self.lens.k1, 9) + 0.0,
                "k2": round(self.lens.k2, 9) + 0.0,
                "sigma_k1": round(self.lens.sigma_k1, 9),
                "sigma_k2": round(self.lens.sigma_k2, 9),
                "known": self.lens.known,
                "centre_px": list(self.lens.view.centre),
                "radius_px": self.lens.view.radius,
                "from_floor": [[float(value) for value in row] for row in self.lens.floor],
            },
            "messages": list(self.messages),
        }


def rectify(photo: Photo) -> Rectified:
    """Place a photo by its marks, and by the edges that are marked as straight.

    Raises:
        PhotoError: fewer than four placing marks, marks in one place or on one line, or in crossed order.
    """
    marks = tuple(photo.marks)
    placing = [mark for mark in marks if not mark.check]
    if len(placing) < 4:
        raise PhotoError(f"four known points place a photo; {len(placing)} are marked, mark {4 - len(placing)} more")
    pixels = np.array([[mark.x_px, mark.y_px] for mark in placing])
    places = np.array([[mark.x_mm, mark.y_mm] for mark in placing])
    if not (np.all(np.isfinite(pixels)) and np.all(np.isfinite(places))):
        raise PhotoError("a mark's place is no number; type it again")
    _refuse_outside(photo, placing)
    for what, points in (("in the photo", pixels), ("on the floor", places)):
        _refuse_degenerate(what, points, placing)
    matrix = solve(pixels, places)
    depth = np.column_stack((pixels, np.ones(len(pixels)))) @ matrix[2]
    if not (np.all(depth > 0) or np.all(depth < 0)):
        raise PhotoError("the marks are in crossed order: two known points are mixed up, look at their numbers")
    if np.all(depth < 0):
        matrix = -matrix
    turned = _turned_over(pixels, places)
    if turned:
        raise PhotoError("the photo would be seen from below: two known points are mixed up, or the photo is mirrored")
    corners = np.array([[0, 0], [photo.width_px, 0], [photo.width_px, photo.height_px], [0, photo.height_px]], float)
    horizon = bool(np.any(np.column_stack((corners, np.ones(4))) @ matrix[2] <= 0))
    everywhere = np.array([[mark.x_px, mark.y_px] for mark in marks])
    truth = np.array([[mark.x_mm, mark.y_mm] for mark in marks])
    behind = np.column_stack((everywhere, np.ones(len(marks)))) @ matrix[2] <= 0
    if np.any(behind):
        raise PhotoError("a checking mark lies beyond the photo's horizon; take it out or mark it again")
    middle = np.asarray(pixels.mean(axis=0), dtype=np.float64)
    view = View.of_size(photo.width_px, photo.height_px)
    edges = [np.array([(at.x_px, at.y_px) for at in edge.points], dtype=float) for edge in photo.edges]
    try:
        lens = estimate(view, pixels, places, matrix, PICK_PX, edges)
        everything = estimate(view, everywhere, truth, matrix, PICK_PX, edges)
    except (np.linalg.LinAlgError, ValueError) as error:
        raise PhotoError("the known points fit no picture of a floor: one of them is far from its place") from error
    doubted, swapped = _explained(everything, everywhere, truth, matrix, edges)
    return Rectified(
        matrix,
        marks,
        _map(matrix, everywhere) - truth,
        PICK_PX * _scale(matrix, middle),
        horizon,
        lens,
        float(lens.radius_95_mm(lens.to_px(_between(places))).max()),
        doubted,
        swapped,
        camera_mismatch(lens, places),
    )


def _between(places: Array) -> Array:
    """A grid of floor places that spans the marks, (25, 2)."""
    (left, front), (right, rear) = places.min(axis=0), places.max(axis=0)
    return np.array([(x, y) for x in np.linspace(left, right, 5) for y in np.linspace(front, rear, 5)])


def _explained(
    lens: Lens, pixels: Array, places: Array, matrix: Array, edges: Sequence[Array]
) -> tuple[tuple[int, ...], tuple[tuple[int, int], ...]]:
    """Of marks that disagree, those of which one is wrong, and the pairs that agree once they are swapped.

    A mark explains the disagreement when the others agree without it; it is named alone when no other one fits nearly
    as well (9 in the sum of squares, a likelihood ratio of 90).
    """
    count = len(pixels)
    if lens.agrees:
        return (), ()
    swapped = []
    rough = _rough_miss(pixels, places)
    for a in range(count):
        for b in range(a + 1, count):
            order = list(range(count))
            order[a], order[b] = b, a
            if _rough_miss(pixels, places[order]) > 0.5 * rough:
                continue
            tried = _tried(lens.view, pixels, places[order], edges)
            if tried is not None and tried.agrees and camera_mismatch(tried, places) < MISMATCH:
                swapped.append((a, b))
    without: list[tuple[float, int]] = []
    for k in range(count):
        kept = [j for j in range(count) if j != k]
        tried = _tried(lens.view, pixels[kept], places[kept], edges)
        if tried is not None and tried.agrees:
            without.append((tried.chi2, k))
    best = min(without, default=(0.0, 0))[0]
    return tuple(k for chi2, k in without if chi2 < best + RIVAL), tuple(swapped) if len(swapped) == 1 else ()


def _rough_miss(pixels: Array, places: Array) -> float:
    """Root mean square miss, mm, of the direct linear transformation."""
    return float(np.sqrt(np.mean((_map(_direct(pixels, places), pixels) - places) ** 2)))


def _tried(view: View, pixels: Array, places: Array, edges: Sequence[Array]) -> Lens | None:
    try:
        found = estimate(view, pixels, places, _direct(pixels, places), PICK_PX, edges)
    except (np.linalg.LinAlgError, ValueError):
        return None
    return found if np.isfinite(found.chi2) else None


def solve(pixels: Array, places: Array) -> Array:
    """The homography from (n, 2) pixels to (n, 2) places, n at least 4, scaled so that the middle's depth is 1."""
    matrix = _direct(pixels, places)
    if len(pixels) > 4:
        scale = np.abs(matrix).ravel() + 1e-12

        def miss(parameters: Array) -> Array:
            return (_map((parameters * scale).reshape(3, 3), pixels) - places).ravel()

        from scipy.optimize import least_squares  # takes long to import, and only a photo needs it

        best = least_squares(miss, matrix.ravel() / scale, method="lm", xtol=1e-14, ftol=1e-14, gtol=1e-14)
        matrix = (best.x * scale).reshape(3, 3)
        matrix = matrix / float(np.array([*pixels.mean(axis=0), 1.0]) @ matrix[2])
    return np.asarray(matrix, dtype=np.float64)


def _direct(pixels: Array, places: Array) -> Array:
    """The direct linear transformation alone."""
    from_px, from_mm = _normaliser(pixels), _normaliser(places)
    u, v = _map(from_px, pixels), _map(from_mm, places)
    rows = []
    for (x, y), (a, b) in zip(u, v, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -a * x, -a * y, -a])
        rows.append([0, 0, 0, x, y, 1, -b * x, -b * y, -b])
    _, _, vectors = np.linalg.svd(np.array(rows))
    matrix = np.linalg.inv(from_mm) @ vectors[-1].reshape(3, 3) @ from_px
    return np.asarray(matrix / float(np.array([*pixels.mean(axis=0), 1.0]) @ matrix[2]), dtype=np.float64)


def _map(matrix: Array, points: Array) -> Array:
    lifted = np.column_stack((points, np.ones(len(points)))) @ matrix.T
    return np.asarray(lifted[:, :2] / lifted[:, 2:])


def _normaliser(points: Array) -> Array:
    """Moves the points' middle to the origin and their mean distance to the root of two (Hartley 1997)."""
    middle = points.mean(axis=0)
    reach = float(np.mean(np.hypot(*(points - middle).T)))
    s = math.sqrt(2.0) / reach
    return np.array([[s, 0.0, -s * middle[0]], [0.0, s, -s * middle[1]], [0.0, 0.0, 1.0]])


def _refuse_outside(photo: Photo, marks: Sequence[PhotoMark]) -> None:
    """A mark may lie a little outside, where a corner was guessed at; not farther than the photo is wide."""
    for mark in marks:
        if not (abs(mark.x_px / photo.width_px - 0.5) < 1.5 and abs(mark.y_px / photo.height_px - 0.5) < 1.5):
            raise PhotoError(f"the mark at {_name(mark)} lies far outside the photo; mark it again")


def _refuse_degenerate(what: str, points: Array, marks: Sequence[PhotoMark]) -> None:
    count = len(points)
    extent = float(np.max(np.ptp(points, axis=0)))
    if extent <= 0.0:
        raise PhotoError(f"all marks lie in one place {what}; spread them over the floor")
    for i in range(count):
        for j in range(i + 1, count):
            if float(np.hypot(*(points[i] - points[j]))) < LEAST_SPAN * extent / 4:
                raise PhotoError(
                    f"the marks at {_name(marks[i])} and {_name(marks[j])} lie in one place {what}; move one of them"
                )
    # Four points place a photo when no three of them are on one line; of more, some four must be so.
    if not any(_in_general_position(points[list(four)], extent) for four in _fours(count)):
        raise PhotoError(f"three of the marks lie on one line {what}; choose four that span the floor, as its corners")


def _fours(count: int) -> list[tuple[int, int, int, int]]:
    return [
        (a, b, c, d)
        for a in range(count)
        for b in range(a + 1, count)
        for c in range(b + 1, count)
        for d in range(c + 1, count)
    ]


def _in_general_position(four: Array, extent: float) -> bool:
    for left_out in range(4):
        a, b, c = np.delete(four, left_out, axis=0)
        longest = max(float(np.hypot(*(p - q))) for p, q in ((a, b), (b, c), (c, a)))
        doubled = abs(float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])))
        if doubled / longest < LEAST_SPAN * extent:
            return False
    return True


def _turned_over(pixels: Array, places: Array) -> bool:
    """Whether the map mirrors. Pixels count y downwards, so a photo from above turns the sense of every triangle."""
    best, sense = 0.0, 0.0
    for a in range(len(pixels)):
        for b in range(a + 1, len(pixels)):
            for c in range(b + 1, len(pixels)):
                seen, true = (_area(points[[a, b, c]]) for points in (pixels, places))
                if abs(seen * true) > best:
                    best, sense = abs(seen * true), seen * true
    return sense > 0


def _area(triangle: Array) -> float:
    a, b, c = triangle
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _scale(matrix: Array, pixel: Array) -> float:
    """Millimetres for a pixel about a place: the root of the map's area ratio."""
    step = 0.5
    around = _map(matrix, pixel + np.array([[0.0, 0.0], [step, 0.0], [0.0, step]]))
    return math.sqrt(abs(_area(around))) / step


def _name(mark: PhotoMark) -> str:
    return f"{round(mark.x_mm, 1) + 0.0:g}, {round(mark.y_mm, 1) + 0.0:g} mm"
