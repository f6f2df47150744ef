"""How a lens bends a photo, what the marks say of that, and how far the placed photo can be trusted.

Brown and Conrady's radial model (Brown, Close-Range Camera Calibration, Photogrammetric Engineering 37, 1971): a point
at the distance r from the picture's middle appears at ``r (1 + k1 r² + k2 r⁴)``; r is counted in half diagonals, and
the middle of the picture is taken for the lens's axis. The map from the floor to the picture and both coefficients are
estimated together, with what is known of phone lenses beforehand as two more observations. So with four marks, which
say nothing of the lens, the coefficients stay at 0 with their full spread, and every place carries what that means for
it; more marks, or edges that are straight on the floor, make them known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sketcher.reference.quantiles import chi_square

Array = NDArray[np.float64]

#: Spread of k1 and k2 of phone lenses beforehand, in half diagonals (common practice, no source: k1 to 0.15 in focal
#: lengths of a usual phone, whose half diagonal is 0.83 of its focal length).
PRIOR_K1, PRIOR_K2 = 0.065, 0.02
#: A coefficient counts as known when its spread has come down to this share of what it was beforehand.
KNOWN = 0.35
#: How well a mark's place on the floor is known, mm: a steel rule (common practice, no source).
MARK_MM = 0.3
#: 95 % of a plane normal distribution lie within so many spreads (root of the chi-square quantile, 2 degrees).
SCALE_95 = math.sqrt(-2.0 * math.log(0.05))


@dataclass(frozen=True)
class View:
    """The picture's middle and half diagonal, pixels."""

    centre: tuple[float, float]
    radius: float

    @classmethod
    def of_size(cls, width_px: float, height_px: float) -> View:
        """The view of a picture of this size."""
        return cls((width_px / 2, height_px / 2), math.hypot(width_px, height_px) / 2)

    def normal(self, pixels: Array) -> Array:
        """Pixels (n, 2) in half diagonals from the middle."""
        return (np.asarray(pixels, dtype=float) - self.centre) / self.radius

    def pixels(self, normal: Array) -> Array:
        """The pixels of such places."""
        return np.asarray(normal * self.radius + self.centre)


@dataclass(frozen=True)
class Lens:
    """The estimate: ``floor`` (3, 3) takes floor mm to straightened normal places; ``covariance`` (11, 11) belongs to
    its nine numbers and k1, k2. ``misses`` (marks, 2) is predicted less picked, pixels, and ``chi2`` with ``degrees``
    how well the marks agree."""

    view: View
    floor: Array
    k1: float
    k2: float
    covariance: Array
    misses: Array
    chi2: float
    degrees: int

    @property
    def sigma_k1(self) -> float:
        """Spread of k1."""
        return math.sqrt(max(float(self.covariance[9, 9]), 0.0))

    @property
    def sigma_k2(self) -> float:
        """Spread of k2."""
        return math.sqrt(max(float(self.covariance[10, 10]), 0.0))

    @property
    def known(self) -> bool:
        """Whether the marks or edges say how the lens bends."""
        return self.sigma_k1 <= KNOWN * PRIOR_K1

    @property
    def agrees(self) -> bool:
        """Whether the marks agree with each other (chi-square, one right set in a thousand does not)."""
        return self.degrees < 1 or self.chi2 <= chi_square(0.999, self.degrees)

    def to_px(self, places: Array) -> Array:
        """Pixels in the photo of floor places, mm; both (n, 2)."""
        return self.view.pixels(_bent(_mapped(self.floor, np.asarray(places, float)), self.k1, self.k2))

    @property
    def parameters(self) -> Array:
        """The map's nine numbers, k1, k2."""
        return np.concatenate((self.floor.ravel(), [self.k1, self.k2]))

    def covariance_mm(self, pixels: Array) -> Array:
        """Covariance, mm², (n, 2, 2), of the floor places of pixels, by linear propagation."""
        normal = self.view.normal(pixels)
        theta = self.parameters
        columns = []
        for k in range(len(theta)):
            step = 1e-6 * max(abs(theta[k]), 1e-3)
            up, down = theta.copy(), theta.copy()
            up[k] += step
            down[k] -= step
            columns.append((_to_mm(up, normal) - _to_mm(down, normal)) / (2 * step))
        g = np.stack(columns, axis=-1)
        return np.asarray(np.einsum("nia,ab,njb->nij", g, self.covariance, g))

    def radius_95_mm(self, pixels: Array) -> Array:
        """For each pixel the radius, mm, about its floor place that holds the true one in at least 95 %."""
        largest = np.linalg.eigvalsh(self.covariance_mm(pixels))[:, -1]
        return np.asarray(SCALE_95 * np.sqrt(np.maximum(largest, 0.0)))


