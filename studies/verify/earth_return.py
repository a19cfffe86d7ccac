"""Lines and screened cables with return through the earth against printed impedance matrices."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from scipy.constants import mile
from scipy.integrate import quad
from scipy.special import kv

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from fem.earth import EarthReturn
from fem.multipole import RoundPart
from fem.ties import Tie, impedance_matrix
from studies.answers.phases.compute import sequence_matrix
from studies.formulas.line_impedance import phase_impedance_matrix
from studies.runner import run
from studies.study.reading import loads
from studies.verify.checks import Checked, CheckFamily, Method, Source
from studies.verify.sources import EARTH_INTEGRALS, FEEDER_CABLES, FEEDER_LINE, LINE_CONSTANTS, UNTRANSPOSED
from studies.verify.states import MESH, elements

FAMILY = CheckFamily("earth-return")
FOOT = 0.3048
"""[m]"""
INCH = 0.0254
"""[m]"""
EARTH = EarthReturn(100.0, 0.0)
"""Of all three examples. [ohm m, m]"""
THICKNESS = 0.02
"""Wall over radius of the tubes that stand for conductors of which mean radius and resistance are printed. [-]"""
LINE_FINENESS = 1.0
"""Fineness of the meshes of lines, whose wires lie far apart."""
FORMULA_REASON = "half of the last printed digit, and the rounding of the example's constants"
ELEMENTS_REASON = (
    "half of the last printed digit, the mesh, and what the example leaves out of the return in the earth: the next "
    "terms of Carson's series, w mu0/(2 pi) (2/(3 sqrt 2)) |k| (h + h'), |k|^2 = w mu0/rho, for the highest pair"
)
STUDY_REASON = (
    "as by finite elements, the study's own tolerance, and the tube that stands for 13 wires: their own reactance is "
    "larger by w mu0/(2 pi) ln(R/(13 r' R^12)^(1/13)), R the radius of their circle, r' the mean radius of a wire"
)
STUDY_TOLERANCE = 2e-3
"""Of the study below: what skin effect adds to the resistance of its round conductors. [-]"""
SCREEN = 0.2e-3
"""Thickness of the tubes that stand for the neutrals' wires. [m]"""
STUDY = """
title = "Three cables with concentric neutrals"
frequency = "60 Hz"

[materials.neutral]
conductivity = "{conductivity:.6f} MS/m"
relative_permeability = 1

[cables.c]
conductor = {{ material = "aluminium", area = "250 kcmil", diameter = "{diameter:.5f} mm", \
dc_resistance = "{resistance:.7f} ohm/km", temperature = "20 degC" }}
insulation = "{insulation:.5f} mm"
screen = {{ material = "neutral", thickness = "{screen:g} mm", temperature = "20 degC" }}
jacket = "1 mm"

[[circuits]]
name = "F"
cable = "c"
arrangement = "flat"
spacing = "{spacing:g} mm"
rests_at = ["0 m", "-{depth:g} m"]
phases = ["L1", "L2", "L3"]
current = {{ L1 = "1 A", L2 = "0 A", L3 = "0 A" }}

[[bonds]]
parts = ["F screens"]
earth = true

[earth]
resistivity = "100 ohm*m"

[accuracy]
tolerance = "0.1 %"
"""
AT_60 = {
    "aa": "0.3465+1.0179j",
    "bb": "0.3375+1.0478j",
    "cc": "0.3414+1.0348j",
    "ab": "0.1560+0.5017j",
    "ac": "0.1580+0.4236j",
    "bc": "0.1535+0.3849j",
}
"""Of the overhead line. [ohm/mi]"""
AT_50 = {
    "aa": "0.2101+0.5372j",
    "bb": "0.2046+0.5520j",
    "cc": "0.2070+0.5456j",
    "ab": "0.0917+0.2691j",
    "ac": "0.0930+0.2289j",
    "bc": "0.0902+0.2085j",
}
"""The same at 50 Hz. [ohm/km]"""
NEUTRALS = {"aa": "0.7982+0.4463j", "bb": "0.7891+0.4041j", "ab": "0.3192+0.0328j", "ac": "0.2849-0.0143j"}
"""Of the buried cables. [ohm/mi]"""
SEQUENCES = {
    "00": "19.6736+109.05j",
    "11": "8.24+28.4717j",
    "01": "0.5351+0.4692j",
    "02": "-0.5351+0.4692j",
    "12": "-1.0702-0.9384j",
    "21": "1.0702-0.9384j",
}
"""Of the untransposed line. [ohm]"""


