"""What a trial teaches: readings of where tubes landed, taken in by Bayes' rule.

The prior is the model's; each landing read is a linear observation with its own spread, so that the posterior is
normal again: mean and covariance as in a Kalman update, which are the normal equations of least squares with the prior
as further observations.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.sureness.model import Model, trial_sources

Array = NDArray[np.float64]

#: Chi-square with two degrees of freedom that is exceeded once in a thousand times: -2 ln 0.001.
_SURPRISE = 13.82


@dataclass(frozen=True)
class Read:
    """A landing that was read: the tube's number, its offset from where the device's port is drawn, and its spread."""

    index: int
    offset: tuple[float, float]
    spread_mm: float


def landings_read(document: Document, model: Model) -> list[Read]:
    """What trials read of the tubes: kept landings, and the fit readings of ports as they stand now."""
    by_serves = {tube.serves: k for k, tube in enumerate(model.drops)}
    by_port = {tube.port: k for k, tube in enumerate(model.drops)}
    found = []
    for landing in document.landings:
        k = by_serves.get(landing.serves)
        if k is not None:
            x, y = model.drops[k].above
            found.append(Read(k, (landing.x_mm - x, landing.y_mm - y), landing.spread_mm))
    for reading in document.fit_readings:
        k = by_port.get(reading.port)
        if k is not None and reading.dx_mm is not None and reading.dy_mm is not None:
            tube = model.drops[k]
            found.append(Read(k, (reading.dx_mm - tube.offset[0], reading.dy_mm - tube.offset[1]), reading.spread_mm))
    return found


def surprised(model: Model, reads: list[Read], seating_mm: float) -> tuple[Model, tuple[str, ...]]:
    """The model with room for what its spreads do not explain, and the ports it is about.

    A landing read so far off that the spreads would show it once in a thousand trials is no matter of spread: the
    hardware is not where it was said to be. That tube gets a source of its own, as wide as the reading is off, so that
    the reading is believed and not the drawing.
    """
    columns, ports = [], []
    for read in reads:
        gain = model.gain[read.index][:, list(trial_sources(model))]
        spread = gain @ gain.T + np.eye(2) * (read.spread_mm**2 + seating_mm**2)
        off = np.array(read.offset)
        if float(off @ np.linalg.solve(spread, off)) <= _SURPRISE:
            continue
        ports.append(model.drops[read.index].port)
        for axis in range(2):
            column = np.zeros((len(model.drops), 2))
            column[read.index, axis] = float(np.hypot(*off))
            columns.append(column)
    if not columns:
        return model, ()
    size = len(model.sources) + len(columns)
    inner = np.eye(size)
    inner[: len(model.sources), : len(model.sources)] = model.inner
    gain = np.concatenate([model.gain, np.stack(columns, axis=-1)], axis=-1)
    sources = (*model.sources, *["unexplained"] * len(columns))
    about = (*model.about, *[port for port in ports for _ in range(2)])
    return replace(model, gain=gain, sources=sources, inner=inner, about=about), tuple(dict.fromkeys(ports))


def taught(model: Model, reads: list[Read], seating_mm: float) -> Model:
    """The model after a trial.

    Args:
        model: before it.
        reads: what was read.
        seating_mm: spread of the test piece's own place in the case, which all of its readings share.
    """
    if not reads:
        return model
    learnt = list(trial_sources(model))
    size = len(model.sources)
    # Observed: how far the device's port is off its drawn place, less the test piece's own shift, with the reading's
    # error on top.
    rows = np.zeros((2 * len(reads), size))
    for k, read in enumerate(reads):
        rows[2 * k : 2 * k + 2, learnt] = model.gain[read.index][:, learnt]
    noise = np.diag(np.repeat([read.spread_mm**2 for read in reads], 2))
    shared = np.tile(np.eye(2), (len(reads), 1)) * seating_mm
    innovation = rows @ model.inner @ rows.T + noise + shared @ shared.T
    values = np.array([value for read in reads for value in read.offset])
    weight = np.linalg.solve(innovation, rows @ model.inner).T
    return replace(
        model,
        mean=model.mean + model.gain @ (weight @ values),
        inner=model.inner - weight @ rows @ model.inner,
    )


def with_readings(model: Model, rows: Array, sigma_mm: float) -> Model:
    """The model that knows further readings of the survey or of hardware, each of which agreed with what is expected.

    Args:
        model: before them.
        rows: (k, m) how each reading depends on the model's numbers.
        sigma_mm: spread of each reading, independent of all else.
    """
    seen = rows @ model.inner
    innovation = seen @ rows.T + np.eye(len(rows)) * max(sigma_mm, 1e-6) ** 2
    return replace(model, inner=model.inner - seen.T @ np.linalg.solve(innovation, seen))
