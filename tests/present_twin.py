"""Sequences moved to today's river again, one number after the other, in plain Python.

Written from the rule alone, apart from `model.sequences`: no arrays but for the small systems of
equations. Each case left out is left out by fitting anew without it.
"""

from __future__ import annotations

import math

LEADS = [(0, 3), (3, 6), (6, 12), (12, 24), (24, 36)]
LOOKS_BACK = [1, 3, 12, 36]
STRENGTHS = [0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 10_000.0]


def factors_of(
    flow: list[float], row: int, first_rows: list[int], normals: list[list[float]], months: int
) -> list[float]:
    """Return the factor of each month of one sequence.

    `flow` is known up to `row`, where the run opens; `first_rows` are the rows of its slices, and
    `normals` the standard normal numbers of each lead, one a feature.
    """
    starts = list(range(row % 12, row, 12))
    before = {at: _logs_before(flow, at, starts) for at in range(len(flow) + 1)}
    known = [[before[at][f] for at in starts if before[at][f] is not None] for f in range(4)]
    middle = [sum(k) / len(k) if k else 0.0 for k in known]
    spread = [
        math.sqrt(sum((x - m) ** 2 for x in k) / len(k)) if k else 1.0
        for k, m in zip(known, middle, strict=True)
    ]

    def scaled(at: int) -> list[float]:
        if at < 0:
            return [0.0] * 4
        return [
            0.0 if x is None else (x - m) / s
            for x, m, s in zip(before[at], middle, spread, strict=True)
        ]

    factors = []
    for lead, (first, last) in enumerate(LEADS):
        if first >= months:
            break
        cases = [at for at in starts if at + last <= row]
        sums = [sum(flow[at + first : at + last]) for at in cases]
        usual = sum(sums) / len(sums)
        came = [math.log(total / usual + 0.02) for total in sums]
        slopes = _drawn_slopes([scaled(at) for at in cases], came, normals[lead])
        season = first // 12
        past = scaled(first_rows[season] - 12 * season)
        exponent = sum(s * (n - p) for s, n, p in zip(slopes, scaled(row), past, strict=True))
        factor = math.exp(max(-1.5, min(1.5, exponent)))
        factors += [factor] * (min(last, months) - first)
    return factors


def _logs_before(flow: list[float], at: int, starts: list[int]) -> list[float | None]:
    """Return the logarithm of the flow before a row over each look back; None before the record."""
    logs: list[float | None] = []
    for months in LOOKS_BACK:
        past = [sum(flow[s - months : s]) for s in starts if s >= months]
        usual = sum(past) / len(past) if past else 0.0
        if at < months:
            logs.append(None)
        else:
            logs.append(math.log(sum(flow[at - months : at]) / usual + 0.02) if usual else 0.0)
    return logs


def _drawn_slopes(pasts: list[list[float]], came: list[float], normals: list[float]) -> list[float]:
    """Fit, choose the strength case by case left out, and draw slopes by the fit's error."""
    best = min(reversed(STRENGTHS), key=lambda strength: _left_out_error(pasts, came, strength))
    slopes, intercept, matrix = _fit(pasts, came, best)
    left = [
        y - intercept - sum(s * x for s, x in zip(slopes, past, strict=True))
        for past, y in zip(pasts, came, strict=True)
    ]
    n = len(came)
    means = [sum(past[f] for past in pasts) / n for f in range(4)]
    inverse = _inverse(matrix)
    hat = sum(
        1.0 / n
        + sum(
            (past[f] - means[f]) * inverse[f][g] * (past[g] - means[g])
            for f in range(4)
            for g in range(4)
        )
        for past in pasts
    )
    variance = sum(each * each for each in left) / (n - hat)
    root = _root([[variance * x for x in row] for row in inverse])
    return [
        s + sum(r * z for r, z in zip(row, normals, strict=True))
        for s, row in zip(slopes, root, strict=True)
    ]


def _left_out_error(pasts: list[list[float]], came: list[float], strength: float) -> float:
    """Return the squared error on each case, fitted on the others."""
    total = 0.0
    for out in range(len(came)):
        others = [p for at, p in enumerate(pasts) if at != out]
        theirs = [y for at, y in enumerate(came) if at != out]
        slopes, intercept, _ = _fit(others, theirs, strength)
        said = intercept + sum(s * x for s, x in zip(slopes, pasts[out], strict=True))
        total += (came[out] - said) ** 2
    return total


def _fit(
    pasts: list[list[float]], came: list[float], strength: float
) -> tuple[list[float], float, list[list[float]]]:
    """Fit a ridge with a free intercept; give also X'X + strength, of centred features."""
    n = len(came)
    means = [sum(past[f] for past in pasts) / n for f in range(4)]
    mean = sum(came) / n
    matrix = [
        [
            sum((p[f] - means[f]) * (p[g] - means[g]) for p in pasts)
            + (strength if f == g else 0.0)
            for g in range(4)
        ]
        for f in range(4)
    ]
    right = [
        sum((p[f] - means[f]) * (y - mean) for p, y in zip(pasts, came, strict=True))
        for f in range(4)
    ]
    inverse = _inverse(matrix)
    slopes = [sum(i * r for i, r in zip(row, right, strict=True)) for row in inverse]
    return slopes, mean - sum(s * m for s, m in zip(slopes, means, strict=True)), matrix


def _inverse(matrix: list[list[float]]) -> list[list[float]]:
    """Invert a matrix by elimination; no row needs changing, as it is positive definite."""
    size = len(matrix)
    rows = [[*row, *(1.0 if i == j else 0.0 for j in range(size))] for i, row in enumerate(matrix)]
    for at in range(size):
        pivot = rows[at][at]
        rows[at] = [x / pivot for x in rows[at]]
        for other in range(size):
            if other != at:
                times = rows[other][at]
                rows[other] = [x - times * y for x, y in zip(rows[other], rows[at], strict=True)]
    return [row[size:] for row in rows]


def _root(covariance: list[list[float]]) -> list[list[float]]:
    """Return the symmetric root of a covariance: the same whatever the directions are called."""
    size = len(covariance)
    turned = [row[:] for row in covariance]
    vectors = [[1.0 if i == j else 0.0 for j in range(size)] for i in range(size)]
    for _ in range(60):  # Jacobi's rotations
        for p in range(size):
            for q in range(p + 1, size):
                if abs(turned[p][q]) < 1e-300:
                    continue
                angle = 0.5 * math.atan2(2.0 * turned[p][q], turned[q][q] - turned[p][p])
                c, s = math.cos(angle), math.sin(angle)
                for k in range(size):
                    a, b = turned[k][p], turned[k][q]
                    turned[k][p], turned[k][q] = c * a - s * b, s * a + c * b
                for k in range(size):
                    a, b = turned[p][k], turned[q][k]
                    turned[p][k], turned[q][k] = c * a - s * b, s * a + c * b
                for k in range(size):
                    a, b = vectors[k][p], vectors[k][q]
                    vectors[k][p], vectors[k][q] = c * a - s * b, s * a + c * b
    scale = [math.sqrt(max(0.0, turned[k][k])) for k in range(size)]
    return [
        [sum(vectors[i][k] * scale[k] * vectors[j][k] for k in range(size)) for j in range(size)]
        for i in range(size)
    ]