@FAMILY.check("earth-integrals")
def integrals() -> Iterator[Checked]:
    """Integrals of the return through the earth."""
    omega = 2 * math.pi * 50
    scale = 1e3 * omega * mu_0 / (2 * math.pi)
    for title, source, point in (
        ("both 8 m high, 4 m apart", (0.0, 8.0), (4.0, 8.0)),
        ("both 30 m high, 500 m apart", (0.0, 30.0), (500.0, 30.0)),
        ("from 6 m high to 1.5 m deep, 3 m aside", (0.0, 6.0), (3.0, -1.5)),
        ("both 1 m deep, 0.5 m apart", (0.0, -1.0), (0.5, -1.0)),
    ):
        apart = math.log(math.dist(source, point))
        exact = 1j * scale * _potential(source, point, EARTH.wave_number(omega))
        own = 1j * scale * (EARTH.logarithms(omega, np.array([source]), np.array([point]))[0, 0] - apart)
        for part, number, computed in (("R", exact.real, own.real), ("X", exact.imag, own.imag)):
            quantity, size = f"mutual {part}, {title}", abs(exact)
            method, reason = Method.FORMULA, "the panels of the quadrature in use"
            yield Checked(quantity, "ohm/km", EARTH_INTEGRALS, method, number, float(computed), 1e-6, reason, size)


def _potential(source: tuple[float, float], point: tuple[float, float], k: complex) -> complex:
    """A of a line current over mu0 i/(2 pi), by an adaptive quadrature of the integral. [-]"""
    above, below = (sum(max(sign * y, 0.0) for y in (source[1], point[1])) for sign in (1, -1))
    x = point[0] - source[0]

    def integrand(lam: float) -> complex:
        alpha = np.sqrt(lam**2 + k**2)
        return complex(2 * np.exp(-above * lam - below * alpha) * np.cos(x * lam) / (lam + alpha))

    ends = np.concatenate([[0.0], np.geomspace(abs(k) / 100, max(40 / (above + below), abs(k)), 40)])
    total = sum(
        quad(lambda lam: integrand(lam).real, low, high, limit=400)[0]
        + 1j * quad(lambda lam: integrand(lam).imag, low, high, limit=400)[0]
        for low, high in itertools.pairwise(ends)
    )
    direct, image = np.hypot(x, point[1] - source[1]), np.hypot(x, point[1] + source[1])
    if max(source[1], point[1]) < 0:
        total += kv(0, np.complex128(k * direct)) - kv(0, np.complex128(k * image))
    if min(source[1], point[1]) > 0:
        total += np.log(image / direct)
    return complex(total)


@FAMILY.check("four-wires")
def four_wires() -> Iterator[Checked]:
    """Overhead line with an earthed neutral."""
    axes = np.array([(0.762, 8.5344), (0.0, 8.5344), (2.1336, 8.5344), (1.2192, 7.3152)])
    radii, ohms = np.array([9.47938e-3] * 3 + [2.48107e-3]), np.array([1.15575e-4] * 3 + [3.67852e-4])
    names = ("a", "b", "c", "n")
    ties = (*_open(names[:3]), Tie(("n",), 0j, 0j))
    examples = ((60.0, FEEDER_LINE, AT_60, mile, "ohm/mi", 1e-3), (50.0, LINE_CONSTANTS, AT_50, 1e3, "ohm/km", 2e-4))
    for frequency, source, printed, length, unit, rounding in examples:
        formula = length * _reduced(_by_first_terms(axes, radii, ohms, frequency), 3)
        state = elements(_tubes(names, axes, radii, ohms), frequency, ties, LINE_FINENESS, earth=EARTH)
        solved = length * impedance_matrix(state.fields.admittance, state.names, ties, (0, 1, 2))
        title = f"overhead line, {frequency:g} Hz"
        left_out = dict.fromkeys(printed, length * _next_terms(frequency, float(axes[:, 1].max())))
        yield from _compared(title, unit, source, Method.FORMULA, printed, formula, {}, rounding)
        yield from _compared(title, unit, source, Method.ELEMENTS, printed, solved, left_out, MESH)


