"""Register of the formulas of parallel conductors: inductance, impedance and force."""

import numpy as np

from studies.formulas.forces import (
    alternating_line_force,
    flat_middle_force,
    flat_outer_force,
    flat_outer_force_in_time,
    mean_line_force,
    meshed_peak_factor,
    peak_current,
    peak_factor,
    trefoil_force,
    two_conductor_force,
    two_phase_current,
)
from studies.formulas.formula import Formula, Limit
from studies.formulas.inductance import (
    bundle_mean_radius,
    cable_inductance,
    equivalent_spacing,
    mean_distance,
    positive_sequence_inductance,
    solid_mean_radius,
    strand_inductance,
    strand_mean_radius,
    two_wire_inductance,
    two_wire_proximity_factor,
    two_wire_skin_inductance,
)
from studies.formulas.line_impedance import line_impedances, line_voltages, parallel_currents, phase_impedance_matrix

_STEVENSON = "Textbook form [C]; W. D. Stevenson, Elements of Power System Analysis, 4th ed., 1982, ch. 3 [M]"
_CLASSICAL = "Classical, conformal map of two circles [M]"
_PEAK = "IEC 60909-0, peak short-circuit current [C]"
_FLAT_FORCE = "IEC 61914, force in flat formation [M]"
_AMPERE = "Law of Ampere [D]"

_SKIN = Limit(
    ("resistances", "frequency"),
    # x_s^2 = 8 pi f 1e-7/R', written so that R' = 0 asks nothing: an ideal conductor of given mean radius
    lambda resistances, frequency: (resistances == 0) | (8e-7 * np.pi * frequency <= 1.5**2 * resistances),
    "xs above 1.5: skin effect adds more than 2.6 % to the resistance and takes 1.3 % off the internal inductance",
)
_KAPPA = Limit(
    ("resistance_over_reactance",),
    lambda resistance_over_reactance: resistance_over_reactance <= 1.2,
    "R/X above 1.2, where the standard's graph ends",
)

