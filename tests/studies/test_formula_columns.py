"""The formulas beside the numbers are hand forms of the study, written out here once more, and never the numbers."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.constants import mu_0

from studies.answers.phases.words import phase_table
from studies.result import Result
from studies.section.parts import CrossSection, StudyPart
from studies.section.spectrum import at_component, components
from tests.studies.solved_examples import of_examples

SAME = 1e-9
"""Two ways to write one closed form. [-]"""
LINES = ("L1", "L2", "L3")
Lines = tuple[np.ndarray, np.ndarray, list[StudyPart]]


def conductors(section: CrossSection) -> Lines:
    """Axes, currents of equal shares and parts of the conductors whose current is given."""
    axes, currents, parts = [], [], []
    for part in section.conductors():
        for phase in section.phases:
            own = section.ties[phase.tie].parts
            if part.name in own and part.cable is not None:
                axes.append(part.cable.axis)
                currents.append(phase.current / len(own))
                parts.append(part)
    return np.array(axes), np.array(currents), parts


def field_of(axes: np.ndarray, currents: np.ndarray, x: float, y: float) -> float:
    """Resultant of line currents at a point, law of Biot and Savart. [T]"""
    dx, dy = x - axes[:, 0], y - axes[:, 1]
    per = mu_0 / (2 * math.pi) * currents / (dx**2 + dy**2)
    return math.hypot(abs(np.sum(-per * dy)), abs(np.sum(per * dx)))


def resistance(section: CrossSection, part: StudyPart) -> float:
    """Rdc (1 + ys + yp) of IEC 60287-1-1, yp for three single-core cables alone. [ohm/m]"""
    assert part.cable is not None
    own = [cable for cable in section.cables if cable.circuit == part.cable.circuit]
    x, xp = (
        math.sqrt(8e-7 * math.pi * section.frequency * k / part.dc_resistance)
        for k in (part.skin_coefficient, part.proximity_coefficient)
    )
    ys, f, yp = skin(x), xp**4 / (192 + 0.8 * xp**4), 0.0
    if len(own) == 3 and {cable.phase for cable in own} == set(LINES):
        sides = sorted(math.dist(a.axis, b.axis) for a, b in ((own[0], own[1]), (own[1], own[2]), (own[2], own[0])))
        ratio = (2 * part.cable.layers.conductor_radius) ** 2 / (sides[0] * sides[1])
        yp = f * ratio * (0.312 * ratio + 1.18 / (f + 0.27))
    return part.dc_resistance * (1 + ys + yp)


def skin(x: float) -> float:
    """Skin factor less one of IEC 60287-1-1 in its three ranges. [-]"""
    if x <= 2.8:
        return x**4 / (192 + 0.8 * x**4)
    return -0.136 - 0.0177 * x + 0.0563 * x**2 if x <= 3.8 else 0.354 * x - 0.733


def mean_radius(part: StudyPart) -> float:
    assert part.cable is not None
    return part.cable.layers.conductor_radius * math.exp(-0.25)


def impedances(section: CrossSection, lines: Lines) -> np.ndarray:
    """Matrix R + j w mu0/(2 pi) ln(1/D), for currents that sum to zero. [ohm/m]"""
    axes, _, parts = lines
    distance = np.linalg.norm(axes[:, None] - axes, axis=2)
    np.fill_diagonal(distance, [mean_radius(part) for part in parts])
    ohms = np.diag([resistance(section, part) for part in parts])
    return np.asarray(ohms + 1j * section.frequency * mu_0 * np.log(1 / distance))


def closed_shares(section: CrossSection, lines: Lines) -> np.ndarray:
    """Currents by which parallel conductors have one voltage and carry their phase's current together. [A]"""
    _, equal, parts = lines
    groups = [
        [k for k, part in enumerate(parts) if part.name in section.ties[phase.tie].parts] for phase in section.phases
    ]
    belongs = np.array([[k in group for group in groups] for k in range(len(parts))], dtype=float)
    count = len(groups)
    system = np.block([[impedances(section, lines), -belongs], [belongs.T, np.zeros((count, count))]])
    totals = [sum(equal[k] for k in group) for group in groups]
    return np.asarray(np.linalg.solve(system, np.concatenate([np.zeros(len(parts)), totals]))[: len(parts)])


