"""Internal impedance of one solid round conductor with skin effect, exact."""

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ive

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from studies.formulas.formula import formula
from studies.formulas.inputs import positive, zero_or_above

SCHELKUNOFF = (
    "S. A. Schelkunoff, The electromagnetic theory of coaxial transmission lines, Bell System Tech. J. 13, 1934 [C]"
)
ONE_SOLID = "exact for one solid linear round conductor far from others"


@formula(quantity="internal impedance", unit="ohm/m", source=SCHELKUNOFF, valid_for=ONE_SOLID)
def round_conductor_internal_impedance(
    radius: ArrayLike, conductivity: ArrayLike, frequency: ArrayLike, relative_permeability: ArrayLike = 1.0
) -> Complexes:
    """Internal impedance per metre of one solid round conductor, far from any other.

    radius: Radius a of the metal, above 0. [m]
    conductivity: Conductivity sigma at the operating temperature, above 0. [S/m]
    frequency: Frequency f, 0 or above. [Hz]
    relative_permeability: Relative permeability mu_r of the metal, above 0. [-]
    Returns impedance, complex: R + j w L_internal: axial field at the surface over the current.

    Z = m/(2 pi a sigma) I0(ma)/I1(ma), m = sqrt(j w mu sigma), 1/(pi a^2 sigma) at 0 Hz. Exact for a straight
    homogeneous linear conductor; not for strands or close neighbours.

    >>> f"{1e6 * round_conductor_internal_impedance(0.01, 5.8e7, 50.0):.2f} uohm/m"
    '56.35+15.50j uohm/m'
    """
    a, sigma = positive("radius", radius), positive("conductivity", conductivity)
    mu_r = positive("relative_permeability", relative_permeability)
    m = _propagation(sigma, mu_r, zero_or_above("frequency", frequency))
    return _impedance_ratio(m * a) / (np.pi * a**2 * sigma)


@formula(quantity="internal inductance", unit="H/m", source=SCHELKUNOFF, valid_for=ONE_SOLID)
def round_conductor_internal_inductance(
    radius: ArrayLike, conductivity: ArrayLike, frequency: ArrayLike, relative_permeability: ArrayLike = 1.0
) -> Floats:
    """Internal inductance per metre of one solid round conductor, far from any other.

    radius: Radius a of the metal, above 0. [m]
    conductivity: Conductivity sigma at the operating temperature, above 0. [S/m]
    frequency: Frequency f, 0 or above. [Hz]
    relative_permeability: Relative permeability mu_r of the metal, above 0. [-]
    Returns inductance: Imaginary part of the internal impedance over w; mu/(8 pi) at 0 Hz.

    The geometric mean radius that replaces a exp(-1/4) is a exp(-2 pi L/mu0) for a non-magnetic conductor.

    >>> f"{1e9 * round_conductor_internal_inductance(0.01, 5.8e7, 0.0):.2f} nH/m"
    '50.00 nH/m'
    """
    a, sigma = positive("radius", radius), positive("conductivity", conductivity)
    mu_r, f = positive("relative_permeability", relative_permeability), zero_or_above("frequency", frequency)
    squared = 2 * np.pi * f * mu_0 * mu_r * sigma * a**2  # |ma|^2
    with np.errstate(divide="ignore", invalid="ignore"):
        exact = 8 / squared * np.imag(_impedance_ratio(_propagation(sigma, mu_r, f) * a))
    # below |ma| = 0.1 the quotient loses digits; the next term of the series is 1.2e-5 |ma|^8 < 2e-13
    small = squared < 1e-2
    return mu_0 * mu_r / (8 * np.pi) * np.where(small, 1 - squared**2 / 384, exact)


def _propagation(sigma: Floats, mu_r: Floats, f: Floats) -> Complexes:
    return (1 + 1j) * np.sqrt(np.pi * f * mu_0 * mu_r * sigma)


def _impedance_ratio(z: Complexes) -> Complexes:
    """Impedance over dc resistance, (z/2) I0(z)/I1(z); ive scales both by exp(-|Re z|): no overflow."""
    z = np.where(z == 0, 1e-9, z)  # 0/0 at dc, where the limit is 1
    return z / 2 * ive(0, z) / ive(1, z)
