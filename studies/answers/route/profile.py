"""Profiles along a run: voltages of its layers of metal, and the fields at receptors section by section."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from studies.section.run_parts import Route, line_state, section_drops


@dataclass(frozen=True)
class Profile:
    """Potentials of some lines against the far earth along the run."""

    lines: tuple[str, ...]
    distance: Floats
    """From the start, at the ends of the sections, shape (n,). [m]"""
    potentials: Complexes
    """Between two of these the potential is linear. Shape (n, lines). [V]"""

    def largest(self) -> tuple[float, float, str]:
        """Largest magnitude [V], where along the run [m], and of which line.

        A magnitude has no largest value between the ends of a piece on which its phasor is linear.
        """
        magnitude = np.abs(self.potentials)
        row, column = np.unravel_index(int(magnitude.argmax()), magnitude.shape)
        return float(magnitude[row, column]), float(self.distance[row]), self.lines[int(column)]

    def at(self, distance: float) -> Complexes:
        """Potentials at a distance from the start [m], shape (lines,). [V]"""
        if not 0 <= distance <= self.distance[-1]:
            raise ValueError(f"distance must lie in the run, 0 to {self.distance[-1]:g} m: {distance}")
        return _interpolated(distance, self.distance, self.potentials)


def standing_voltages(route: Route, layer: str = "screen", earthed_at: float = 0.0) -> Profile:
    """Voltages of the screens, or of another layer of metal, against earth along the run.

    route: The run with its currents, the layer of metal among its lines.
    layer: Last word of the names of the lines in question.
    earthed_at: Where the layer is earthed, from the start. [m]

    V(x) = - int u dx from the earthed place, u the drop per metre with the currents of all lines. Open layers: the
    standing voltage of single-point bonding, largest at the far end. Layers joined at both ends and turned at joints
    (cross-bonding): V returns at the far end to one value for all, which is zero only where the induced voltages cancel
    or the bond is a far earth; against that value the voltages of the joints are read.
    """
    chosen = [k for k, name in enumerate(route.lines) if name.endswith(f" {layer}")]
    if not chosen:
        raise ValueError(f"no line of the route is a {layer}: {', '.join(route.lines)}")
    if not 0 <= earthed_at <= route.length:
        raise ValueError(f"earthed_at must lie in the run, 0 to {route.length:g} m: {earthed_at}")
    drops = section_drops(route, line_state(route).currents)[:, chosen]
    lengths = np.array([section.length for section in route.sections])
    fallen = np.vstack([np.zeros((1, len(chosen))), np.cumsum(lengths[:, None] * drops, axis=0)])
    distance = route.ends()
    potentials = _interpolated(earthed_at, distance, fallen) - fallen
    return Profile(tuple(route.lines[k] for k in chosen), distance, potentials)


def fields_along(route: Route, currents: Complexes | None = None) -> tuple[Floats | None, ...]:
    """Resultant rms at the receptors of each section, shape (r,) each; None where the section has none. [T]

    currents: Currents of all lines; those of `line_state` where not given, shape (sections, lines). [A]
    """
    found = vectors_along(route, currents)
    return tuple(None if field is None else np.sqrt(np.sum(np.abs(field) ** 2, axis=1)) for field in found)


def vectors_along(route: Route, currents: Complexes | None = None) -> tuple[Complexes | None, ...]:
    """(Bx, By) at the receptors of each section, shape (r, 2) each; parameters of `fields_along`. [T]"""
    flowing = line_state(route).currents if currents is None else currents
    return tuple(
        None if section.field is None else section.field[:, :, np.array(section.places, dtype=np.int64)] @ own
        for section, own in zip(route.sections, flowing, strict=True)
    )


def _interpolated(at: float, distance: Floats, values: Complexes) -> Complexes:
    """Linear between rows of values (n, m) at distances (n,), shape (m,)."""
    columns = [np.interp(at, distance, column.real) + 1j * np.interp(at, distance, column.imag) for column in values.T]
    result: Complexes = np.array(columns, dtype=np.complex128)
    return result
