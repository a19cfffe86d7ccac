"""Magnetisation curves as data: checked points, CSV files and a table of published curves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType

from fem.constants import mu_0
from fem.magnetisation import BrauerCurve, Curve, KneeTailCurve, RationalCurve, TabulatedCurve

COLUMNS = ("H_A_per_m", "B_T")
"""Columns of a curve's CSV file."""
LEAST_POINTS = 3
LARGEST_MAGNETISATION = 2.6
"""Magnetisation mu0 M that no material reaches; iron-cobalt has 2.45 T. [T]"""
LARGEST_PERMEABILITY = 1e6
"""Relative permeability B/(mu0 H) that no sheet reaches. [-]"""


@dataclass(frozen=True)
class PublishedCurve:
    """A built-in curve with its source."""

    curve: Curve
    source: str
    mark: str
    """[C] source seen or recomputed, [M] from memory."""
    other: str = ""
    """Name of the curve of another steel for the same use, which shows how steel varies; empty if none is known."""


def curve_from_points(
    field_strengths: Sequence[float], flux_densities: Sequence[float], rows: Sequence[str] | None = None
) -> TabulatedCurve:
    """Curve through measured points, once they are checked.

    field_strengths: H of each point; (0, 0) is put before the first point if it is missing. [A/m]
    flux_densities: B of each point. [T]
    rows: Name of each point in messages; "point 1" and so on if not given.
    Raises ValueError: With the row and its values, if there are fewer than three points, if they do not rise strictly,
        if a slope is below mu0, or if magnitudes that no steel has show another unit or exchanged columns.
    """
    if len(field_strengths) != len(flux_densities):
        raise ValueError(
            f"a curve needs as many values of H as of B: {len(field_strengths)} of H, {len(flux_densities)} of B"
        )
    names = list(rows) if rows is not None else [f"point {k + 1}" for k in range(len(field_strengths))]
    points = list(zip(names, map(float, field_strengths), map(float, flux_densities), strict=True))
    if len(points) < LEAST_POINTS:
        raise ValueError(f"a curve needs at least {LEAST_POINTS} points, there are {len(points)}")
    if points[0][1:] != (0.0, 0.0):
        points.insert(0, ("the start of the curve", 0.0, 0.0))
    for before, here in pairwise(points):
        _check_step(before, here)
    return TabulatedCurve(tuple(b for _, _, b in points), tuple(h for _, h, _ in points))


def _check_step(before: tuple[str, float, float], here: tuple[str, float, float]) -> None:
    """Refuse a point that cannot come after the point before it."""
    (before_name, h0, b0), (name, h, b) = before, here
    point = f"{name}: H = {h:g} A/m, B = {b:g} T"
    if not (abs(h) < float("inf") and abs(b) < float("inf")):
        raise ValueError(f"{point}: both must be finite numbers")
    for letter, value, last, unit in (("H", h, h0, "A/m"), ("B", b, b0, "T")):
        if not value > last:
            raise ValueError(f"{point}: {letter} must rise from point to point, but {before_name} has {last:g} {unit}")
    if b - mu_0 * h > LARGEST_MAGNETISATION:
        raise ValueError(
            f"{point}: B less mu0 H is {b - mu_0 * h:.3g} T, no material exceeds {LARGEST_MAGNETISATION} T; "
            "B must be in T (not mT or gauss) and the columns must be H, then B"
        )
    if b > LARGEST_PERMEABILITY * mu_0 * h:
        raise ValueError(
            f"{point}: the relative permeability is {b / (mu_0 * h):.3g}, no sheet exceeds {LARGEST_PERMEABILITY:.0e}; "
            "H must be in A/m (not kA/m)"
        )
    if b - b0 < mu_0 * (h - h0) * (1 - 1e-6):  # the digits of a table may round a slope of mu0
        raise ValueError(
            f"{point}: from {before_name} the slope is {(b - b0) / (mu_0 * (h - h0)):.3g} mu0; "
            "it must not be below mu0, the slope of air (H in A/m, B in T, B and not the magnetisation)"
        )


def curve_from_csv(path: str | Path) -> TabulatedCurve:
    """Curve from a CSV file of two columns, H in A/m and B in T.

    path: UTF-8 text; "#" starts a comment; a header "H_A_per_m,B_T" may stand first; decimal points, comma between the
        columns.
    Raises OSError: If the file cannot be read.
    Raises ValueError: If it holds no curve: with the file and the line, and with the values if the line holds two
        numbers.
    """
    place = Path(path)
    try:
        text = place.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise ValueError(f"{place}: not UTF-8 text ({error.reason} at byte {error.start})") from error
    field_strengths, flux_densities, rows = [], [], []
    first = True
    for number, line in enumerate(text.splitlines(), start=1):
        content = line.partition("#")[0].strip()
        if not content:
            continue
        cells = tuple(cell.strip().strip('"') for cell in content.split(","))
        if first and cells == COLUMNS:
            first = False
            continue
        first = False
        h, b = _numbers(f"{place}, line {number}", cells)
        field_strengths.append(h)
        flux_densities.append(b)
        rows.append(f"line {number}")
    try:
        return curve_from_points(field_strengths, flux_densities, rows)
    except ValueError as error:
        raise ValueError(f"{place}: {error}") from error