@FAMILY.check("concentric-neutrals")
def concentric_neutrals() -> tuple[Checked, ...]:
    """Buried cables with neutrals earthed at both ends."""
    depth, circle, wire = 1.0, (1.29 - 0.0641) / 2 * INCH, 0.0641 / 2 * INCH
    axes, names = np.array([(6 * INCH * k, -depth) for k in range(3)]), ("a", "b", "c")
    conductivity = mile / (14.8722 * math.pi * wire**2)
    turns = 2 * np.pi * np.arange(13) / 13
    around = circle * np.column_stack([np.cos(turns), np.sin(turns)])
    neutrals = [
        [RoundPart(f"{name}.{k}", (x, y), wire, 0.0, conductivity) for k, (x, y) in enumerate((axis + around).tolist())]
        for name, axis in zip(names, axes, strict=True)
    ]
    conductors = _tubes(names, axes, np.full(3, 0.0171 * FOOT), np.full(3, 0.4100 / mile))
    ties = (*_open(names), *(Tie(tuple(part.name for part in wires), 0j, 0j) for wires in neutrals))
    state = elements([*conductors, *itertools.chain(*neutrals)], 60.0, ties, LINE_FINENESS, earth=EARTH)
    solved = mile * impedance_matrix(state.fields.admittance, state.names, ties, (0, 1, 2))
    left_out = dict.fromkeys(NEUTRALS, mile * _next_terms(60.0, depth))
    title, unit = "concentric neutrals, 60 Hz", "ohm/mi"
    wires_in_circle = 13 * wire * math.exp(-0.25) / circle  # to the power 1/13, times the circle: their mean radius
    of_tube = mile * 60 * mu_0 * abs(math.log(wires_in_circle)) / 13
    by_study = {name: text for name, text in NEUTRALS.items() if name[0] == "a"}
    accepted = dict.fromkeys(by_study, left_out["aa"] + of_tube)
    return (
        *_compared(title, unit, FEEDER_CABLES, Method.ELEMENTS, NEUTRALS, solved, left_out, MESH),
        *_compared(
            title, unit, FEEDER_CABLES, Method.STUDY, by_study, _with_tubes(circle, depth), accepted, STUDY_TOLERANCE
        ),
    )


def _with_tubes(circle: float, depth: float) -> Complexes:
    """The same three cables as a study file states them, current in the first alone: its row of the matrix. [ohm/mi]"""
    radius = 0.0171 * FOOT * math.exp(0.25)
    conductivity = 13 * mile / (14.8722 * 2 * math.pi * circle * SCREEN)
    result = run(
        loads(
            STUDY.format(
                conductivity=conductivity / 1e6,
                diameter=2e3 * radius,
                resistance=1e3 * 0.4100 / mile,
                insulation=1e3 * (circle - SCREEN / 2 - radius),
                screen=1e3 * SCREEN,
                spacing=6e3 * INCH,
                depth=depth,
            )
        )
    )
    conductors = [part for part in result.parts if part.kind == "conductor"]
    row = [mile * part.voltage_v_per_m / conductors[0].current_a for part in conductors]
    return np.array([row], dtype=np.complex128)


@FAMILY.check("untransposed-line")
def untransposed_line() -> tuple[Checked, ...]:
    """Sequence impedances of an untransposed line."""
    ab, bc, ac = math.sqrt(68) * FOOT, math.sqrt(178) * FOOT, math.sqrt(146) * FOOT
    along = (ab**2 + ac**2 - bc**2) / (2 * ab)
    low = 0.1  # the example has no heights: as low as may be, so that little is left out
    axes = np.array([(0.0, low), (ab, low), (along, low + math.sqrt(ac**2 - along**2))])
    radii, ohms, length, names = np.full(3, 0.0311 * FOOT), np.full(3, 0.206 / mile), 40 * mile, ("a", "b", "c")
    state = elements(_tubes(names, axes, radii, ohms), 60.0, _open(names), 2 * LINE_FINENESS, earth=EARTH)
    impedances = impedance_matrix(state.fields.admittance, state.names, _open(names), (0, 1, 2))
    next_terms = length * _next_terms(60.0, float(axes[:, 1].max()))
    # a common term of all pairs is thrice in the zero sequence; what differs from pair to pair couples with it alone
    left_out = {"00": 3 * next_terms, "01": next_terms, "02": next_terms}
    title, unit = "untransposed line, 40 mi", "ohm"
    by_formula = sequence_matrix(length * _by_first_terms(axes, radii, ohms, 60.0))
    solved = sequence_matrix(length * impedances)
    return (
        *_compared(title, unit, UNTRANSPOSED, Method.FORMULA, SEQUENCES, by_formula, {}, 5e-4),
        *_compared(title, unit, UNTRANSPOSED, Method.ELEMENTS, SEQUENCES, solved, left_out, MESH),
    )


