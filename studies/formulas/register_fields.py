"""Register of the formulas of the field of line currents."""

from studies.formulas.far_field import (
    field_decay_exponent,
    flat_far_field,
    multipole_field,
    multipole_field_magnitude,
    multipole_moments,
    net_current_far_field,
    trefoil_far_field,
    two_wire_far_field,
)
from studies.formulas.formula import Formula, Limit
from studies.formulas.line_field import flat_field, line_field, line_field_matrix, trefoil_field, two_wire_field

_SUPERPOSED = "Law of Biot and Savart, superposed by component, textbook [C]"

_FIVE = Limit(
    ("distance", "spacing"),
    lambda distance, spacing: distance >= 5 * spacing,
    "distance below 5 spacings: the far form is off by more than about 5 %",
)

FIELD_FORMULAS: tuple[Formula, ...] = (
    Formula(
        line_field_matrix,
        "flux density per ampere",
        "T/A",
        _SUPERPOSED,
        (
            "line currents or round conductors with circular symmetry; no steel and no eddy currents nearby, straight "
            "parallel conductors much longer than the distance"
        ),
    ),
    Formula(
        line_field,
        "flux density, rms phasors",
        "T",
        _SUPERPOSED,
        (
            "line currents or round conductors with circular symmetry; no steel and no eddy currents nearby, straight "
            "parallel conductors much longer than the distance"
        ),
    ),
    Formula(
        two_wire_field,
        "flux density, rms resultant",
        "T",
        "Follows from the law of Biot and Savart [D]",
        (
            "exact for a current and its return; no steel and no eddy currents nearby, straight parallel conductors "
            "much longer than the distance"
        ),
    ),
    Formula(
        flat_field,
        "flux density, rms resultant",
        "T",
        (
            "Exact form derived and checked against `line_field` [D]; far form as in W. T. Kaune, L. E. Zaffanella, "
            "Analysis of magnetic fields produced far from electric power lines, IEEE Trans. Power Delivery 7(4), "
            "1992 [M]"
        ),
        (
            "exact for balanced currents in one evenly spaced row; no steel and no eddy currents nearby, straight "
            "parallel conductors much longer than the distance"
        ),
    ),
    Formula(
        trefoil_field,
        "flux density, rms resultant",
        "T",
        (
            "Exact form derived and checked against `line_field` [D]; far form as in P. Pettersson, Principles in "
            "transmission line magnetic field reduction, IEEE Trans. Power Delivery 11(3), 1996 [M]"
        ),
        (
            "exact for balanced currents in an equilateral triangle; no steel and no eddy currents nearby, straight "
            "parallel conductors much longer than the distance"
        ),
    ),
    Formula(
        multipole_moments,
        "moments of line currents",
        "A m^n",
        "Expansion of 1/(zeta - zeta_k) in powers of zeta_k/zeta [D]",
        "exact",
    ),
    Formula(
        multipole_field,
        "flux density far away, rms phasors",
        "T",
        (
            "Expansion of 1/(zeta - zeta_k) in powers of zeta_k/zeta [D]; dipole form as in W. T. Kaune, L. E. "
            "Zaffanella, IEEE Trans. Power Delivery 7(4), 1992 [M]"
        ),
        (
            "outside the circle about the centre through the furthest line; no steel and no eddy currents nearby, "
            "straight parallel conductors much longer than the distance"
        ),
    ),
    Formula(
        field_decay_exponent,
        "power of the distance with which the field falls",
        "-",
        (
            "Expansion of 1/(zeta - zeta_k) in powers of zeta_k/zeta [D]; two circuits as in P. Pettersson, IEEE "
            "Trans. Power Delivery 11(3), 1996 [M]"
        ),
        "exact up to the tolerance",
    ),
    Formula(
        multipole_field_magnitude,
        "flux density of one moment, rms resultant",
        "T",
        (
            "Expansion of 1/(zeta - zeta_k) in powers of zeta_k/zeta [D]; order 1 as in W. T. Kaune, L. E. "
            "Zaffanella, IEEE Trans. Power Delivery 7(4), 1992 [M]"
        ),
        (
            "distances much greater than the group of lines; no steel and no eddy currents nearby, straight parallel "
            "conductors much longer than the distance"
        ),
    ),
    Formula(
        net_current_far_field,
        "flux density of a net current, rms",
        "T",
        "Law of Biot and Savart, textbook [C]",
        (
            "exact for one line, for a group at distances much greater than it; no steel and no eddy currents nearby, "
            "straight parallel conductors much longer than the distance"
        ),
    ),
    Formula(
        two_wire_far_field,
        "flux density far away, rms resultant",
        "T",
        "Leading term of the exact form of `two_wire_field` [D]",
        (
            "distance at least 5 spacings: error below 1.1 %; no steel and no eddy currents nearby, straight parallel "
            "conductors much longer than the distance"
        ),
        (_FIVE,),
    ),
    Formula(
        flat_far_field,
        "flux density far away, rms resultant",
        "T",
        "W. T. Kaune, L. E. Zaffanella, IEEE Trans. Power Delivery 7(4), 1992 [M]; leading term of `flat_field` [D]",
        (
            "distance at least 5 spacings: error below 5 %; no steel and no eddy currents nearby, straight parallel "
            "conductors much longer than the distance"
        ),
        (_FIVE,),
    ),
    Formula(
        trefoil_far_field,
        "flux density far away, rms resultant",
        "T",
        "P. Pettersson, IEEE Trans. Power Delivery 11(3), 1996 [M]; leading term of `trefoil_field` [D]",
        (
            "distance at least 5 spacings: error below 1.1 %; no steel and no eddy currents nearby, straight parallel "
            "conductors much longer than the distance"
        ),
        (_FIVE,),
    ),
)