LINE_FORMULAS: tuple[Formula, ...] = (
    Formula(
        solid_mean_radius,
        "geometric mean radius",
        "m",
        _STEVENSON,
        "solid round non-magnetic conductor, uniform current density",
    ),
    Formula(
        strand_mean_radius,
        "geometric mean radius",
        "m",
        "Published coefficients of X = 0.0628 ln(2 s/(a d)) mohm/m at 50 Hz [C]",
        "round conductor of equal wires, not compacted, uniform current density",
    ),
    Formula(
        mean_distance,
        "geometric mean distance",
        "m",
        _STEVENSON,
        "current shared equally by the conductors of each group",
    ),
    Formula(
        bundle_mean_radius,
        "geometric mean radius of a phase",
        "m",
        _STEVENSON,
        "current shared equally by the conductors of the phase",
    ),
    Formula(
        equivalent_spacing,
        "equivalent spacing",
        "m",
        _STEVENSON,
        "regularly transposed circuit, or the mean of three phases",
    ),
    Formula(
        positive_sequence_inductance,
        "inductance per phase",
        "H/m",
        _STEVENSON,
        (
            "regularly transposed circuit, or the mean of three phases; no skin or proximity effect, no steel nearby, "
            "uniform current density"
        ),
    ),
    Formula(
        strand_inductance,
        "inductance inside a stranded conductor",
        "H/m",
        "From the published factors of `STRAND_FACTORS` [C]; that K is this logarithm [D]",
        "equal wires, not compacted, uniform current density",
    ),
    Formula(
        cable_inductance,
        "inductance per phase",
        "H/m",
        "Cable makers' common form, public notes [C]",
        (
            "regularly transposed circuit, or the mean of three phases; no skin or proximity effect, no steel nearby, "
            "uniform current density"
        ),
    ),
    Formula(
        two_wire_inductance,
        "loop inductance",
        "H/m",
        "Textbook form [C]",
        "no skin or proximity effect, no steel nearby, uniform current density",
    ),
    Formula(
        two_wire_skin_inductance,
        "loop inductance",
        "H/m",
        _CLASSICAL,
        "skin depth much less than radius and gap",
    ),
    Formula(
        two_wire_proximity_factor,
        "resistance over that without proximity",
        "-",
        _CLASSICAL,
        "skin depth much less than radius and gap",
    ),
    Formula(
        phase_impedance_matrix,
        "series impedance matrix",
        "ohm/m",
        _STEVENSON,
        "xs of the conductors up to 1.5; no skin or proximity effect, no steel nearby, uniform current density",
        (_SKIN,),
    ),
    Formula(
        line_voltages,
        "voltage drop along each conductor",
        "V/m",
        _STEVENSON,
        (
            "xs of the conductors up to 1.5; currents sum to zero; no skin or proximity effect, no steel nearby, "
            "uniform current density"
        ),
        (_SKIN,),
    ),
    Formula(
        line_impedances,
        "voltage drop over current of each conductor",
        "ohm/m",
        (
            "Textbook form [C]; W. D. Stevenson, Elements of Power System Analysis, 4th ed., 1982, ch. 3 [M]; flat "
            "real part [D]"
        ),
        (
            "xs of the conductors up to 1.5; currents sum to zero; no skin or proximity effect, no steel nearby, "
            "uniform current density"
        ),
        (_SKIN,),
    ),
    Formula(
        parallel_currents,
        "currents of parallel conductors",
        "A",
        "Law of Kirchhoff on the matrix [D]",
        "as good as the matrix; conductors of a phase connected at both ends, of equal length",
    ),
    Formula(
        peak_factor,
        "factor of the peak short-circuit current",
        "-",
        _PEAK,
        "one series R and X, or its equivalent; R/X up to 1.2 as the standard's graph shows [M]",
        (_KAPPA,),
    ),
    Formula(
        meshed_peak_factor,
        "factor of the peak short-circuit current",
        "-",
        "IEC 60909-0, method B [C]; the exemption [M]",
        "meshed networks; R/X up to 1.2 as the standard's graph shows [M]",
        (_KAPPA,),
    ),
    Formula(
        peak_current,
        "peak short-circuit current",
        "A",
        _PEAK,
        "as good as its factor",
    ),
    Formula(
        two_phase_current,
        "current of a two-phase short circuit",
        "A",
        "IEC 60909-0, line-to-line short circuit [M]; the ratio [D]",
        "equal positive- and negative-sequence impedances, far from generators",
    ),
    Formula(
        trefoil_force,
        "greatest force",
        "N/m",
        "IEC 61914, force in trefoil [C]",
        "straight parallel conductors, three-phase short circuit, no magnetic parts nearby",
    ),
    Formula(
        flat_middle_force,
        "greatest force",
        "N/m",
        _FLAT_FORCE,
        "straight parallel conductors evenly spaced, three-phase short circuit, no magnetic parts nearby",
    ),
    Formula(
        flat_outer_force,
        "greatest force",
        "N/m",
        _FLAT_FORCE,
        "straight parallel conductors evenly spaced, three-phase short circuit, no magnetic parts nearby",
    ),
    Formula(
        two_conductor_force,
        "greatest force",
        "N/m",
        "IEC 61914, single-phase [M]; law of Ampere [D]",
        "straight parallel conductors, single-phase or two-phase short circuit, no magnetic parts nearby",
    ),
    Formula(
        flat_outer_force_in_time,
        "force in time",
        "N/m",
        "Law of Ampere on three line currents [D]",
        "balanced steady currents, straight parallel conductors evenly spaced, no magnetic parts nearby",
    ),
    Formula(
        mean_line_force,
        "mean force",
        "N/m",
        _AMPERE,
        "line currents, no magnetic parts nearby",
    ),
    Formula(
        alternating_line_force,
        "double-frequency force",
        "N/m",
        _AMPERE,
        "line currents, no magnetic parts nearby",
    ),
)
