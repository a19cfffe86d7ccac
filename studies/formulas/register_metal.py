"""Register of the formulas of metal with skin effect: conductors, pipes, shields and plates."""

import numpy as np
from scipy.constants import mu_0

from studies.formulas.formula import Formula, Limit
from studies.formulas.infinite_plate import plate_field, plate_loss, plate_reflection, plate_transmission
from studies.formulas.rails import rail_loop_current, rail_loss
from studies.formulas.resistance import (
    ac_resistance,
    dc_resistance,
    flat_proximity_spacing,
    hollow_skin_coefficient,
    proximity_factor_three,
    proximity_factor_two,
    round_conductor_skin_factor,
    skin_argument,
    skin_factor,
)
from studies.formulas.round_conductor import round_conductor_internal_impedance, round_conductor_internal_inductance
from studies.formulas.shielding import (
    cylinder_shielding_factor,
    half_space_loss,
    saturated_depth,
    saturated_plate_loss,
    skin_depth,
    static_cylinder_shielding_factor,
    thin_cylinder_shielding_factor,
)
from studies.formulas.tubular import (
    concentric_pipe_loss,
    tube_inner_impedance,
    tube_outer_impedance,
    tube_transfer_impedance,
)

_SCHELKUNOFF = (
    "S. A. Schelkunoff, The electromagnetic theory of coaxial transmission lines, Bell System Tech. J. 13, 1934 [C]"
)
_KADEN = "H. Kaden, Wirbelstroeme und Schirmung in der Nachrichtentechnik, 2nd ed., 1959 [C]"
_RAMO = (
    "Textbook; S. Ramo, J. R. Whinnery, T. Van Duzer, Fields and Waves in Communication Electronics, 3rd ed., 1994 [M]"
)
_SATURATED = "W. MacLean, J. Appl. Phys. 25, 1954; P. D. Agarwal, AIEE Trans. 78 Pt I, 1959 [M]; re-derived [D]"

_TEMPERATURE = Limit(
    ("temperature",),
    lambda temperature: (temperature >= -50) & (temperature <= 250),
    "temperature outside -50 degC to 250 degC, where the linear law serves",
)
_SKIN_100 = Limit(
    ("resistance", "frequency", "coefficient"),
    lambda resistance, frequency, coefficient: skin_argument(resistance, frequency, coefficient) <= 100,
    "xs above 100, where the fit has not been held against the exact solution",
)
_PROXIMITY = Limit(
    ("resistance", "frequency", "coefficient"),
    lambda resistance, frequency, coefficient: skin_argument(resistance, frequency, coefficient) <= 2.8,
    "xp above 2.8, where the standard's proximity factor ends",
)
_WALL = Limit(
    ("inner_radius", "outer_radius", "conductivity", "frequency", "relative_permeability"),
    lambda inner_radius, outer_radius, conductivity, frequency, relative_permeability: (
        (outer_radius - inner_radius) ** 2 * np.pi * frequency * mu_0 * relative_permeability * conductivity >= 500**-2
    ),
    "wall below 1/500 of the skin depth: the loss, next to nothing, is a difference that has lost its digits",
)
_THIN_CYLINDER = Limit(
    ("mean_radius", "thickness"),
    lambda mean_radius, thickness: thickness <= 0.04 * mean_radius,
    "wall thicker than 0.04 of the radius: the thin-wall form is off by more than about 4 %",
)
_THIN_SKIN = Limit(
    ("thickness", "conductivity", "frequency"),
    lambda thickness, conductivity, frequency: thickness**2 * np.pi * frequency * mu_0 * conductivity <= 0.25,
    "wall thicker than half a skin depth",
)

_NARROW_STRIP = Limit(
    ("resistance", "frequency"),
    lambda resistance, frequency: mu_0 * frequency / resistance <= 0.3,
    "mu0 f/R above 0.3: eddy currents in the rails damp themselves, which the formula leaves out",
)

