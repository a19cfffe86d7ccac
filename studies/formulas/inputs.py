"""Refusal of impossible inputs: not a number, of the wrong sign or of the wrong shape.

An input outside the range of an approximate formula is no error: `studies.formulas.formula.outside_range` names it.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Complexes, Floats


def _refuse(name: str, value: object, wanted: str) -> ValueError:
    return ValueError(f"{name} must be {wanted}: {value!r}")


def finite(name: str, value: ArrayLike) -> Floats:
    """Real numbers, none of them infinite or not a number."""
    array = np.asarray(value)
    if np.iscomplexobj(array) or not np.all(np.isfinite(array)):
        raise _refuse(name, value, "real and finite")
    return array.astype(np.float64)


def choice(name: str, value: str, choices: Iterable[str]) -> str:
    """One of some words."""
    if value not in (words := sorted(choices)):
        raise _refuse(name, value, f"one of {', '.join(words)}")
    return value


def positive(name: str, value: ArrayLike) -> Floats:
    """Finite real numbers above 0."""
    array = finite(name, value)
    if not np.all(array > 0):
        raise _refuse(name, value, "above 0")
    return array


def zero_or_above(name: str, value: ArrayLike) -> Floats:
    """Finite real numbers, 0 or above."""
    array = finite(name, value)
    if not np.all(array >= 0):
        raise _refuse(name, value, "0 or above")
    return array


def above(name: str, value: ArrayLike, lower_name: str, lower: Floats) -> Floats:
    """Finite real numbers above another input, element by element."""
    array = finite(name, value)
    if not np.all(array > lower):
        raise _refuse(name, value, f"above {lower_name} ({lower})")
    return array


def not_below(name: str, value: ArrayLike, lower_name: str, lower: Floats) -> Floats:
    """Finite real numbers equal to another input or above it, element by element."""
    array = finite(name, value)
    if not np.all(array >= lower):
        raise _refuse(name, value, f"{lower_name} ({lower}) or above")
    return array


def plane_points(name: str, value: ArrayLike) -> Floats:
    """Points of the plane, shape (n, 2); one point of shape (2,) becomes (1, 2)."""
    array = np.atleast_2d(finite(name, value))
    if array.ndim != 2 or array.shape[1] != 2:
        raise ValueError(f"{name} must have the shape (n, 2): {array.shape}")
    return array


def axis_distances(axes: Floats, radii: Floats) -> Floats:
    """Distances between different axes, shape (m, m), the radii on the diagonal. [m]"""
    distances: Floats = np.linalg.norm(axes[:, None, :] - axes[None, :, :], axis=2)
    distances[np.diag_indices(len(axes))] = radii
    if np.any(distances == 0):
        raise ValueError("axes: two of the positions are the same")
    return distances


def plane_point(name: str, value: ArrayLike) -> Floats:
    """One point of the plane, shape (2,)."""
    array = finite(name, value)
    if array.shape != (2,):
        raise ValueError(f"{name} must have the shape (2,): {array.shape}")
    return array


def phasors(name: str, value: ArrayLike, count: int) -> Complexes:
    """A given count of finite complex numbers, shape (count,)."""
    array = np.atleast_1d(np.asarray(value)).astype(np.complex128)
    if array.shape != (count,):
        raise ValueError(f"{name} must have the shape ({count},): {array.shape}")
    if not np.all(np.isfinite(array)):
        raise _refuse(name, value, "finite")
    return array


def one_each(name: str, values: Floats, count: int) -> Floats:
    """A given count of numbers, shape (count,), from as many or from one for all."""
    if values.shape not in ((), (count,)):
        raise ValueError(f"{name} must be one number or {count} of them: shape {values.shape}")
    return np.broadcast_to(values, (count,))
