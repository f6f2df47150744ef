"""Weighted least squares on a network: the best state, its covariance, and the directions no reading holds.

Gauss-Newton with Levenberg-Marquardt damping. The spreads of the tools are taken as known, so covariances are a priori
ones (variance factor 1): that is what Baarda's test needs, and it does not let two lucky readings promise a
perfect floor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sketcher.survey.readings_network import Array, Network

#: A direction whose spread would be larger than this is not held by the readings (same unit as the network, mm here).
LOOSE_SIGMA = 100.0
MOST_STEPS = 50
#: A step that makes it worse is tried again shorter; no more tries than so many for each step allowed.
TRIES = 2
#: Where so many steps in turn take off next to nothing (as a part of the sum of squares) readings contradict each
#: other: the state creeps along a valley, and no further step would say more. Where they miss by so many spreads on
#: average its end is of no interest, and less counts as nothing.
IDLE_STEPS, IDLE_PART, IDLE_PART_FAR, FAR = 5, 1e-7, 1e-5, 5.0


@dataclass(frozen=True)
class Solution:
    """The best state found. ``chi2`` is the weighted sum of squared residuals."""

    state: Array
    chi2: float
    converged: bool


@dataclass(frozen=True)
class Precision:
    """What the geometry of the readings gives at a state.

    ``covariance`` (size, size) has zeros for held coordinates and leaves out loose directions; ``loose`` (size,
    k) spans the directions that no reading holds; ``redundancy`` (readings,) is each reading's share, from 0
    (nothing checks it) to 1; ``degrees`` is their sum, the number of surplus readings.
    """

    covariance: Array
    loose: Array
    redundancy: Array
    degrees: int
    jacobian: Array
    predicted: Array


def solve(network: Network, start: Array, most_steps: int = MOST_STEPS) -> Solution:
    """Least squares from a start, in at most so many steps. Loose directions stay where they start."""
    return solve_many(network, start[None, :], most_steps)[0]


def solve_many(
    network: Network, starts: Array, most_steps: int = MOST_STEPS, sigmas: Array | None = None
) -> list[Solution]:
    """Least squares from several starts at once: a small network's steps cost next to nothing beside their calls.

    Args:
        network: points and readings.
        starts: states, (starts, size).
        most_steps: steps that are taken from each.
        sigmas: of each reading for each start, (starts, readings), where they are not the network's; infinite for one
            that is left out.
    """
    free = network.free
    count = len(starts)
    weights = 1.0 / (network.sigmas if sigmas is None else sigmas)
    run = _Runs(network, np.array(starts, dtype=float), np.broadcast_to(weights, (count, len(network.values))))
    solved: list[Solution] = [Solution(run.state[k], float(run.chi2[k]), len(free) == 0) for k in range(count)]
    number = np.arange(count)
    while len(free) and len(number):
        done, converged = run.step(most_steps)
        for k in np.flatnonzero(done):
            solved[number[k]] = Solution(run.state[k].copy(), float(run.chi2[k]), bool(converged[k]))
        if done.any():
            number = number[~done]
            run.keep(~done)
    return solved


class _Runs:
    """Runs of one network from several starts, one row each: where they are, and how they are doing."""

    def __init__(self, network: Network, state: Array, weights: Array) -> None:
        self.network, self.state, self.weights = network, state, weights
        predicted, self.jacobian = network.linearise(state)
        self.misfit = (network.values - predicted) * weights
        self.chi2 = (self.misfit**2).sum(axis=1)
        self.damping = np.full(len(state), 1e-9)
        self.idle, self.steps, self.tries = (np.zeros(len(state), dtype=int) for _ in range(3))

    def step(self, most_steps: int) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """One try of a step for each; which are done, and which of those have converged."""
        network, free = self.network, self.network.free
        weighted = self.jacobian[:, :, free] * self.weights[:, :, None]
        turned = weighted.swapaxes(1, 2)
        normal, gradient = turned @ weighted, turned @ self.misfit[:, :, None]
        diagonal = np.einsum("kii->ki", normal)  # a view: the damping goes into the matrix
        diagonal += (self.damping * np.maximum(diagonal.mean(axis=1), 1e-12))[:, None]
        step = np.linalg.solve(normal, gradient)[:, :, 0]
        largest = np.abs(step).max(axis=1)
        trial = self.state.copy()
        trial[:, free] += step
        predicted, jacobian = network.linearise(trial)
        misfit = (network.values - predicted) * self.weights
        chi2 = (misfit**2).sum(axis=1)
        better = chi2 <= self.chi2 * (1 + 1e-14) + 1e-18
        stuck = ~better & ((self.damping > 1e8) | (largest < 1e-10))
        self.damping = np.where(better, np.maximum(self.damping / 10, 1e-12), np.maximum(self.damping * 10, 1e-6))
        small = better & (largest < 1e-9 * (1.0 + np.abs(self.state).max(axis=1))) & (self.damping <= 1e-3)
        part = np.where(self.chi2 > FAR**2 * len(network.values), IDLE_PART_FAR, IDLE_PART)
        self.idle = np.where(better, np.where(self.chi2 - chi2 < part * self.chi2, self.idle + 1, 0), self.idle)
        self.steps += better
        self.tries += 1
        if better.all():
            self.state, self.misfit, self.chi2, self.jacobian = trial, misfit, chi2, jacobian
        else:
            for mine, new in ((self.state, trial), (self.misfit, misfit), (self.chi2, chi2), (self.jacobian, jacobian)):
                mine[better] = new[better]
        converged = stuck | small
        ended = (self.idle >= IDLE_STEPS) | (self.steps >= most_steps) | (self.tries >= TRIES * most_steps)
        return converged | ended, converged

    def keep(self, those: NDArray[np.bool_]) -> None:
        """Go on with some of them."""
        for name in ("state", "weights", "jacobian", "misfit", "chi2", "damping", "idle", "steps", "tries"):
            setattr(self, name, getattr(self, name)[those])


def precision(network: Network, state: Array, loose_sigma: float = LOOSE_SIGMA) -> Precision:
    """Covariance, loose directions and redundancy of a network at a state."""
    free = network.free
    predicted, jacobian = network.linearise(state)
    weighted = jacobian[:, free] / network.sigmas[:, None]
    values, vectors = np.linalg.eigh(weighted.T @ weighted)
    held = values > 1.0 / loose_sigma**2
    inverse = (vectors[:, held] / values[held]) @ vectors[:, held].T
    covariance = np.zeros((network.size, network.size))
    covariance[np.ix_(free, free)] = inverse
    loose = np.zeros((network.size, int(np.count_nonzero(~held))))
    loose[free] = vectors[:, ~held]
    share = np.einsum("ij,jk,ik->i", weighted, inverse, weighted, optimize=True)
    redundancy = np.clip(1.0 - share, 0.0, 1.0)
    degrees = len(network.observations) - int(np.count_nonzero(held))
    return Precision(covariance, loose, redundancy, degrees, jacobian, predicted)