def _numbers(where: str, cells: tuple[str, ...]) -> tuple[float, float]:
    """H and B of a line. No message repeats the line, as the file may be the wrong one, with private contents."""
    header = ",".join(COLUMNS)
    if len(cells) != len(COLUMNS):
        count = f"{len(cells)} column{'s' if len(cells) > 1 else ''}"
        raise ValueError(
            f"{where} has {count}; there must be two, {header}, with a comma between them and decimal points"
        )
    try:
        return float(cells[0]), float(cells[1])
    except ValueError:
        raise ValueError(f"{where} is not two numbers; a header must be the first line and read {header}") from None


def _benchmark_steel() -> KneeTailCurve:
    """The table of the benchmark; its last point is the value of the tail, 1.79997 T instead of the printed 1.8 T."""
    a, b, c = -2.381e-10, 2.327e-5, 1.590
    points = (
        (0, 0), (16, 0.0025), (30, 0.005), (54, 0.0125), (93, 0.025), (143, 0.05), (191, 0.1), (210, 0.2), (222, 0.3),
        (233, 0.4), (247, 0.5), (258, 0.6), (272, 0.7), (289, 0.8), (313, 0.9), (342, 1.0), (377, 1.1), (433, 1.2),
        (509, 1.3), (648, 1.4), (933, 1.5), (1228, 1.55), (1934, 1.6), (2913, 1.65), (4993, 1.7), (7189, 1.75),
        (9423, mu_0 * 9423 + (a * 9423 + b) * 9423 + c),
    )  # fmt: skip
    h, b_of_h = zip(*points, strict=True)
    return KneeTailCurve(TabulatedCurve(tuple(map(float, b_of_h)), tuple(map(float, h))), a, b, c)


def _carbon_steel_1010() -> TabulatedCurve:
    points = (
        (0, 0), (238.7, 0.2003), (318.3, 0.3204), (358.1, 0.40045), (437.7, 0.50055), (477.5, 0.5606), (636.6, 0.7908),
        (795.8, 0.9310), (1114.1, 1.1014), (1273.2, 1.2016), (1591.5, 1.302), (2228.2, 1.4028), (3183.1, 1.524),
        (4774.6, 1.626), (6366.2, 1.698), (7957.7, 1.73), (15915.5, 1.87), (47746.5, 2.04),
    )  # fmt: skip
    h, b = zip(*points, strict=True)
    return TabulatedCurve(tuple(map(float, b)), tuple(map(float, h)))


_FLUX_TUBES = "Modelica Standard Library, Magnetic.FluxTubes, fit of a measured curve"
_BRAUER = "J. R. Brauer, IEEE Trans. Magnetics MAG-11(1):81, 1975, H = (k1 exp(k2 B^2) + k3) B"

CURVES: Mapping[str, PublishedCurve] = MappingProxyType(
    {
        "mild-steel-curve": PublishedCurve(
            BrauerCurve(3.8, 2.17, 396.2),
            f"{_BRAUER}, constants 3.8, 2.17, 396.2 [C]; the steel's name [M]; its permeability of 1989 below 150 A/m "
            "is 2 to 16 times that of four published sheet steels",
            "[C]",
            "benchmark-steel-curve",
        ),
        "cast-steel-curve": PublishedCurve(
            BrauerCurve(49.4, 1.46, 520.6), f"{_BRAUER}, constants 49.4, 1.46, 520.6 [C]; the steel's name [M]", "[C]"
        ),
        "annealed-steel-curve": PublishedCurve(
            BrauerCurve(2.6, 2.72, 154.4),
            f"{_BRAUER}, constants 2.6, 2.72, 154.4 and the steel's name [M]",
            "[M]",
            "carbon-steel-1008-curve",
        ),
        "benchmark-steel-curve": PublishedCurve(
            _benchmark_steel(),
            "TEAM workshop problem 13 (3-D non-linear magnetostatic model), B-H table and its tail "
            "B = mu0 H - 2.381e-10 H^2 + 2.327e-5 H + 1.590; beyond 2.221 T, where the published form steps by 1.7 mT "
            "to B = mu0 H + 2.16, this project goes on without a step",
            "[C]",
            "carbon-steel-1010-curve",
        ),
        "sheet-steel-dc01-curve": PublishedCurve(
            RationalCurve(5.0, 1.1, 6450.0, 3.65, 7.7),
            f"DC01 (1.0330), the base grade of galvanised sheet: {_FLUX_TUBES}; its low end is extrapolated",
            "[C]",
            "benchmark-steel-curve",
        ),
        "carbon-steel-1008-curve": PublishedCurve(
            RationalCurve(200.0, 1.17, 8100.0, 2.59, 10.0),
            f"AISI 1008: {_FLUX_TUBES}",
            "[C]",
            "sheet-steel-dc01-curve",
        ),
        "carbon-steel-1010-curve": PublishedCurve(
            _carbon_steel_1010(),
            "1010, 17 points from 238.7 A/m (public finite-element material table, github MPEL/MotorProto, "
            "Materials/Steel1010.m); below them the permeability of the first, 668",
            "[C]",
            "benchmark-steel-curve",
        ),
    }
)
"""Built-in curves by name."""
