"""Answers on the installed run: a pair nearby, permitted currents, limits as stated, energy, causes, laying, survey."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from functools import cache

import numpy as np
from scipy.constants import mu_0

from fem.arrays import Complexes, Floats
from fem.multipole import RoundPart, solve_round_parts
from fem.polarisation import resultant
from fem.ties import Tie, drive
from studies.answers.causes.rows import splits
from studies.answers.survey.fit import Model, minima
from studies.formulas.inductance import solid_mean_radius
from studies.formulas.line_field import line_field
from studies.formulas.line_impedance import parallel_currents, phase_impedance_matrix
from studies.formulas.round_conductor import round_conductor_internal_impedance
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from studies.verify.checks import Checked, CheckFamily, Method, Source
from studies.verify.sources import (
    ADDED_BY_HAND,
    FLUX_OF_LINES,
    LAID_LINES,
    LINE_FIELD,
    READINGS_OF_LINES,
    SERIES,
    SHARING,
    SINE,
    SKIN_EXACT,
)
from studies.verify.states import MESH, MESH_REASON

FAMILY = CheckFamily("installed")
FOOT = 0.3048
AREA, DC = 10e-6, 1.83e-3
"""Of each conductor: area [m^2], resistance at 20 degC [ohm/m]."""
TONES = {60.0: 100.0, 420.0: 20.0}
"""Currents of go and return [A], by frequency [Hz]."""
PERMITTED = 80.0
"""[A]"""
GO_AND_RETURN = f"""title = "Go and return beside a pair of wires"
frequency = "60 Hz"

[cables.c]
conductor = {{ material = "copper", area = "10 mm^2", temperature = "20 degC", dc_resistance = "{1e3 * DC} ohm/km" }}
insulation = "1 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [["0 ft", "0 ft"], ["5 ft", "0 ft"]]
phases = ["L1", "N"]
current = "100 A"
further_currents = [{{ frequency = "420 Hz", current = "20 A" }}]
permitted_current = "{PERMITTED} A"

[[loops]]
name = "pair"
wires = [["25 ft", "0 ft"], ["26 ft", "0 ft"]]

[[receptors]]
name = "desk"
at = ["0 ft", "10 ft"]

[[stated_limits]]
name = "whole wave at 60 Hz"
receptor = "desk"
limit = "10 uT"
value = "peak to peak"
component = "major axis"
band = ["50 Hz", "70 Hz"]

[energy]
hours = [1000, 4000]
loads = [1, 0.5]

[accuracy]
tolerance = "2 %"
"""
SIDE, LAID = 24.5e-3, 3e-3
"""Of the trefoil, and the standard deviation of its cables' places. [m]"""
DESK = (2.0, SIDE / 12**0.5)
"""Where its field is wanted. [m]"""
TREFOIL = f"""title = "Thin cables in a trefoil, far away"
frequency = "50 Hz"

[cables.c]
conductor = {{ material = "copper", area = "10 mm^2", temperature = "20 degC" }}
insulation = "1 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [["{-SIDE / 2} m", "0 m"], ["{SIDE / 2} m", "0 m"], ["0 m", "{SIDE * 3**0.5 / 2} m"]]
phases = ["L1", "L2", "L3"]
current = "100 A"

[[receptors]]
name = "desk"
at = ["{DESK[0]} m", "{DESK[1]} m"]

[laying_tolerance]
across = "{LAID} m"
up = "{LAID} m"
solves = 5

[accuracy]
tolerance = "5 %"
"""
LAYINGS = 100_000
"""Layings of line currents that the percentile is held to."""
ROW_AREA, ROW_DC, ROW_SPACING, NEAR = 240e-6, 0.0754e-3, 24e-3, (0.05, 0.1)
"""Of the row of parallel cables: area [m^2], resistance [ohm/m], spacing [m]; where its field is wanted [m]."""
ROW = f"""title = "Two cables of go and two of return, close together"
frequency = "50 Hz"

[cables.c]
conductor = {{ material = "copper", area = "240 mm^2", temperature = "20 degC", dc_resistance = "0.0754 ohm/km" }}
insulation = "1.7 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [{", ".join(f'["{k * ROW_SPACING} m", "0 m"]' for k in range(4))}]
phases = ["L1", "L1", "N", "N"]
current = "400 A"

[[receptors]]
name = "near"
at = ["{NEAR[0]} m", "{NEAR[1]} m"]

[causes]
of = ["fields", "losses"]

[accuracy]
tolerance = "0.5 %"
"""
RESIDUAL = cmath.rect(3.0, math.radians(40))
"""Of the survey. [A]"""


