"""Field of line currents near and far, net current, and two circuits whose fields cancel."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fem.arrays import Floats
from fem.field import FieldProbe
from fem.multipole import RoundPart
from fem.polarisation import resultant
from fem.ties import Tie, drive
from fem.worst_phases import gram, worst_phases
from geometry.formation import flat, trefoil
from studies.formulas.far_field import flat_far_field, net_current_far_field, trefoil_far_field
from studies.formulas.line_field import flat_field, line_field, trefoil_field
from studies.verify.checks import Checked, CheckFamily, Method
from studies.verify.sources import BIOT_SAVART, FLAT_FAR, LINE_FIELD, TREFOIL_FAR
from studies.verify.states import MESH, MESH_REASON, ElementState, balanced, elements, wires

FAMILY = CheckFamily("field")
SPACING = 50e-3
"""Axis to axis distance of neighbours. [m]"""
RADIUS = 5e-3
"""Radius of the wires. [m]"""
FREQUENCY = 0.5
"""So low that the current is uniform over the wires, and its field that of lines: a/delta = 0.05. [Hz]"""
COPPER = 58e6
"""[S/m]"""
DISTANCES = (0.1, 0.2, 0.5, 1.0)
"""From the middle. [m]"""
EXACT_NANOTESLA = {
    "flat, along the row": (2403.701, 466.6667, 70.09839, 17.37115),
    "flat, above the middle": (1442.221, 411.7647, 68.71030, 17.28451),
    "trefoil, beside the centroid": (1274.386, 309.3578, 49.07138, 12.25255),
    "trefoil, above the centroid": (1306.177, 310.2923, 49.08082, 12.25285),
}
"""Resultant rms field of 1 A at the four distances. [nT]"""
HALF_DIGIT = 4e-7
"""Half of the last printed digit over the value, at the most. [-]"""
COARSE = 1.0
"""Fineness of meshes whose field is asked for far outside only, where it is smooth."""
FAR = 5.0
"""A hundred spacings away. [m]"""


@FAMILY.check("line-field")
def line_field_values() -> Iterator[Checked]:
    """Field of three line currents."""
    states = {"flat": _flat(), "trefoil": _trefoil()}
    formulas = {"flat": flat_field, "trefoil": trefoil_field}
    for where, values in EXACT_NANOTESLA.items():
        formation = where.split(",")[0]
        sideways = np.array([1.0, 0.0]) if "along" in where or "beside" in where else np.array([0.0, 1.0])
        points = np.outer(DISTANCES, sideways)
        computed = {
            Method.FORMULA: (formulas[formation](points[:, 0], points[:, 1], SPACING, 1.0), HALF_DIGIT),
            Method.ELEMENTS: (states[formation].magnitude(points), MESH),
        }
        for method, (field, tolerance) in computed.items():
            reason = "half of the last printed digit" if method is Method.FORMULA else MESH_REASON
            for distance, published, value in zip(DISTANCES, values, field, strict=True):
                yield Checked(
                    *(f"B of 1 A, {where}, {distance:g} m", "T", LINE_FIELD, method),
                    *(published * 1e-9, float(value), tolerance),
                    reason,
                )


@FAMILY.check("far-field")
def far_forms() -> tuple[Checked, ...]:
    """Far-field forms."""
    points = FAR * np.eye(2)
    rows = (
        ("flat", FLAT_FAR, flat_far_field, _flat().magnitude(points), 7 / 6),
        ("trefoil", TREFOIL_FAR, trefoil_far_field, _trefoil().magnitude(points), 1 / 6),
    )
    return tuple(
        Checked(
            *(f"B of 1 A, {formation}, 5 m {direction}", "T", source, Method.ELEMENTS),
            *(float(form(FAR, SPACING, 1.0)), float(value), order * (SPACING / FAR) ** 2 + MESH),
            f"next term of the far form, {order:.2g} (s/r)^2 [derived], and the mesh: {MESH_REASON}",
        )
        for formation, source, form, field, order in rows
        for direction, value in zip(("beside", "above"), field, strict=True)
    )


@FAMILY.check("decay")
def decay() -> Iterator[Checked]:
    """Decay with distance."""
    row = flat(3, SPACING, 2 * RADIUS)
    net = elements(_wires(row), FREQUENCY, [Tie((name,), 1.0) for name in ("1", "2", "3")], COARSE)
    yield Checked(
        "B of three wires of 1 A each, 5 m",
        "T",
        BIOT_SAVART,
        Method.ELEMENTS,
        float(net_current_far_field(FAR, 3.0)),
        float(net.magnitude(np.array([[FAR, 0.0]]))[0]),
        2 / 3 * (SPACING / FAR) ** 2 + MESH,
        f"next term, 2/3 (s/r)^2 [derived], and the mesh: {MESH_REASON}",
    )
    for name, order, ratio in (("same", (0, 1, 2), 4.0), ("low-reactance", (2, 1, 0), 8.0)):
        axes = np.vstack([row, row + np.array([0.0, 2 * SPACING])])
        turns = np.exp(-2j * np.pi / 3 * np.array([0, 1, 2, *order]))
        ties = [Tie((f"{k}",), complex(turn)) for k, turn in enumerate(turns, start=1)]
        near, far = elements(_wires(axes), FREQUENCY, ties, COARSE).magnitude(np.array([[0, FAR], [0, 2 * FAR]]))
        yield Checked(
            f"B(5 m)/B(10 m) of two circuits, {name} order",
            "-",
            LINE_FIELD,
            Method.ELEMENTS,
            ratio,
            float(near / far),
            4 * (SPACING / FAR) ** 2 + MESH,
            "the next moments are two orders up, the wires within 1.5 s of the middle: about 4 (s/r)^2 [derived]; "
            f"and the mesh: {MESH_REASON}",
        )


@FAMILY.check("worst-angle")
def worst_angle() -> Iterator[Checked]:
    """Net current at the worst angle."""
    row, points = flat(3, SPACING, 2 * RADIUS), np.array([[0.3, 0.4]])
    names = ("1", "2", "3")
    without = elements(_wires(row), FREQUENCY, balanced(names), COARSE)
    net = drive(without.fields.admittance, without.fields.part_names, [Tie((name,), 0.01) for name in names])
    alone = FieldProbe(without.fields).flux_density(without.fields.potential(net.voltages), points)
    squares, _ = worst_phases(gram(np.stack([without.field(points), alone])))
    axes = row - row.mean(axis=0)
    fixed, turned = (line_field(points, axes, i) for i in (np.exp(-2j * np.pi / 3 * np.arange(3)), np.full(3, 0.01)))
    angles = np.exp(2j * np.pi * np.arange(3600) / 3600)
    yield Checked(
        "B of 1 A and 3 % of net current, 0.5 m",
        "T",
        LINE_FIELD,
        Method.ELEMENTS,
        float(resultant(fixed + angles[:, None] * turned).max()),
        float(np.sqrt(squares[0])),
        MESH,
        f"highest of 3600 angles, the mesh: {MESH_REASON}",
    )


def _flat() -> ElementState:
    return elements(_wires(flat(3, SPACING, 2 * RADIUS)), FREQUENCY, balanced(("1", "2", "3")))


def _trefoil() -> ElementState:
    return elements(_wires(trefoil(1, SPACING)), FREQUENCY, balanced(("1", "2", "3")))


def _wires(axes: Floats) -> list[RoundPart]:
    """Wires about the middle of some axes [m]."""
    return wires(axes - axes.mean(axis=0), RADIUS, COPPER)
