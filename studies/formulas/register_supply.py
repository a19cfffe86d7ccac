"""Register of the formulas of a circuit on its supply: capacitance, charging current, voltage drop and unbalance."""

from studies.formulas.capacitance import (
    charging_current,
    coaxial_capacitance,
    line_capacitance_matrix,
    line_capacitance_matrix_over_plane,
    transposed_capacitance,
    two_wire_capacitance,
    wire_over_plane_capacitance,
)
from studies.formulas.coaxial_impedance import coaxial_impedance_matrix
from studies.formulas.formula import Formula, Limit
from studies.formulas.unbalance import (
    largest_deviation_unbalance,
    line_voltage_unbalance,
    negative_sequence_unbalance,
    sequence_components,
    zero_sequence_unbalance,
)
from studies.formulas.voltage_drop import rule_voltage_drop

_IMAGES = "Classical, images of two line charges [M]"
_UNBALANCE = "IEC 61000-4-30, supply voltage unbalance [C]"

_THIN = Limit(
    ("spacing", "radius"),
    lambda spacing, radius: spacing >= 7 * radius,
    "spacing below 7 radii: the charges move aside and the capacitance is more than 1 % off",
)

SUPPLY_FORMULAS: tuple[Formula, ...] = (
    Formula(
        coaxial_capacitance,
        "capacitance to the screen",
        "F/m",
        "IEC 60287-1-1, capacitance of a screened cable [M]; law of Gauss [D]",
        "round conductor concentric with its screen",
    ),
    Formula(
        wire_over_plane_capacitance,
        "capacitance to the plane",
        "F/m",
        _IMAGES,
        "bare wire in air over a plane much wider than its height",
    ),
    Formula(
        two_wire_capacitance,
        "capacitance between the wires",
        "F/m",
        _IMAGES,
        "two equal bare wires in air, nothing else near",
    ),
    Formula(
        transposed_capacitance,
        "capacitance to neutral",
        "F/m",
        "Textbook form [C]; W. D. Stevenson, Elements of Power System Analysis, 4th ed., 1982, ch. 4 [M]",
        "transposed circuit or the mean of three phases; bare conductors in air, distances much above the radius",
        (_THIN,),
    ),
    Formula(
        line_capacitance_matrix,
        "capacitance matrix",
        "F/m",
        "Potential coefficients, textbook form [M]; the insulation as a series capacitance [D]",
        "distances much above the radii, air about the cables, no metal near",
    ),
    Formula(
        line_capacitance_matrix_over_plane,
        "capacitance matrix",
        "F/m",
        "Potential coefficients with images, textbook form [M]; the insulation as a series capacitance [D]",
        "distances and heights much above the radii, one wide earthed plane, no walls",
    ),
    Formula(
        charging_current,
        "charging current",
        "A/m",
        "Definition of capacitance [D]",
        "balanced sinusoidal voltages, no dielectric loss",
    ),
    Formula(
        coaxial_impedance_matrix,
        "series impedance matrix",
        "ohm/m",
        "Textbook form [C]; geometric mean distances of circles and thin tubes, J. C. Maxwell [M]",
        "thin non-magnetic tubes without eddy currents, uniform current density, no steel nearby",
    ),
    Formula(
        sequence_components,
        "zero, positive and negative sequence",
        "V",
        "C. L. Fortescue, Trans. AIEE 37, 1918, p. 1027 [C]; definitions of IEC 61000-3-13 [C]",
        "any three phasors",
    ),
    Formula(
        negative_sequence_unbalance,
        "negative over positive sequence",
        "-",
        _UNBALANCE,
        "any three phasors with a positive sequence",
    ),
    Formula(
        zero_sequence_unbalance,
        "zero over positive sequence",
        "-",
        _UNBALANCE,
        "any three phasors with a positive sequence",
    ),
    Formula(
        line_voltage_unbalance,
        "negative over positive sequence",
        "-",
        "IEC 61000-4-30, supply voltage unbalance, form with line voltages [M]",
        "magnitudes of three line voltages, which sum to zero; negative sequence below the positive",
    ),
    Formula(
        largest_deviation_unbalance,
        "largest deviation from the mean",
        "-",
        "NEMA MG 1, voltage unbalance [C]",
        "magnitudes of three line voltages",
    ),
    Formula(
        rule_voltage_drop,
        "voltage drop to neutral",
        "V",
        "UTE C 15-105, annex G [C], as IEC 60364-5-52, annex G [M]",
        "installation practice; conductors close together, each up to about 300 mm^2, beyond which skin effect tells",
    ),
)
