"""Eddy-current loss factors of screens, IEC 60287-1-1."""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats
from fem.constants import mu_0
from studies.formulas.formula import Limit, formula
from studies.formulas.inputs import above, choice, not_below, positive

_THIN_SCREEN = Limit(
    "thickness / skin depth",
    lambda thickness, resistivity, frequency: thickness * np.sqrt(np.pi * frequency * mu_0 / resistivity),
    "the standard's eddy terms are not meant for so thick a screen",
    most=1,
)
_LAGGING_LOW = Limit(
    "m = w/(10^7 Rs)",
    # the other positions and distant neighbours, d/2s up to 0.1, ask nothing
    lambda position, screen_resistance, mean_diameter, spacing, frequency: np.where(
        (position != "lagging") | (mean_diameter <= 0.2 * spacing), np.inf, 2e-7 * np.pi * frequency / screen_resistance
    ),
    "a screen of high resistance near its neighbours, on the cable with the lagging phase, loses up to 9 % more than "
    "the standard's fit gives (exact series of three thin screens)",
    least=0.5,
)

Delta = tuple[Callable[[Floats], Floats], float, float]
"""A correction c(m) (d/2s)^(a m + b) of the standard: c, a and b."""
EDDY_TERMS: dict[str, tuple[float, tuple[Delta, ...]]] = {
    "trefoil": (3.0, ((lambda m: 1.14 * m**2.45 + 0.33, 0.92, 1.66),)),
    "centre": (6.0, ((lambda m: 0.86 * m**3.08, 1.4, 0.7),)),
    "leading": (1.5, ((lambda m: 4.7 * m**0.7, 0.16, 2.0), (lambda m: 21 * m**3.3, 1.47, 5.06))),
    "lagging": (
        1.5,
        (
            (lambda m: -0.74 * (m + 2) * np.sqrt(m) / (2 + (m - 0.3) ** 2), 1.0, 1.0),
            (lambda m: 0.92 * m**3.7, 1.0, 2.0),
        ),
    ),
}
"""By the position of the cable: the factor in lambda0, then Delta1 and, if it is not 0, Delta2."""


@formula(
    quantity="eddy loss over conductor loss",
    unit="-",
    source="IEC 60287-1-1, effect of eddy currents [C]",
    valid_for="screen thinner than its skin depth, balanced currents, single-point bonded, no other metal nearby; "
    "in flat formation equal spacings",
    limits=(_THIN_SCREEN, _LAGGING_LOW),
)
def eddy_factor(
    position: str,
    screen_resistance: ArrayLike,
    resistance: ArrayLike,
    mean_diameter: ArrayLike,
    spacing: ArrayLike,
    thickness: ArrayLike,
    resistivity: ArrayLike,
    frequency: ArrayLike,
) -> Floats:
    """Eddy-current loss factor lambda1'' of a screen in trefoil or in flat formation, IEC 60287-1-1.

    position: "trefoil", or in flat formation "centre", "leading" or "lagging": the outer cable with that phase. [-]
    screen_resistance: Resistance Rs of the screen at its temperature, above 0. [ohm/m]
    resistance: Ac resistance R of the conductor at its temperature, above 0. [ohm/m]
    mean_diameter: Mean diameter d of the screen, above 0. [m]
    spacing: Axis to axis distance s, not below the mean diameter. [m]
    thickness: Thickness ts of the screen, above 0 and below the mean diameter. [m]
    resistivity: Resistivity rho_s of the screen at its temperature, above 0. [ohm m]
    frequency: Frequency f, above 0. [Hz]
    Returns factor: lambda1'' = (Rs/R) [gs lambda0 (1 + Delta1 + Delta2) + (beta1 ts)^4/12].

    m = w 1e-7/Rs, lambda0 = k m^2/(1 + m^2) (d/2s)^2; `EDDY_TERMS` holds k, Delta1 and Delta2 of each position.
    gs = 1 + (ts/Ds)^1.74 (beta1 Ds - 1.6), Ds = d + ts, beta1 = sqrt(4 pi w 1e-7/rho_s), lengths in m; the standard
    takes gs = 1 for lead [M].
    Lagging phase against the exact series of three thin screens [D]: within about 2 % for m from 0.5 to 2. Below, the
    factor is low: at m = 0.05 by 1.5 % for d/2s = 0.1, 5.4 % for 0.3 and 8.8 % for 0.45; for d/2s = 0.4 by 7.3 % at
    m = 0.1, 5.6 % at 0.2, 3.7 % at 0.3 and 1.0 % at 0.5. The cable with the leading phase loses more there.
    Screens open or bonded at one end. With both ends bonded the standard neglects the eddy loss, except for segmental
    conductors.

    >>> f"{eddy_factor('trefoil', 400e-6, 80e-6, 0.044, 0.09, 0.3e-3, 17e-9, 50.0):.4f}"
    '0.0057'
    """
    multiple, deltas = EDDY_TERMS[choice("position", position, EDDY_TERMS)]
    rs, d, ts = (
        positive("screen_resistance", screen_resistance),
        positive("mean_diameter", mean_diameter),
        positive("thickness", thickness),
    )
    s, f = not_below("spacing", spacing, "mean_diameter", d), positive("frequency", frequency)
    outer = above("mean_diameter", d, "thickness", ts) + ts
    # field of the neighbouring conductors
    m, half_ratio = 2e-7 * np.pi * f / rs, d / (2 * s)
    lambda_0 = multiple * m**2 / (1 + m**2) * half_ratio**2
    delta = sum((c(m) * half_ratio ** (a * m + b) for c, a, b in deltas), np.zeros(()))
    # thickness of the wall: gs for the neighbours' field, the fourth power for the field of the cable's own conductor
    beta = np.sqrt(4e-7 * np.pi * (2 * np.pi * f) / positive("resistivity", resistivity))
    gs = 1 + (ts / outer) ** 1.74 * (beta * outer - 1.6)
    return rs / positive("resistance", resistance) * (gs * lambda_0 * (1 + delta) + (beta * ts) ** 4 / 12)
