"""How much of some features lasts in what came after them, and how sure is that?

Ridge regression with a free intercept, on many weightings of the same cases at once. The strength
of the ridge is the one of STRENGTHS that errs least on cases left out one at a time: all copies of
a case at once, where a weight counts it more than once. The error of the slopes is normal, with
covariance s^2 (X'X + strength)^-1, where s^2 is the variance of what is left over.

Kernels on arrays. Features are scaled by the caller.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from model.record.record import FloatArray

STRENGTHS: Final = (0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 10_000.0)
"""From hardly any ridge to one that leaves no slope."""


@dataclass(frozen=True, slots=True)
class Ridge:
    """Slopes and their error, for each weighting of the cases."""

    mean: FloatArray  # (weighting, feature)
    root: FloatArray  # (weighting, feature, feature) symmetric: times standard normals, the error
    strength: FloatArray  # (weighting,)

    def slopes(self, normals: FloatArray) -> FloatArray:
        """Draw slopes, (draw, feature), from standard normal numbers: as many of each weighting."""
        of_each = normals.reshape(len(self.mean), -1, normals.shape[1])
        return np.asarray(self.mean[:, None] + of_each @ self.root).reshape(normals.shape)


def fit_ridge(features: FloatArray, response: FloatArray, weights: FloatArray) -> Ridge:
    """Fit slopes and choose the strength of the ridge.

    Parameters
    ----------
    features
        (case, feature), each of a spread near 1.
    response
        (case,)
    weights
        (weighting, case) how often each case counts, 0 or more.

    Returns
    -------
    Ridge
        Slopes of nothing, and no error, where a weighting has fewer cases than would leave any.
    """
    total = weights.sum(axis=1, keepdims=True)
    x = features - (weights @ features / total)[:, None, :]
    y = response - weights @ response[:, None] / total
    weighted = (x * weights[:, :, None]).swapaxes(1, 2)
    xtx = weighted @ x
    xty = (weighted @ y[:, :, None])[:, :, 0]
    values, vectors = np.linalg.eigh(xtx)
    turned = x @ vectors  # (weighting, case, feature) on the axes of X'X
    target = (xty[:, None, :] @ vectors)[:, 0]
    shrunk = 1.0 / (np.maximum(values, 0.0)[:, None, :] + np.array(STRENGTHS)[:, None])
    left = y[:, None, :] - (shrunk * target[:, None, :]) @ turned.swapaxes(1, 2)
    own = shrunk @ (turned**2).swapaxes(1, 2) + 1.0 / total[:, :, None]
    alone = np.maximum(1.0 - weights[:, None, :] * own, 1e-9)
    errors = np.einsum("wc,wsc->ws", weights, (left / alone) ** 2)
    best = len(STRENGTHS) - 1 - np.argmin(errors[:, ::-1], axis=1)  # of equal ones, the strongest
    row = np.arange(len(weights))
    free = total[:, 0] - np.einsum("wc,wc->w", weights, own[row, best])
    variance = np.einsum("wc,wc->w", weights, left[row, best] ** 2) / np.maximum(free, 1.0)
    chosen = shrunk[row, best]
    along = vectors * np.sqrt(variance[:, None] * chosen)[:, None, :]
    return Ridge(
        mean=np.einsum("wfe,we->wf", vectors, chosen * target),
        root=along @ vectors.swapaxes(1, 2),
        strength=np.array(STRENGTHS)[best],
    )