def _compared(
    title: str,
    unit: str,
    source: Source,
    method: Method,
    printed: Mapping[str, str],
    found: Complexes,
    left_out: Mapping[str, float],
    share: float,
) -> list[Checked]:
    """Real and imaginary part of the printed entries of a matrix, relative to the entry's magnitude.

    Accepted are half a printed digit, what the example leaves out of an entry [unit], and a share of the entry: of an
    impedance of sequences, which is a difference of large ones, of the positive sequence at least.
    """
    order = "012" if "00" in printed else "abc"
    reason = {Method.FORMULA: FORMULA_REASON, Method.STUDY: STUDY_REASON}.get(method, ELEMENTS_REASON)
    rows = []
    for name, text in printed.items():
        entry, value = complex(found[order.index(name[0]), order.index(name[1])]), complex(text)
        size = abs(value)
        least = abs(complex(printed.get("11", "0"))) if method is Method.ELEMENTS else 0.0
        digits = re.fullmatch(r"-?\d+\.(\d+)[+-]\d+\.(\d+)j", text)
        assert digits is not None
        for part, number, computed, decimals in (
            ("R", value.real, entry.real, digits[1]),
            ("X", value.imag, entry.imag, digits[2]),
        ):
            accepted = 0.5 * 10.0 ** -len(decimals) + left_out.get(name, 0.0) + share * max(size, least)
            rows.append(
                Checked(f"{title}, {part}{name}", unit, source, method, number, computed, accepted / size, reason, size)
            )
    return rows


def _tubes(names: Sequence[str], axes: Floats, radii: Floats, ohms: Floats) -> list[RoundPart]:
    """Thin tubes of given mean radius [m] and resistance [ohm/m], without skin effect."""
    parts = []
    for name, (x, y), radius, resistance in zip(names, axes, radii, ohms, strict=True):
        outer = radius * (1 + THICKNESS / 3)  # the mean radius of a thin tube lies a third of its wall within
        inner = outer - THICKNESS * radius
        conductivity = 1 / (resistance * math.pi * (outer**2 - inner**2))
        parts.append(RoundPart(name, (float(x), float(y)), outer, inner, conductivity))
    return parts


def _open(names: Sequence[str]) -> tuple[Tie, ...]:
    return tuple(Tie((name,)) for name in names)


def _by_first_terms(axes: Floats, radii: Floats, ohms: Floats, frequency: float) -> Complexes:
    """Impedance matrix of lines with the first terms of Carson's series, as the line formulas of studies. [ohm/m]"""
    radius = EARTH.equivalent_radius(2 * math.pi * frequency)
    matrix = phase_impedance_matrix(axes, radii, ohms, frequency, abs(radius))
    return np.asarray(matrix - frequency * mu_0 * np.angle(radius), dtype=np.complex128)


def _reduced(matrix: Complexes, kept: int) -> Complexes:
    """Impedance matrix of the first lines, the others earthed at both ends."""
    own, other = matrix[:kept, kept:], matrix[kept:, kept:]
    return np.asarray(matrix[:kept, :kept] - own @ np.linalg.solve(other, matrix[kept:, :kept]), dtype=np.complex128)


def _next_terms(frequency: float, height: float) -> float:
    """Bound of the terms of Carson's series beyond the first, of lines up to a height or depth [m]. [ohm/m]"""
    omega = 2 * math.pi * frequency
    return omega * mu_0 / (2 * math.pi) * 4 / (3 * math.sqrt(2)) * abs(EARTH.wave_number(omega)) * height
