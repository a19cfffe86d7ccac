"""Internal and transfer impedances of a tube with axial current, exact."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ive, kve

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from studies.formulas.formula import Limit, formula
from studies.formulas.inputs import above, positive, zero_or_above
from studies.formulas.round_conductor import SCHELKUNOFF

CIRCULAR = "exact for a straight homogeneous linear tube, fields of circular symmetry"
_WALL = Limit(
    "wall / skin depth",
    lambda inner_radius, outer_radius, conductivity, frequency, relative_permeability: (
        (outer_radius - inner_radius) * np.sqrt(np.pi * frequency * mu_0 * relative_permeability * conductivity)
    ),
    "the loss is next to nothing, a difference that has lost its digits",
    least=1 / 500,
)


class TubeImpedances(NamedTuple):
    """Impedances per metre of a tube, of complex arrays. [ohm/m]"""

    inner: Complexes
    """Za: axial field at the inner surface over a current that returns inside."""
    outer: Complexes
    """Zb: axial field at the outer surface over a current that returns outside."""
    transfer: Complexes
    """Zab: axial field at one surface over a current that returns on the side of the other."""


@formula(quantity="surface and transfer impedances of a tube", unit="ohm/m", source=SCHELKUNOFF, valid_for=CIRCULAR)
def tube_impedances(
    inner_radius: ArrayLike,
    outer_radius: ArrayLike,
    conductivity: ArrayLike,
    frequency: ArrayLike,
    relative_permeability: ArrayLike = 1.0,
) -> TubeImpedances:
    """Impedances per metre of a tube whose current returns inside or outside.

    inner_radius: Inner radius a, above 0. [m]
    outer_radius: Outer radius b, above a. [m]
    conductivity: Conductivity sigma at the operating temperature, above 0. [S/m]
    frequency: Frequency f, 0 or above. [Hz]
    relative_permeability: Relative permeability mu_r of the wall, above 0. [-]
    Returns impedances: Za, Zb and Zab in the broadcast shape of the inputs, complex.

    Za = m/(2 pi a sigma) [I0(ma) K1(mb) + K0(ma) I1(mb)]/D, Zb = m/(2 pi b sigma) [I0(mb) K1(ma) + K0(mb) I1(ma)]/D,
    Zab = 1/(2 pi a b sigma)/D, D = I1(mb) K1(ma) - I1(ma) K1(mb), m = sqrt(j w mu sigma). With a towards 0, Zb is the
    solid wire.

    >>> f"{1e6 * tube_impedances(0.01, 0.012, 5.8e7, 0.0).inner.real:.1f} uohm/m"
    '124.7 uohm/m'
    """
    a = positive("inner_radius", inner_radius)
    b = above("outer_radius", outer_radius, "inner_radius", a)
    sigma, f = positive("conductivity", conductivity), zero_or_above("frequency", frequency)
    m = (1 + 1j) * np.sqrt(np.pi * f * mu_0 * positive("relative_permeability", relative_permeability) * sigma)
    direct = m == 0
    m = np.where(direct, 1.0, m)  # at dc 0/0; the limit is filled in below
    za, zb = m * a, m * b
    # ive = I exp(-|Re z|), kve = K exp(z): the three brackets share exp(Re zb - za), which cancels; the other product
    # keeps the decay through the wall and back
    there = np.exp(-(zb - za).real)
    both = there * np.exp(-(zb - za))
    i0a, i1a, i0b, i1b = ive(0, za), ive(1, za), ive(0, zb), ive(1, zb)
    k0a, k1a, k0b, k1b = kve(0, za), kve(1, za), kve(0, zb), kve(1, zb)
    bracket = i1b * k1a - i1a * k1b * both
    inner = m / (2 * np.pi * a * sigma) * (i0a * k1b * both + k0a * i1b) / bracket
    outer = m / (2 * np.pi * b * sigma) * (i0b * k1a + k0b * i1a * both) / bracket
    transfer = np.exp(za - zb.real) / (2 * np.pi * a * b * sigma * bracket)
    dc = 1 / (np.pi * (b**2 - a**2) * sigma)
    return TubeImpedances(*(np.where(direct, dc, z) for z in (inner, outer, transfer)))


@formula(
    quantity="loss in a pipe",
    unit="W/m",
    source="From the surface impedances of S. A. Schelkunoff, Bell System Tech. J. 13, 1934 [C]; the sum [D]",
    valid_for=f"{CIRCULAR}, no net pipe current; wall above 1/500 of the skin depth",
    limits=(_WALL,),
)
def concentric_pipe_loss(
    current: ArrayLike,
    inner_radius: ArrayLike,
    outer_radius: ArrayLike,
    conductivity: ArrayLike,
    frequency: ArrayLike,
    relative_permeability: ArrayLike = 1.0,
) -> Floats:
    """Loss per metre in a pipe without net current around one line current on its axis.

    current: Rms current I inside, 0 or above. [A]
    inner_radius: Inner radius a of the pipe, above 0. [m]
    outer_radius: Outer radius b of the pipe, above a. [m]
    conductivity: Conductivity sigma of the pipe, above 0. [S/m]
    frequency: Frequency f, 0 or above. [Hz]
    relative_permeability: Relative permeability mu_r of the pipe, above 0. [-]
    Returns loss: P = I^2 Re(Za + Zb - 2 Zab).

    The pipe is linear, open at its ends, and the current's return is outside. Exact; the difference loses digits
    if the wall is below about 1/500 of the skin depth; the loss is then next to nothing.

    >>> f"{concentric_pipe_loss(1000.0, 0.02, 0.024, 6e6, 50.0, 200.0):.0f} W/m"
    '916 W/m'
    """
    i = zero_or_above("current", current)
    tube = tube_impedances(inner_radius, outer_radius, conductivity, frequency, relative_permeability)
    return i**2 * np.real(tube.inner + tube.outer - 2 * tube.transfer)
