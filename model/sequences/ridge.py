"""How much of some features lasts in what came after them, and how sure is that?

Ridge regression with a free intercept, on many weightings of the same cases at once. The strength
of the ridge is the one of STRENGTHS that errs least on cases left out one at a time: all copies of
a case at once, where a weight counts it more than once. The error of the slopes is normal, with
covariance s^2 (X'X + strength)^-1, where s^2 is the variance of what is left over.

Kernels on arrays. Features are scaled by the caller.
"""

from __future__ import annotations

from collections.abc import Iterator
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

    def each(self) -> Iterator[Ridge]:
        """Iterate over the weightings, each as a fit of its own."""
        for at in range(len(self.mean)):
            one = slice(at, at + 1)
            yield Ridge(self.mean[one], self.root[one], self.strength[one])

    def slopes(self, normals: FloatArray) -> FloatArray:
        """Draw slopes of the first weighting, (draw, feature), from standard normal numbers."""
        return np.asarray(self.mean[0] + normals @ self.root[0])


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
    xtx = np.einsum("wcf,wc,wcg->wfg", x, weights, x, optimize=True)
    xty = np.einsum("wcf,wc->wf", x, weights * y)
    values, vectors = np.linalg.eigh(xtx)
    turned = x @ vectors  # (weighting, case, feature) on the axes of X'X
    target = np.einsum("wfe,wf->we", vectors, xty)
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
