"""A survey as numbers: points in a plane, and the equations of what the tools read between them.

The state of a network of ``n`` points is one vector: ``x0, y0, x1, y1, …`` followed by one entry for every diameter and
every height that is read. Lengths are in one unit throughout; the survey uses millimetres. Equations, for a point P, a
wall from A to B of length L with the unit vector u along it and n to its left:

- distance: ``|Q - P|``
- along: ``t = u · (P - A)``, to the foot of P
- offset: ``|s|`` with ``s = n · (P - A)``
- x, y, diameter, height: the entry of the state itself

Derivatives are exact. Source of the method: Ghilani, Adjustment Computations, chapters 11 to 16.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Kind = Literal["distance", "offset", "along", "x", "y", "diameter", "height"]
Array = NDArray[np.float64]

#: Shorter than this a distance has no direction; it only keeps the derivatives finite.
TINY = 1e-9


@dataclass(frozen=True)
class Observation:
    """One reading: ``points`` has two names for a distance, one otherwise; ``wall`` has two for offset and along."""

    id: str
    kind: Kind
    points: tuple[str, ...]
    value: float
    sigma: float
    wall: tuple[str, str] | None = None

    @property
    def all_points(self) -> tuple[str, ...]:
        """Every point the reading touches."""
        return self.points + (self.wall or ())


@dataclass(frozen=True)
class Network:
    """Points, readings, and the coordinates that are held (the datum).

    ``fixed`` maps ``(point, "x" or "y")`` to the held coordinate. Build with :func:`build`, which checks the names.
    """

    points: tuple[str, ...]
    observations: tuple[Observation, ...]
    fixed: Mapping[tuple[str, str], float]
    scalars: tuple[tuple[str, str], ...]
    values: Array = field(repr=False)
    sigmas: Array = field(repr=False)
    free: NDArray[np.intp] = field(repr=False)
    _groups: Mapping[str, tuple[NDArray[np.intp], ...]] = field(repr=False)
    #: Where the derivatives of each kind go in the flattened Jacobian, point by point, x and y.
    _targets: Mapping[str, NDArray[np.intp]] = field(repr=False)

    @property
    def size(self) -> int:
        """Length of the state."""
        return 2 * len(self.points) + len(self.scalars)

    def index(self, point: str) -> int:
        """Number of a point."""
        return self.points.index(point)

    def state(self, places: Mapping[str, tuple[float, float]]) -> Array:
        """A state from places; points without one start at the origin, scalars at their mean reading."""
        state = np.zeros(self.size)
        for number, name in enumerate(self.points):
            state[2 * number : 2 * number + 2] = places.get(name, (0.0, 0.0))
        for (name, axis), value in self.fixed.items():
            state[2 * self.index(name) + (axis == "y")] = value
        for number, (kind, name) in enumerate(self.scalars):
            read = [o.value for o in self.observations if (o.kind, o.points[0]) == (kind, name)]
            state[2 * len(self.points) + number] = sum(read) / len(read)
        return state

    def predict(self, state: Array) -> Array:
        """What each reading would be at this state; shape (readings,). States (n, size) give (n, readings)."""
        return self._evaluate(state, with_jacobian=False)[0]

    def linearise(self, state: Array) -> tuple[Array, Array]:
        """Predicted readings (readings,) and their derivatives by the whole state (readings, size); of states
        (n, size) each has n in front."""
        return self._evaluate(state, with_jacobian=True)

    def without(self, dropped: Iterable[int]) -> Network:
        """The network without some readings, by their numbers. Diameters and heights no longer read disappear too."""
        gone = set(dropped)
        return build(
            self.points, [o for k, o in enumerate(self.observations) if k not in gone], self.fixed, self.scalars
        )

    def _evaluate(self, state: Array, *, with_jacobian: bool) -> tuple[Array, Array]:
        several = state.shape[:-1]
        plane = state[..., : 2 * len(self.points)].reshape(*several, -1, 2)
        predicted = np.empty((*several, len(self.observations)))
        jacobian = np.zeros((*predicted.shape, self.size)) if with_jacobian else np.empty((0, 0))
        for kind, (rows, *parts) in self._groups.items():
            if kind == "distance":
                i, j = parts
                step = plane[..., j, :] - plane[..., i, :]
                length = np.maximum(np.hypot(step[..., 0], step[..., 1]), TINY)
                predicted[..., rows] = length
                if with_jacobian:
                    unit = step / length[..., None]
                    _put(jacobian, self._targets[kind], (-unit, unit))
            elif kind in ("offset", "along"):
                p, a, b = parts
                start = plane[..., a, :]
                wall, arm = plane[..., b, :] - start, plane[..., p, :] - start
                length = np.maximum(np.hypot(wall[..., 0], wall[..., 1]), TINY)[..., None]
                u = wall / length
                n = np.stack((-u[..., 1], u[..., 0]), axis=-1)
                t, s = (u * arm).sum(axis=-1)[..., None], (n * arm).sum(axis=-1)[..., None]
                if kind == "along":
                    predicted[..., rows] = t[..., 0]
                    by_p, by_b = u, (s / length) * n
                else:
                    predicted[..., rows] = np.abs(s[..., 0])
                    side = np.where(s < 0, -1.0, 1.0)
                    by_p, by_b = side * n, -side * (t / length) * n
                if with_jacobian and kind == "offset":
                    _put(jacobian, self._targets[kind], (by_p, -by_p - by_b, by_b))
                elif with_jacobian:  # the end of a wall may be the point itself, whose derivatives then add up
                    _add(jacobian, rows, p, by_p)
                    _add(jacobian, rows, b, by_b)
                    _add(jacobian, rows, a, -by_p - by_b)
            else:
                (column,) = parts
                predicted[..., rows] = state[..., column]
                if with_jacobian:
                    jacobian[..., rows, column] += 1.0
        return predicted, jacobian


def _put(jacobian: Array, targets: NDArray[np.intp], by_points: Sequence[Array]) -> None:
    flat = jacobian.reshape(*jacobian.shape[:-2], -1)
    flat[..., targets] = np.concatenate([by[..., axis] for by in by_points for axis in (0, 1)], axis=-1)


def _add(jacobian: Array, rows: NDArray[np.intp], points: NDArray[np.intp], by_point: Array) -> None:
    jacobian[..., rows, 2 * points] += by_point[..., 0]
    jacobian[..., rows, 2 * points + 1] += by_point[..., 1]


def build(
    points: Sequence[str],
    observations: Iterable[Observation],
    fixed: Mapping[tuple[str, str], float],
    scalars: Sequence[tuple[str, str]] | None = None,
) -> Network:
    """A network from its parts.

    Raises:
        ValueError: a point named twice, a reading to an unknown point, a value or a spread that is not positive
        and finite.
    """
    names = tuple(points)
    number = {name: k for k, name in enumerate(names)}
    if len(number) != len(names):
        raise ValueError("a point is named twice")
    read = tuple(observations)
    for observation in read:
        _check(observation, number)
    asked = {(o.kind, o.points[0]): None for o in read if o.kind in ("diameter", "height")}
    kept = tuple(s for s in scalars if s in asked) if scalars is not None else tuple(asked)
    groups: dict[str, tuple[NDArray[np.intp], ...]] = {}
    for kind in ("distance", "offset", "along"):
        chosen = [(k, o) for k, o in enumerate(read) if o.kind == kind]
        if chosen:
            parts = [[number[name] for name in o.all_points] for _, o in chosen]
            groups[kind] = (_indices(k for k, _ in chosen), *(_indices(column) for column in zip(*parts, strict=True)))
    direct = [(k, o) for k, o in enumerate(read) if o.kind not in ("distance", "offset", "along")]
    if direct:
        columns = [
            2 * number[o.points[0]] + (o.kind == "y")
            if o.kind in ("x", "y")
            else 2 * len(names) + kept.index((o.kind, o.points[0]))
            for _, o in direct
        ]
        groups["direct"] = (_indices(k for k, _ in direct), _indices(columns))
    held = {2 * number[name] + (axis == "y") for name, axis in fixed}
    size = 2 * len(names) + len(kept)
    targets = {
        kind: np.concatenate([rows * size + 2 * part + axis for part in parts for axis in (0, 1)])
        for kind, (rows, *parts) in groups.items()
        if kind in ("distance", "offset")
    }
    return Network(
        points=names,
        observations=read,
        fixed=dict(fixed),
        scalars=kept,
        values=np.array([o.value for o in read], dtype=float),
        sigmas=np.array([o.sigma for o in read], dtype=float),
        free=_indices(k for k in range(size) if k not in held),
        _groups=groups,
        _targets=targets,
    )


def _indices(numbers: Iterable[int]) -> NDArray[np.intp]:
    return np.fromiter(numbers, dtype=np.intp)


def _check(observation: Observation, number: Mapping[str, int]) -> None:
    where = f"reading {observation.id}"
    for name in observation.all_points:
        if name not in number:
            raise ValueError(f"{where}: there is no point '{name}'")
    if len(observation.points) != (2 if observation.kind == "distance" else 1):
        raise ValueError(
            f"{where}: a {observation.kind} names {'two points' if observation.kind == 'distance' else 'one'}"
        )
    if observation.kind == "distance" and observation.points[0] == observation.points[1]:
        raise ValueError(f"{where}: a distance from '{observation.points[0]}' to itself; name two points")
    if observation.kind in ("offset", "along"):
        if observation.wall is None:
            raise ValueError(f"{where}: an {observation.kind} reading needs the two points of its wall")
        if observation.wall[0] == observation.wall[1]:
            raise ValueError(f"{where}: a wall of no length, from '{observation.wall[0]}' to itself")
        if observation.kind == "offset" and observation.points[0] in observation.wall:
            raise ValueError(f"{where}: '{observation.points[0]}' is an end of that wall, its offset says nothing")
        if observation.kind == "along" and observation.points[0] == observation.wall[0]:
            raise ValueError(f"{where}: '{observation.points[0]}' is where the wall begins, so this says nothing")
    if not (np.isfinite(observation.value) and np.isfinite(observation.sigma) and observation.sigma > 0):
        raise ValueError(f"{where}: the value and the spread must be numbers, and the spread above zero")