METAL_FORMULAS: tuple[Formula, ...] = (
    Formula(
        dc_resistance,
        "dc resistance",
        "ohm/m",
        "IEC 60287-1-1, dc resistance of conductor [C]",
        "linear law, temperatures from -50 degC to 250 degC [P]",
        (_TEMPERATURE,),
    ),
    Formula(
        skin_argument,
        "argument of the skin and proximity factors",
        "-",
        "IEC 60287-1-1, skin effect factor [C]",
        "any round conductor; ks and kp as tabulated for the construction",
    ),
    Formula(
        skin_factor,
        "skin effect factor",
        "-",
        "IEC 60287-1-1, skin effect factor: first range [C], second and third [M]",
        "conductor far from others; xs up to 100: within 0.6 % of the exact resistance for ks = 1 [D]",
        (_SKIN_100,),
    ),
    Formula(
        hollow_skin_coefficient,
        "skin coefficient ks",
        "-",
        "IEC 60287-1-1, table of ks and kp [M]",
        "round hollow conductor",
    ),
    Formula(
        proximity_factor_three,
        "proximity effect factor",
        "-",
        "IEC 60287-1-1, proximity effect factor for three single-core cables [C]",
        "mean of three single-core cables, xp up to 2.8",
        (_PROXIMITY,),
    ),
    Formula(
        proximity_factor_two,
        "proximity effect factor",
        "-",
        "IEC 60287-1-1, proximity effect factor for two single-core cables [M]",
        "two single-core cables, xp up to 2.8",
        (_PROXIMITY,),
    ),
    Formula(
        flat_proximity_spacing,
        "spacing for the proximity factor",
        "m",
        "IEC 60287-1-1, proximity effect factor for three single-core cables, flat formation [M]",
        "three cables in flat formation",
    ),
    Formula(
        ac_resistance,
        "ac resistance",
        "ohm/m",
        "IEC 60287-1-1, ac resistance of conductor [C]",
        "as good as its factors; not for pipe-type cables",
    ),
    Formula(
        round_conductor_skin_factor,
        "ac over dc resistance",
        "-",
        (
            "S. Ramo, J. R. Whinnery, T. Van Duzer, Fields and Waves in Communication Electronics, 3rd ed., 1994, "
            "sec. 4.6 [M]"
        ),
        "exact for one solid non-magnetic round conductor far from others",
    ),
    Formula(
        round_conductor_internal_impedance,
        "internal impedance",
        "ohm/m",
        _SCHELKUNOFF,
        "exact for one solid linear round conductor far from others",
    ),
    Formula(
        round_conductor_internal_inductance,
        "internal inductance",
        "H/m",
        _SCHELKUNOFF,
        "exact for one solid linear round conductor far from others",
    ),
    Formula(
        tube_inner_impedance,
        "impedance of the inner surface",
        "ohm/m",
        _SCHELKUNOFF,
        "exact for a straight homogeneous linear tube, fields of circular symmetry",
    ),
    Formula(
        tube_outer_impedance,
        "impedance of the outer surface",
        "ohm/m",
        _SCHELKUNOFF,
        "exact for a straight homogeneous linear tube, fields of circular symmetry",
    ),
    Formula(
        tube_transfer_impedance,
        "transfer impedance",
        "ohm/m",
        _SCHELKUNOFF,
        "exact for a straight homogeneous linear tube, fields of circular symmetry",
    ),
    Formula(
        concentric_pipe_loss,
        "loss in a pipe",
        "W/m",
        "From the surface impedances of S. A. Schelkunoff, Bell System Tech. J. 13, 1934 [C]; the sum [D]",
        (
            "exact for a straight homogeneous linear tube, fields of circular symmetry, no net pipe current; wall "
            "above 1/500 of the skin depth"
        ),
        (_WALL,),
    ),
    Formula(
        cylinder_shielding_factor,
        "shielding factor",
        "-",
        (
            "H. Kaden, Wirbelstroeme und Schirmung in der Nachrichtentechnik, 2nd ed., 1959; L. V. King, Phil. Mag. "
            "15, 1933 [C]"
        ),
        "long cylinder, uniform transverse field, thickness t up to 0.04 of the radius a: t/a or less too high [D]",
        (_THIN_CYLINDER,),
    ),
    Formula(
        thin_cylinder_shielding_factor,
        "shielding factor",
        "-",
        _KADEN,
        (
            "long non-magnetic cylinder, uniform transverse field, thickness up to 0.04 of the radius and half a skin "
            "depth"
        ),
        (
            _THIN_CYLINDER,
            _THIN_SKIN,
        ),
    ),
    Formula(
        static_cylinder_shielding_factor,
        "shielding factor",
        "-",
        _KADEN,
        "exact for a long linear cylinder in a uniform transverse static field",
    ),
    Formula(
        skin_depth,
        "skin depth",
        "m",
        _RAMO,
        "plane surface, linear metal",
    ),
    Formula(
        half_space_loss,
        "loss per surface area",
        "W/m^2",
        _RAMO,
        "linear plate thicker than 3 skin depths, field on one side, uniform over several skin depths",
    ),
    Formula(
        saturated_depth,
        "depth of the saturated layer",
        "m",
        _SATURATED,
        "field far above the knee of the curve, plate thicker than this depth",
    ),
    Formula(
        saturated_plate_loss,
        "loss per surface area",
        "W/m^2",
        _SATURATED,
        "field far above the knee of the curve, plate thicker than the saturated depth, field on one side",
    ),
    Formula(
        rail_loop_current,
        "current in rails joined at both ends, rms phasor",
        "A",
        (
            "From Faraday's law [D]; mean distance g: E. B. Rosa, F. W. Grover, Bulletin of the Bureau of Standards 8, "
            "1912 [M]"
        ),
        "two non-magnetic thin strips alone, mu0 f/R up to 0.3",
        (_NARROW_STRIP,),
    ),
    Formula(
        rail_loss,
        "loss of two rails",
        "W/m",
        "From Faraday's law [D]",
        "two non-magnetic thin strips alone, mu0 f/R up to 0.3",
        (_NARROW_STRIP,),
    ),
    Formula(
        plate_transmission,
        "transmission of a plate",
        "-",
        (
            "Derived [D]; as in J. R. Moser, IEEE Trans. EMC-9, 1967 and R. G. Olsen, M. Istenic, P. Zunko, IEEE "
            "Trans. EMC 45(3), 2003 [M]"
        ),
        "flat linear plate without edges: half width much greater than heights and distances",
    ),
    Formula(
        plate_reflection,
        "reflection of a plate",
        "-",
        "Derived [D]",
        "flat linear plate without edges: half width much greater than heights and distances",
    ),
    Formula(
        plate_field,
        "flux density at a plate, rms phasors",
        "T",
        "Derived [D]; as in R. G. Olsen, M. Istenic, P. Zunko, IEEE Trans. EMC 45(3), 2003 [M]",
        "flat linear plate without edges: half width much greater than heights and distances",
    ),
    Formula(
        plate_loss,
        "loss in a plate",
        "W/m",
        "Derived from Poynting's and Parseval's theorems [D]",
        "flat linear plate without edges: half width much greater than heights and distances",
    ),
)