@cache
def go_and_return() -> Result:
    """Go and return with two frequencies, once for all checks of it."""
    return run(loads(GO_AND_RETURN))


@FAMILY.check("loops")
def induced_voltages() -> Iterator[Checked]:
    """Voltage induced in a pair of wires 25 and 26 ft beside go and return 5 ft apart."""
    (row,) = go_and_return().loops
    for one in row.spectrum:
        current = TONES[round(one.frequency_hz)]
        exact = one.frequency_hz * mu_0 * current * abs(math.log(26 / 25) - math.log(21 / 20))
        yield _of_study(f"u at {one.frequency_hz:g} Hz", "V/m", FLUX_OF_LINES, exact, one.u_v_per_m)


@FAMILY.check("further-currents")
def further_currents() -> Iterator[Checked]:
    """Field and loss of a wire that carries 60 Hz and 420 Hz."""
    result = go_and_return()
    axes, at = np.array([[0.0, 0.0], [5 * FOOT, 0.0]]), np.array([[0.0, 10 * FOOT]])
    lines = [float(resultant(line_field(at, axes, np.array([own, -own])))[0]) for own in TONES.values()]
    yield _of_study("B", "T", LINE_FIELD, math.hypot(*lines), result.receptors[0].b_rms_t)
    for loss in result.losses:
        yield _of_study(f"loss of {loss.part}", "W/m", SKIN_EXACT, _wire_loss(TONES), loss.loss_w_per_m)


@FAMILY.check("permitted-current")
def permitted_current() -> Iterator[Checked]:
    """Equal-heat factor of two wires far apart, which heat each other by nothing."""
    found = go_and_return().permitted
    assert found is not None
    alone = _wire_loss({60.0: PERMITTED})
    for row in found.cables:
        yield _of_study(f"loss alone, {row.cable}", "W/m", SKIN_EXACT, alone, row.alone_loss_w_per_m)
    factor = math.sqrt(alone / _wire_loss(TONES))
    yield _of_study("factor on all currents", "-", SKIN_EXACT, factor, found.equal_heat_factor or 0.0)


@FAMILY.check("stated-limits")
def stated_limits() -> Iterator[Checked]:
    """Field of a single tone from peak to peak over its limit."""
    (row,) = go_and_return().stated_limits
    field = 100 * mu_0 / (2 * math.pi * FOOT) * abs(1 / 10j - 1 / (10j - 5))
    yield _of_study("B/limit at 60 Hz", "-", SINE, 2 * math.sqrt(2) * field / 10e-6, row.index)


@FAMILY.check("yearly-energy")
def yearly_energy() -> Iterator[Checked]:
    """Energy of 1000 h at full and 4000 h at half load."""
    found = go_and_return().energy
    assert found is not None
    exact = 2 * _wire_loss(TONES) * (1000 + 4000 / 4) * 3600
    yield _of_study("energy of a year", "J/m", ADDED_BY_HAND, exact, found.rows[-1].energy_j_per_m)


@FAMILY.check("causes")
def causes() -> Iterator[Checked]:
    """Why formula and finite element differ, two and two parallel cables 24 mm apart."""
    axes = ROW_SPACING * np.array([[k, 0.0] for k in range(4)])
    radius, at = math.sqrt(ROW_AREA / math.pi), np.array([NEAR])
    matrix = phase_impedance_matrix(axes, solid_mean_radius([radius] * 4), np.full(4, ROW_DC), 50.0, 1.0)
    shared = parallel_currents(matrix, [0, 0, 1, 1], [400.0, -400.0])
    parts = [RoundPart(str(k), (float(x), 0.0), radius, 0.0, 1 / (ROW_DC * ROW_AREA)) for k, (x, _) in enumerate(axes)]
    exact = solve_round_parts(parts, 50.0)
    state = drive(exact.admittance, ("0", "1", "2", "3"), (Tie(("0", "1"), 400.0), Tie(("2", "3"), -400.0)))
    field, loss = splits(run(loads(ROW)).causes)
    sharing = float(resultant(line_field(at, axes, shared))[0])
    everything = float(resultant(exact.field(state.voltages, at))[0])
    yield _of_study("B of the formula and sharing", "T", SHARING, sharing, field.formula + field.sharing)
    for name, unit, row, whole in (
        ("B", "T", field, everything),
        ("loss", "W/m", loss, float(exact.losses(state.voltages).sum())),
    ):
        yield _of_study(f"{name} of formula, sharing, proximity", unit, SERIES, whole, row.formula + sum(row.parts()))


