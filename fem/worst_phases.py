"""Phases at which superposed phasors of unknown phase have the largest sum of squares."""

from __future__ import annotations

import itertools

import numpy as np

from fem.arrays import Complexes, Floats

STARTS = 4
"""Phases from which each of the first unknown ones starts but one, if there are several."""
MOST_STARTED = 3
"""Unknown phases that start from each of these; further ones start at zero."""
ROUNDS = 100
"""Turns of each phase to its best; a round raises the sum, and the last ones by rounding only."""


def gram(vectors: Complexes) -> Complexes:
    """Products of n superposed vectors at q places, from shape (n, q, d) to G_kl = conj(v_k) . v_l, shape (q, n, n)."""
    products: Complexes = np.einsum("kqd,lqd->qkl", vectors.conj(), vectors)
    return products


def worst_phases(products: Complexes) -> tuple[Floats, Floats]:
    """Largest |v_0 + sum e^{j phi_k} v_k|^2 over all phases, and the phases.

    products, shape (q, n, n): Hermitian products of the n terms, as of `gram`, or of any quadratic form.
    Returns squares, shape (q,), phases, shape (q, n - 1): In the unit of the products, and in rad.

    With x = (1, e^{j phi_1}, ...) the sum is x* G x. In one phase it is largest where x_k has the phase of
    sum_{l != k} G_kl x_l, which for n = 2 is the solution: |v_0|^2 + |v_1|^2 + 2 |v_0 . v_1|. For more, one phase
    after the other is turned there from several starts, which finds the highest of several maxima.
    """
    count, size = products.shape[:2]
    best, found = np.full(count, -np.inf), np.zeros((count, max(size - 1, 0)))
    several = min(max(size - 2, 0), MOST_STARTED)
    for start in itertools.product(2 * np.pi * np.arange(STARTS) / STARTS, repeat=several):
        x = np.ones((count, size), dtype=np.complex128)
        x[:, 1 : 1 + several] = np.exp(1j * np.array(start))
        for _ in range(ROUNDS if size > 2 else min(size - 1, 1)):
            before = x.copy()
            for k in range(size - 1, 0, -1):
                pull = np.einsum("ql,ql->q", products[:, k], x) - products[:, k, k] * x[:, k]
                x[:, k] = np.where(pull != 0, np.exp(1j * np.angle(pull)), 1.0)
            if np.abs(x - before).max(initial=0.0) < 1e-12:
                break
        squares = np.einsum("qk,qkl,ql->q", x.conj(), products, x).real
        higher = squares > best
        best[higher] = squares[higher]
        found[higher] = np.angle(x[higher, 1:])
    return np.maximum(best, 0.0), found