def closes(section: CrossSection) -> bool:
    """Whether the given currents sum to zero, so that no return path matters."""
    return section.earth is None and abs(section.net_current()) < 1e-9 * max(abs(tie.current) for tie in section.ties)


@of_examples()
def test_the_field_formulas_are_line_currents_with_equal_and_with_closed_form_shares(solved: Result) -> None:
    sections = [at_component(solved.cross_section, component) for component in components(solved.study)]
    for receptor in solved.receptors:
        at = receptor.x_m, receptor.y_m
        equal = [field_of(*conductors(section)[:2], *at) for section in sections]
        assert receptor.line_formula_b_rms_t == pytest.approx(math.hypot(*equal), rel=SAME)
        if all(map(closes, sections)):
            lines = [(section, conductors(section)) for section in sections]
            shared = [field_of(own[0], closed_shares(section, own), *at) for section, own in lines]
            assert receptor.line_formula_shared_b_rms_t == pytest.approx(math.hypot(*shared), rel=1e-6)  # a solve


@of_examples()
def test_the_conductor_formulas_are_those_of_the_standard(solved: Result) -> None:
    study_components = components(solved.study)
    losses = {loss.part: loss for loss in solved.losses}
    for number, component in enumerate(study_components):
        section = at_component(solved.cross_section, component)
        lines = conductors(section)
        for part in lines[2]:
            own = next(entry for entry in solved.parts if entry.part == part.name)
            of_circuit = next(circuit for circuit in solved.study.circuits if own.part.startswith(f"{circuit.name}."))
            base = of_circuit.frequency or solved.study.frequency
            if math.isclose(base, component.frequency):
                assert own.formula_r_ac_ohm_per_m == pytest.approx(resistance(section, part), rel=SAME)
        if len(study_components) == 1 and number == 0 and closes(section):
            shares = np.abs(closed_shares(section, lines))
            for part, current in zip(lines[2], shares, strict=True):
                formula = losses[part.name].formula_loss_w_per_m
                assert formula == pytest.approx(resistance(section, part) * current**2, rel=1e-6)  # a solve


@of_examples()
def test_the_impedance_formulas_are_distances_and_geometric_means(solved: Result) -> None:
    section = solved.cross_section
    if len(components(solved.study)) > 1 or not closes(section):
        return
    lines = conductors(section)
    axes, currents, parts = lines
    voltages = impedances(section, lines) @ currents
    omega = 2 * math.pi * section.frequency
    for phase, entry in zip(section.phases, solved.phases, strict=True):
        own = [k for k, part in enumerate(parts) if part.name in section.ties[phase.tie].parts]
        if phase.current != 0:
            z = np.mean(voltages[own]) / phase.current
            assert entry.formula_z_ohm_per_m == pytest.approx(z, rel=1e-6)
            assert entry.formula_inductance_h_per_m == pytest.approx(z.imag / omega, rel=1e-6)
    for sequence in solved.sequence_impedance:
        bundles = [
            [k for k, part in enumerate(parts) if part.cable and (part.cable.circuit, part.cable.phase) == (name, line)]
            for name, line in ((sequence.circuit, line) for line in LINES)
        ]
        distances = [_geometric(axes, bundles[a], bundles[b], parts) for a, b in ((0, 1), (1, 2), (2, 0))]
        radii = [_geometric(axes, bundle, bundle, parts) for bundle in bundles]
        inductance = mu_0 / (2 * math.pi) * math.log(np.prod(distances) ** (1 / 3) / np.prod(radii) ** (1 / 3))
        ohms = [1 / sum(1 / resistance(section, parts[k]) for k in bundle) for bundle in bundles]
        expected = complex(float(np.mean(ohms)), omega * inductance)
        assert sequence.formula_z1_ohm_per_m == pytest.approx(expected, rel=SAME)
        own_phases = [phase for phase in solved.phases if phase.circuit == sequence.circuit and phase.phase in LINES]
        for entry in own_phases:
            assert entry.gmd_inductance_h_per_m in (None, pytest.approx(inductance, rel=SAME))


