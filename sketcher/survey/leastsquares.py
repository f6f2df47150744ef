"""Weighted least squares on a network: the best state, its covariance, and the directions no reading holds.

Gauss-Newton with Levenberg-Marquardt damping. The spreads of the tools are taken as known, so covariances are a priori
ones (variance factor 1): that is what Baarda's test needs, and it does not let two lucky readings promise a
perfect floor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sketcher.survey.readings_network import Array, Network

#: A direction whose spread would be larger than this is not held by the readings (same unit as the network, mm here).
LOOSE_SIGMA = 100.0
MOST_STEPS = 80
#: Where so many steps in turn take off next to nothing (as a part of the sum of squares) readings contradict each
#: other: the state creeps along a valley, and no further step would say more.
IDLE_STEPS, IDLE_PART = 5, 1e-7


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
    free = network.free
    state = start.copy()
    predicted, jacobian = network.linearise(state)
    misfit = (network.values - predicted) / network.sigmas
    chi2 = float(misfit @ misfit)
    damping = 1e-9
    converged = len(free) == 0
    idle = 0
    for _ in range(most_steps):
        if converged or idle >= IDLE_STEPS:
            break
        weighted = jacobian[:, free] / network.sigmas[:, None]
        normal = weighted.T @ weighted
        scale = max(float(np.trace(normal)) / len(free), 1e-12)
        gradient = weighted.T @ misfit
        while True:
            step = np.linalg.solve(normal + damping * scale * np.eye(len(free)), gradient)
            trial = state.copy()
            trial[free] += step
            trial_predicted = network.predict(trial)
            trial_misfit = (network.values - trial_predicted) / network.sigmas
            trial_chi2 = float(trial_misfit @ trial_misfit)
            if trial_chi2 <= chi2 * (1 + 1e-14) + 1e-18:
                damping = max(damping / 10, 1e-12)
                break
            if damping > 1e8 or float(np.max(np.abs(step))) < 1e-10:
                converged = True
                trial, trial_chi2 = state, chi2
                break
            damping = max(damping * 10, 1e-6)
        small = float(np.max(np.abs(step))) < 1e-9 * (1.0 + float(np.max(np.abs(state))))
        idle = idle + 1 if chi2 - trial_chi2 < IDLE_PART * chi2 else 0
        state, chi2 = trial, trial_chi2
        predicted, jacobian = network.linearise(state)
        misfit = (network.values - predicted) / network.sigmas
        if small and damping <= 1e-3:
            converged = True
    return Solution(state, chi2, converged)


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