@FAMILY.check("laying-tolerance")
def laying_tolerance() -> Iterator[Checked]:
    """Trefoil of 24.5 mm laid to 3 mm, its field 2 m away over that as drawn."""
    found = run(loads(TREFOIL)).laying_tolerance
    assert found is not None
    (row,) = found.fields
    draw = np.random.default_rng(7)
    drawn: Complexes = np.array([-SIDE / 2, SIDE / 2, 0.5j * 3**0.5 * SIDE])
    laid: Complexes = drawn + LAID * (draw.standard_normal((LAYINGS, 3)) + 1j * draw.standard_normal((LAYINGS, 3)))
    ratio = _of_lines(laid) / _of_lines(drawn[None])
    reason = "three standard errors of 10 000 and 100 000 layings, and the mesh"
    for what, share, value, tolerance in (
        ("median", 0.5, row.median_b_rms_t, 5e-3),
        ("95th percentile", 0.95, row.p95_b_rms_t, 8e-3),
    ):
        yield Checked(
            *(f"{what} of B/B as drawn", "-", LAID_LINES, Method.STUDY),
            *(float(np.quantile(ratio, share)), value / row.b_rms_t, tolerance, reason),
        )


@FAMILY.check("survey")
def survey() -> Iterator[Checked]:
    """Ten readings of a flat run with a residual current of 3 A at 40 degrees."""
    points = np.array([[x, y] for y in (-0.8, 0.6) for x in (-1.5, -0.5, 0.0, 0.5, 1.5)])
    axes = np.array([[-0.05, 0.0], [0.0, 0.0], [0.05, 0.0]])
    phases = 400 * np.exp(-2j * np.pi * np.arange(3) / 3)
    own = line_field(points, axes, phases)
    residual = line_field(points, axes, np.full(3, 1 / 3))
    model = Model(own[None, :, :, None], residual[:, :, None], np.ones(10), np.zeros(10, dtype=np.int64), 4.0)
    readings = resultant(own + RESIDUAL * residual)
    fit = minima(model, readings, 0.03 * readings, 0.0)[0].numbers
    current = model.residual_current(fit, 0) or 0j
    for name, unit, exact, value in (
        ("load factor", "-", 1.0, float(fit[0])),
        ("residual current", "A", abs(RESIDUAL), abs(current)),
        ("its angle", "deg", 40.0, math.degrees(cmath.phase(current))),
    ):
        yield Checked(name, unit, READINGS_OF_LINES, Method.FORMULA, exact, value, 1e-6, "the search ends at 1e-10")


def _of_study(name: str, unit: str, source: Source, exact: float, computed: float) -> Checked:
    return Checked(name, unit, source, Method.STUDY, exact, computed, MESH, MESH_REASON)


def _wire_loss(tones: dict[float, float]) -> float:
    """Loss of one of the two wires alone with currents [A] by frequency [Hz]. [W/m]"""
    radius, conductivity = math.sqrt(AREA / math.pi), 1 / (DC * AREA)
    return sum(
        own**2 * float(round_conductor_internal_impedance(radius, conductivity, frequency).real)
        for frequency, own in tones.items()
    )


def _of_lines(places: Complexes) -> Floats:
    """Resultant of balanced line currents of 1 A at places x + j y (s, 3) [m], at the desk, shape (s,). [T]"""
    away = complex(*DESK) - places
    phases = np.exp(-2j * np.pi / 3 * np.arange(3))
    # x + j y of the field, of the currents' real and imaginary parts one after the other
    parts = [
        mu_0 / (2 * np.pi) * (own * 1j * away / np.abs(away) ** 2).sum(axis=1) for own in (phases.real, phases.imag)
    ]
    return np.asarray(np.hypot(*np.abs(parts)), dtype=np.float64)