def _geometric(axes: np.ndarray, first: list[int], second: list[int], parts: list[StudyPart]) -> float:
    """Geometric mean of all distances from one bundle to another; within one, of a conductor its mean radius. [m]"""
    logs = [math.log(mean_radius(parts[a]) if a == b else math.dist(axes[a], axes[b])) for a in first for b in second]
    return math.exp(sum(logs) / len(logs))


@of_examples()
def test_no_formula_is_the_computed_number(solved: Result) -> None:
    """A hand form is off by more than rounding; what both have as zero is told by both."""
    for where, formula, computed in _pairs(solved):
        if (
            formula is not None
            and computed is not None
            and math.isfinite(formula)
            and max(abs(formula), abs(computed)) > 0
        ):
            assert abs(formula - computed) > 1e-9 * abs(computed), where


def _pairs(result: Result) -> Iterator[tuple[str, Any, Any]]:
    """Each formula with the number beside it."""
    for receptor in result.receptors:
        yield receptor.name, receptor.line_formula_b_rms_t, receptor.b_rms_t
        yield receptor.name, receptor.line_formula_shared_b_rms_t, receptor.b_rms_t
    for loss in result.losses:
        yield loss.part, loss.formula_loss_w_per_m, loss.loss_w_per_m
    for part in result.parts:
        yield part.part, part.formula_r_ac_ohm_per_m, part.r_ac_ohm_per_m
        yield part.part, part.formula_current_rms_a, part.current_rms_a
    for phase in result.phases:
        yield phase.phase, phase.formula_inductance_h_per_m, phase.inductance_h_per_m
        yield phase.phase, phase.gmd_inductance_h_per_m, phase.inductance_h_per_m
    for beside in result.ladder:
        yield f"{beside.subject}, {beside.formula}", beside.value_in_unit, beside.finite_element_in_unit
    for row in result.limit_distances:
        yield row.direction, row.far_form_from_centre_m, row.from_centre_m
    if result.route is not None:
        for circuit in result.route.circuits:
            yield circuit.circuit, abs(circuit.formula_z1_ohm), abs(circuit.z1_ohm)
            yield circuit.circuit, circuit.formula_z21_over_z11, circuit.z21_over_z11
        for entry in result.route.fields:
            yield entry.receptor, entry.line_formula_b_rms_t, entry.b_rms_t
        for section in result.route.sections:
            yield section.section, section.formula_loss_w_per_m, section.loss_w_per_m
    for force in result.faults:
        yield force.cable, force.line_force_n_per_m, force.alternating_peak_force_n_per_m
        yield force.cable, force.standard_force_n_per_m, force.alternating_peak_force_n_per_m
    for own in result.charging:
        if own.method == "finite element":
            for name, formula in own.formulas_f_per_m.items():
                yield name, formula, own.capacitance_f_per_m


@of_examples(["gland_plate"])
def test_the_inductance_of_a_circuit_with_little_current_beside_another_is_not_compared(solved: Result) -> None:
    for times, compared in ((4.9, True), (5.1, False)):
        heavy = [replace(row, circuit="F2", current_a=times * row.current_a) for row in solved.phases]
        table = phase_table(replace(solved, phases=(*solved.phases, *heavy))).full
        for heading in ("Difference, line", "Difference, GMD"):
            column = next(k for k, head in enumerate(table.columns) if head.heading == heading)
            assert [row[column] != "–" for row in table.rows] == [compared] * 3 + [True] * 3
        assert ("No difference for a circuit with less than a fifth" in table.note) is not compared