# On the way a point may come to lie on the horizon, infinitely far: that try is a bad one, and no more.
@np.errstate(divide="ignore", invalid="ignore", over="ignore")
def estimate(
    view: View, pixels: Array, places: Array, start: Array, pick_px: float, edges: Sequence[Array] = ()
) -> Lens:
    """The map and the lens from marks and straight edges.

    Args:
        view: the picture.
        pixels, places: (n, 2) of the marks, n at least 4.
        start: (3, 3) homography from pixels to mm to begin with.
        pick_px: spread of a picked pixel.
        edges: (m, 2) pixels each, m at least 3, along a line that is straight on the floor.

    Raises:
        ValueError: the start sees a mark at the horizon, or nothing finite is found.
        numpy.linalg.LinAlgError: the start is no map.
    """
    normal = view.normal(pixels)
    to_pixels = np.array([[view.radius, 0, view.centre[0]], [0, view.radius, view.centre[1]], [0, 0, 1.0]])
    floor = np.linalg.inv(start @ to_pixels)
    floor = floor / np.linalg.norm(floor @ np.array([*places.mean(axis=0), 1.0]))
    # One unit for all nine numbers: the floor in its own size about the marks' middle.
    middle, size = places.mean(axis=0), max(float(np.ptp(places, axis=0).max()) / 2, 1e-6)
    shift = np.array([[size, 0, middle[0]], [0, size, middle[1]], [0, 0, 1.0]])
    scaled = floor @ shift
    scaled = scaled / np.linalg.norm(scaled)
    own = (places - middle) / size
    grow = math.sqrt(abs(float(np.linalg.det(_jacobian(scaled))))) * view.radius / size  # pixels for a mm
    sigma = math.hypot(pick_px, MARK_MM * grow) / view.radius
    normal_edges = [view.normal(edge) for edge in edges if len(edge) >= 3]

    def misfit(theta: Array) -> Array:
        matrix, k1, k2 = theta[:9].reshape(3, 3), theta[9], theta[10]
        bent = _bent(_mapped(matrix, own), k1, k2)
        parts = [((bent - normal) / sigma).ravel(), np.array([k1 / PRIOR_K1, k2 / PRIOR_K2])]
        parts += [_off_line(_straight(edge, k1, k2)) * view.radius / pick_px for edge in normal_edges]
        parts.append(np.array([(float(np.sum(matrix**2)) - 1.0) * 1e4]))  # its scale says nothing
        return np.concatenate(parts)

    from scipy.optimize import least_squares  # takes long to import, and only a photo needs it

    found = least_squares(
        misfit, np.concatenate((scaled.ravel(), [0.0, 0.0])), method="lm", xtol=1e-10, ftol=1e-10, max_nfev=300
    )
    if not (np.all(np.isfinite(found.x)) and np.all(np.isfinite(found.jac))):
        raise ValueError("no finite map is found")
    covariance = np.linalg.pinv(found.jac.T @ found.jac, rcond=1e-14, hermitian=True)
    matrix = found.x[:9].reshape(3, 3)
    turn = np.eye(11)
    turn[:9, :9] = np.kron(np.eye(3), np.linalg.inv(shift).T)
    bent = _bent(_mapped(matrix, own), found.x[9], found.x[10])
    surplus = 2 * len(pixels) - 8 + sum(len(edge) - 2 for edge in normal_edges)
    return Lens(
        view,
        matrix @ np.linalg.inv(shift),
        float(found.x[9]),
        float(found.x[10]),
        turn @ covariance @ turn.T,
        (bent - normal) * view.radius,
        float(2 * found.cost),
        surplus,
    )


def camera_mismatch(lens: Lens, places: Array) -> float:
    """How far the marks' lengths are from what any camera with square pixels sees: 0 when they fit one.

    The columns of the map, taken back through the focal length, are two edges of a square on the floor: equally long
    and at right angles (Hartley and Zisserman, Multiple View Geometry, chapter 8). The smallest misfit over all focal
    lengths from a very wide to a long lens is the logarithm of the ratio of lengths, and the cosine, together.
    """
    middle = np.array([*np.asarray(places, float).mean(axis=0), 1.0])
    matrix = lens.floor / np.linalg.norm(lens.floor @ middle)
    best = np.inf
    for focal in np.geomspace(0.6, 12.0, 80):
        one, other = matrix[:, 0] / (focal, focal, 1.0), matrix[:, 1] / (focal, focal, 1.0)
        long, wide = float(np.linalg.norm(one)), float(np.linalg.norm(other))
        best = min(best, math.hypot(math.log(long / wide), float(one @ other) / (long * wide)))
    return best


def _mapped(matrix: Array, points: Array) -> Array:
    lifted = np.column_stack((points, np.ones(len(points)))) @ matrix.T
    return np.asarray(lifted[:, :2] / lifted[:, 2:])


def _jacobian(matrix: Array) -> Array:
    """Derivatives of a homography at the origin."""
    w = matrix[2, 2]
    return np.asarray(matrix[:2, :2] / w - np.outer(matrix[:2, 2], matrix[2, :2]) / w**2)


def _bent(straight: Array, k1: float, k2: float) -> Array:
    square = np.sum(straight**2, axis=1, keepdims=True)
    return np.asarray(straight * (1.0 + k1 * square + k2 * square**2))


def _straight(bent: Array, k1: float, k2: float) -> Array:
    """The inverse, by Newton's steps along the radius."""
    seen = np.sqrt(np.sum(bent**2, axis=1, keepdims=True))
    r = seen.copy()
    for _ in range(8):
        slope = np.maximum(1.0 + 3 * k1 * r**2 + 5 * k2 * r**4, 0.2)
        r = r - (r * (1.0 + k1 * r**2 + k2 * r**4) - seen) / slope
    return np.asarray(bent * np.where(seen > 1e-12, r / np.maximum(seen, 1e-12), 1.0))


def _to_mm(theta: Array, normal: Array) -> Array:
    inverse = np.asarray(np.linalg.inv(theta[:9].reshape(3, 3)), dtype=np.float64)
    return _mapped(inverse, _straight(normal, float(theta[9]), float(theta[10])))


def _off_line(points: Array) -> Array:
    """How far points lie off the line that fits them best."""
    centred = points - points.mean(axis=0)
    _, _, axes = np.linalg.svd(centred, full_matrices=False)
    return np.asarray(centred @ axes[1])
