"""Exact series solution for parallel round conductors and tubes: multipoles about every part, no mesh.

Outside the metal, A is the sum of line currents and of harmonic multipoles about each part. Expanded again about the
axis of another part, they are the field that reaches it; the Bessel solution in its metal gives its response. Skin and
proximity effects of all parts are exact except for the order at which the multipoles are cut off. The order is raised
until no result changes by more than the tolerance.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from fem.multipole_field import field_at, joule_and_magnetic_losses, potential_at
from fem.multipole_system import Multipoles, solve_multipoles
from fem.round_metal import Metal, metal_of
from fem.round_parts import OUTSIDE, RoundLayout, RoundPart, distance, enclosing_radius, lay_out

__all__ = ["RoundPart", "RoundSolution", "solve_round_parts"]


THICKEST = 1e7  # |k| times radius; up to here the Bessel functions have full accuracy, near 1e9 none
HIGHEST_ORDER = 240  # closer than about 0.4 % of a diameter parts need more, and the dense system is too large


@dataclass(frozen=True)
class RoundSolution:
    """Fields and admittances of round parts for one volt per metre on each of them in turn.

    layout: The N parts, in the order given, and the regions in which they lie.
    frequency: Frequency. [Hz]
    reference_radius: Radius of the far circle on which a net current returns. [m]
    admittance, shape (N, N): Y with i = Y u for the net currents i [A] and imposed voltage drops u [V/m]; symmetric.
        [S m]
    order: Highest multipole kept. [-]
    error_estimate: Largest relative change from a lower order: of Y_kl over sqrt(|Y_kk Y_ll|), or of B on the surfaces
        over its largest value there. [-]
    """

    layout: RoundLayout
    frequency: float
    reference_radius: float
    admittance: Complexes
    order: int
    error_estimate: float
    multipoles: Multipoles

    def field(self, voltages: ArrayLike, points: ArrayLike) -> Complexes:
        """Flux density (Bx, By) at points, in air or in metal.

        voltages, shape (N,): Imposed voltage drop of each part, rms phasors. [V/m]
        points, shape (n, 2): Points (x, y). [m]
        Returns field, shape (n, 2): Rms phasors of Bx and By; on a surface, those in the metal. [T]
        """
        return field_at(self.multipoles, self._voltages(voltages), _points(points))

    def vector_potential(self, voltages: ArrayLike, points: ArrayLike) -> Complexes:
        """Vector potential A_z at points, in air or in metal.

        voltages, shape (N,): Imposed voltage drop of each part, rms phasors. [V/m]
        points, shape (n, 2): Points (x, y). [m]
        Returns potential, shape (n,): Rms phasors; far from all parts mu_0/(2 pi) I ln(reference_radius/r) with the net
            current I. [Wb/m]
        """
        return potential_at(self.multipoles, self._voltages(voltages), _points(points))

    def losses(self, voltages: ArrayLike) -> Floats:
        """Joule loss of each part, integrated over its metal, independently of the admittance.

        voltages, shape (N,): Imposed voltage drop of each part, rms phasors. [V/m]
        Returns losses, shape (N,): Integral of sigma |E|^2 over each part. [W/m]
        """
        return joule_and_magnetic_losses(self.multipoles, self._voltages(voltages), 2 * np.pi * self.frequency)[0]

    def magnetic_losses(self, voltages: ArrayLike) -> Floats:
        """Hysteresis loss of each part, integrated over its metal.

        voltages, shape (N,): Imposed voltage drop of each part, rms phasors. [V/m]
        Returns losses, shape (N,): Integral of w Im(1/mu) |B|^2 over each part. [W/m]
        """
        return joule_and_magnetic_losses(self.multipoles, self._voltages(voltages), 2 * np.pi * self.frequency)[1]

    def _voltages(self, voltages: ArrayLike) -> Complexes:
        values = np.asarray(voltages, dtype=np.complex128)
        if values.shape != (len(self.layout.parts),) or not np.all(np.isfinite(values)):
            raise ValueError(
                f"voltages [V/m] must be {len(self.layout.parts)} finite numbers, one a part, not {values}"
            )
        return values


def solve_round_parts(
    parts: Sequence[RoundPart],
    frequency: float,
    reference_radius: float = 1000.0,
    order: int | None = None,
    tolerance: float = 1e-8,
    most_unknowns: int | None = None,
) -> RoundSolution:
    """Admittance matrix and field of parallel round parts at one frequency.

    parts: Parts that do not touch or cross; any of them may lie in the bore of a tube.
    frequency: Frequency f, 0 or above. [Hz]
    reference_radius: Radius of the far circle on which a net current returns; it must enclose the parts. [m]
    order: Highest multipole; chosen to meet the tolerance if not given. [-]
    tolerance: Largest accepted error estimate, 1e-12 to 0.1, if the order is not given. [-]
    most_unknowns: Largest number of coefficients of the dense system, two for each order and part. [-]
    Returns solution: Fields per unit voltage, admittances, order and error estimate.

    A part without conductivity carries no current: its row and column of Y are 0 and its voltage has no effect.
    Impossible input raises ValueError with the part and the value. A tolerance that is not met at the highest order or
    with the most unknowns raises RuntimeError. If no order is given, the first is half the order expected from the
    images, which mostly suffices; it is raised by a third at a time.
    """
    layout = lay_out(parts)
    _check_input(layout, frequency, reference_radius, order, tolerance)
    metals = tuple(_metal_in_range(part, frequency) for part in layout.parts)

    def solved(order: int) -> Multipoles:
        return solve_multipoles(layout, metals, 2 * np.pi * frequency, reference_radius, order)

    first = _first_order(layout, tolerance) if order is None else order
    _require_bounded(layout, first, most_unknowns)
    before, now = solved(max(1, first - max(2, first // 4))), solved(first)
    change = _relative_change(before, now)
    while order is None and change > tolerance:
        raised = _raised_order(now.order, change, tolerance)
        _require_bounded(layout, raised, most_unknowns)
        before, now = now, solved(raised)
        change = _relative_change(before, now)
    error = max(change, float(np.finfo(np.float64).eps))
    return RoundSolution(layout, float(frequency), float(reference_radius), now.admittance, now.order, error, now)


def _check_input(
    layout: RoundLayout, frequency: float, reference_radius: float, order: int | None, tolerance: float
) -> None:
    """Refuse an impossible input with its value."""
    enclosing = enclosing_radius(layout.parts)
    if not (np.isfinite(frequency) and frequency >= 0):
        raise ValueError(f"frequency [Hz] is {frequency}; it must be finite and 0 or above")
    if not (np.isfinite(reference_radius) and reference_radius > enclosing):
        raise ValueError(
            f"reference_radius [m] is {reference_radius}; it must be finite and above {enclosing:.6g}, "
            "the radius that encloses the parts"
        )
    if order is not None and not 1 <= order <= HIGHEST_ORDER:
        raise ValueError(f"order is {order}; it must be 1 to {HIGHEST_ORDER}")
    if not 1e-12 <= tolerance <= 0.1:
        raise ValueError(f"tolerance is {tolerance}; it must be 1e-12 to 0.1")


def _metal_in_range(part: RoundPart, frequency: float) -> Metal:
    """Metal of a part at a frequency [Hz], refused if the Bessel functions would lose their accuracy."""
    metal = metal_of(part, frequency)
    depths = abs(metal.k) * part.outer_radius
    if depths > THICKEST:
        raise ValueError(
            f"round part {part.name!r}: at {frequency} Hz outer_radius {part.outer_radius} m is {depths:.3g} times "
            f"1/|k|; it must be at most {THICKEST:.0e} times"
        )
    return metal


def _first_order(layout: RoundLayout, tolerance: float) -> int:
    """Half the order expected from the images, or the highest order if that is expected."""
    expected = _expected_order(layout, tolerance)
    return expected if expected == HIGHEST_ORDER else (expected + 1) // 2


def _raised_order(reached: int, change: float, tolerance: float) -> int:
    """The next order to try, a third higher."""
    if reached == HIGHEST_ORDER:
        raise RuntimeError(
            f"the multipole series changes by {change:.2g} at its highest order {reached}, above the tolerance "
            f"{tolerance:.2g}: parts lie too close to each other"
        )
    raised = reached + max(4, reached // 3)
    # no short last step: its change would be small for that reason alone
    return HIGHEST_ORDER if raised > 3 * HIGHEST_ORDER // 4 else raised


def _require_bounded(layout: RoundLayout, order: int, most: int | None) -> None:
    """Refuse a system above the allowed size before it is built; its memory grows with the square of the size."""
    unknowns = 2 * order * len(layout.parts)
    if most is not None and unknowns > most:
        raise RuntimeError(f"the multipole series needs {unknowns} unknowns, more than the allowed {most}")


def _points(points: ArrayLike) -> Floats:
    """Points as a finite array (n, 2). [m]"""
    values = np.asarray(points, dtype=np.float64)
    if values.ndim != 2 or values.shape[1] != 2 or not np.all(np.isfinite(values)):
        raise ValueError(f"points [m] must be finite and of the shape (n, 2), not {values.shape}")
    return values


def _expected_order(layout: RoundLayout, tolerance: float) -> int:
    """Order at which perfectly conducting parts would meet the tolerance, from the mutual images of each pair. [-]

    The images in two circles converge to two points. The multipoles about a circle of radius b decrease by the factor
    b/(distance from its axis to its point) = exp(-asinh(c/b)) per order, with c half the distance of the two points.
    The order is that for a tenth of the tolerance, as the change is measured from a lower order.
    """
    slowest = np.log(1 / 0.02)  # at least a handful of orders
    for number, part in enumerate(layout.parts):
        home = layout.regions[number]
        others = [other for other in layout.members(home) if other != number]
        pairs = [
            (part.outer_radius, layout.parts[other].outer_radius, distance(part, layout.parts[other]))
            for other in others
        ]
        if home != OUTSIDE and distance(part, layout.parts[home]) > 0:
            tube = layout.parts[home]
            pairs.append((part.outer_radius, tube.inner_radius, distance(part, tube)))
        for own, other, d in pairs:
            c = np.sqrt(max((d**2 - own**2 - other**2) ** 2 - 4 * own**2 * other**2, 0.0)) / (2 * d)
            slowest = min(slowest, float(np.arcsinh(c / max(own, other))))
    return int(min(HIGHEST_ORDER, np.ceil(3 + np.log(10 / tolerance) / max(slowest, 1e-3))))


def _relative_change(before: Multipoles, now: Multipoles) -> float:
    """Largest relative change between two orders, of the admittances and of B on the surfaces. [-]"""
    own = np.sqrt(np.abs(np.diag(now.admittance)))
    scale = np.outer(own, own)
    carries = scale > 0
    change = np.abs(now.admittance - before.admittance)[carries] / scale[carries]
    largest, moved = _surface_field(now, now), _surface_field(now, before)
    driven = largest > 0
    return float(max(np.max(change, initial=0.0), np.max(moved[driven] / largest[driven], initial=0.0)))


def _surface_field(now: Multipoles, before: Multipoles) -> Floats:
    """Bound of the change of B between two orders on the surface with the largest change, per unit voltage; (N,).

    With the same coefficients twice, it is the bound of B. [T m/V]
    """
    bounds = []
    for number, part in enumerate(now.layout.parts):
        surfaces = [(now.outgoing, before.outgoing, now.enclosed, before.enclosed, part.outer_radius)]
        if part.inner_radius > 0:
            surfaces.append((now.regular, before.regular, now.bore_current, before.bore_current, part.inner_radius))
        for new, old, new_current, old_current, radius in surfaces:
            change, current = new[number].copy(), new_current[number].copy()
            if before is not now:
                change[:, : before.order] -= old[number]
                current -= old_current[number]
            n = np.arange(1, now.order + 1)[None, :, None]
            bounds.append((np.sum(n * np.abs(change), axis=(0, 1)) + mu_0 / (2 * np.pi) * np.abs(current)) / radius)
    bound: Floats = np.max(bounds, axis=0)
    return bound
