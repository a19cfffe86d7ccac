"""Return through the earth: the integrals of Carson and Pollaczek against quadrature, series and limits."""

import math

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.earth import EarthReturn
from fem.materials import Material
from fem.multipole import solve_round_parts
from fem.round_parts import RoundPart
from fem.solve import UnitFields, part_places, part_radii, solve_unit_voltages, with_earth
from fem.ties import Tie, drive
from geometry.meshing import mesh_section
from geometry.shapes import Disc, Region, Section
from geometry.sizing import MeshSizes
from tests.fem.earth_integrals import line_potential, return_distance

OMEGA = 2 * math.pi * 50
EARTH = EarthReturn(100.0, 0.0)
WAVE = EARTH.wave_number(OMEGA)
DEPTH = 1 / abs(WAVE)  # 356 m

PLACES = {
    "both in air": ((0.0, 8.0), (2.1, 7.0)),
    "both in air, far": ((0.0, 3.0), (300.0, 1.0)),
    "both in air, very far": ((0.0, 30.0), (5000.0, 100.0)),
    "both below": ((0.0, -1.0), (0.3, -1.2)),
    "both below, far": ((0.0, -40.0), (200.0, -10.0)),
    "from air to below": ((0.0, 6.0), (3.0, -1.5)),
    "from below to air": ((0.0, -2.0), (100.0, 12.0)),
}


@pytest.mark.parametrize("name", PLACES)
def test_the_logarithm_is_the_published_integral(name: str) -> None:
    source, point = PLACES[name]
    distance = math.dist(source, point)
    found = EARTH.logarithms(OMEGA, np.array([source]), np.array([point]))[0, 0] - math.log(distance)
    assert found == pytest.approx(line_potential(source, point, OMEGA, 100.0), abs=2e-7)  # of the panels in use


@pytest.mark.parametrize("name", PLACES)
def test_the_gradient_is_the_slope_of_the_logarithm_and_ends_may_be_exchanged(name: str) -> None:
    source, point = PLACES[name]
    step = 1e-2
    there = np.array(point) + step * np.array([(1, 0), (-1, 0), (0, 1), (0, -1)])
    of = EARTH.logarithms(OMEGA, np.array([source]), there)[:, 0]
    slopes = np.array([of[0] - of[1], of[2] - of[3]]) / (2 * step)
    found = EARTH.gradients(OMEGA, np.array([source]), np.array([point]))[0, :, 0]
    assert found == pytest.approx(slopes, abs=1e-5 / DEPTH)  # differences of a function that bends over 0.3 m at least
    back = EARTH.logarithms(OMEGA, np.array([point]), np.array([source]))[0, 0]
    assert back == pytest.approx(EARTH.logarithms(OMEGA, np.array([source]), np.array([point]))[0, 0], rel=1e-9)


def test_both_methods_agree_in_air(monkeypatch: pytest.MonkeyPatch) -> None:
    sources, points = (
        np.array([(0.0, 0.0), (0.0, 5.0)]),
        np.array([(0.0, 0.0), (4.0, 0.5), (900.0, 40.0), (0.0, 700.0)]),
    )
    series = EARTH._kernel(OMEGA, sources, points)
    monkeypatch.setattr("fem.earth.SERIES_REACH", -1.0)
    path = EARTH._kernel(OMEGA, sources, points)
    assert series[0] == pytest.approx(path[0], abs=2e-7)  # of the panels in use
    for one, other in zip(series[1:], path[1:], strict=True):  # the slopes' integrand decays like l^-2 on the surface
        assert one == pytest.approx(other, abs=1e-4 / DEPTH)


def test_the_logarithm_fulfils_the_equations_of_air_and_earth() -> None:
    # harmonic in air; in the earth the potential G - ln D has the Laplacian k^2 times itself
    step = 0.5
    around = step * np.array([(1, 0), (-1, 0), (0, 1), (0, -1), (0, 0)])
    for source in ((0.0, 4.0), (0.0, -6.0)):
        for place, wave in (((5.0, 3.0), 0.0), ((5.0, -3.0), WAVE**2)):
            points = np.array(place) + around
            own = EARTH.logarithms(OMEGA, np.array([source]), points)[:, 0]
            own = own - np.log(np.hypot(*(points - source).T))
            laplacian = (own[:4].sum() - 4 * own[4]) / step**2
            # ln D is harmonic but for differences of the fourth order: 6/D^4 step^2/12 at most
            allowed = step**2 / math.dist(place, source) ** 4 + 1e-9 / step**2
            assert abs(laplacian - wave * own[4]) < allowed


@pytest.mark.parametrize(("frequency", "resistance", "radius"), [(50.0, 49.35e-6, 931.3), (60.0, 59.22e-6, 850.1)])
@pytest.mark.parametrize("height", [1e-3, -1e-3], ids=["just above", "just below"])
def test_at_the_surface_the_resistance_and_radius_are_the_published_ones(
    frequency: float, resistance: float, radius: float, height: float
) -> None:
    omega, place = 2 * math.pi * frequency, np.array([(0.0, height)])
    found = EARTH.impedances(omega, place, 1.0)[0, 0]
    # w mu0/8 and Carson's radius at 100 ohm m: digits as printed, the radius with the rounding of its constant
    assert found.real == pytest.approx(resistance, abs=0.005e-6)
    assert found.imag == pytest.approx(omega * mu_0 / (2 * math.pi) * math.log(radius), rel=1e-4)
    assert np.log(EARTH.equivalent_radius(omega)) == pytest.approx(
        found / (1j * omega * mu_0 / (2 * math.pi)), abs=3e-5
    )


def test_a_low_line_has_the_first_terms_of_carsons_series() -> None:
    # P = pi/8 - q/(3 sqrt 2) + ..., Q = -0.0386 + ln(2/q)/2 + q/(3 sqrt 2) - ..., q = |k| times the image's distance
    height = 12.0
    q = 2 * height * abs(WAVE)
    p_term = math.pi / 8 - q / (3 * math.sqrt(2)) + q**2 / 16 * (0.6728 + math.log(2 / q))
    q_term = -0.0386 + math.log(2 / q) / 2 + q / (3 * math.sqrt(2)) - math.pi * q**2 / 64
    carson = 4 * OMEGA * 1e-7 * (p_term + 1j * q_term) + 1j * OMEGA * mu_0 / (2 * math.pi) * math.log(2 * height)
    found = EARTH.impedances(OMEGA, np.array([(0.0, height)]), 1.0)[0, 0]
    assert found == pytest.approx(carson, rel=2 * q**3)


def test_only_the_height_above_the_surface_matters() -> None:
    places = np.array([(0.0, 3.0), (1.0, -2.0)])
    lower = EarthReturn(100.0, -7.0).impedances(OMEGA, places - (0, 7.0), 1.0)
    assert lower == pytest.approx(EARTH.impedances(OMEGA, places, 1.0), rel=1e-12)


@pytest.mark.parametrize("level", [0.02, -1.0], ids=["on the ground", "buried"])
def test_an_earthed_wire_carries_what_the_exact_series_and_the_integrals_give(level: float) -> None:
    # three wires with given currents, the fourth earthed at both ends; skin and proximity exact by the series
    radius, metal = 8.7e-3, Material(50e6, 1.0)
    places = np.array([(0.06 * k, level) for k in range(4)])
    names = ("a", "b", "c", "earthed")
    section = Section(
        tuple(Region(name, Disc((x, y), radius), 0.01) for name, (x, y) in zip(names, places, strict=True))
    )
    mesh = mesh_section(section, MeshSizes(fineness=1.5))
    fields = solve_unit_voltages(mesh, dict.fromkeys(names, metal), 50.0, earth=EARTH)
    ties = (Tie(("a",), 400.0), Tie(("b",), -190 - 310j), Tie(("c",), -140 + 250j), Tie(("earthed",), 0j, 0j))
    state = drive(fields.admittance, names, ties)

    wires = [RoundPart(name, (x, y), radius, 0.0, 50e6) for name, (x, y) in zip(names, places, strict=True)]
    series = np.linalg.inv(solve_round_parts(wires, 50.0, 1000.0).admittance)
    distances = np.array([[return_distance(tuple(p), tuple(q), OMEGA, 100.0) for p in places] for q in places])
    z = series + 1j * OMEGA * mu_0 / (2 * math.pi) * np.log(distances / 1000.0)
    expected = -(z[3, :3] @ state.currents[:3]) / z[3, 3]
    # the elements are at 1e-4; the potential of the earth current changes by 1e-5 over a wire. One depth is 1.5e-2 off
    assert state.currents[3] == pytest.approx(complex(expected), rel=2e-4)
    one_depth = 1j * OMEGA * mu_0 / (2 * math.pi) * np.log(2 * (max(level, 0) + 1 / WAVE) / 1000.0)
    by_one_depth = -((series + one_depth)[3, :3] @ state.currents[:3]) / (series + one_depth)[3, 3]
    assert abs(by_one_depth / expected - 1) > 5e-3


@pytest.mark.parametrize("place", [(0.0, 0.6), (1.5, 0.3), (-0.2, -0.8)], ids=["above", "beside", "buried"])
def test_what_a_part_misses_by_its_size_is_less_than_moving_it_by_its_size_changes(place: tuple[float, float]) -> None:
    # two earthed wires 1 m apart as one part, and as two parts of one tie: the same but for the places in the integrals
    wires = {"driven": place, "left": (-0.5, 0.1), "right": (0.5, 0.1)}
    section = Section(tuple(Region(name, Disc(at, 8e-3), 2e-3) for name, at in wires.items()))
    mesh, metals = mesh_section(section, MeshSizes()), dict.fromkeys(wires, Material(50e6, 1.0))
    earth, frequency = EarthReturn(10.0), 2000.0

    def returned(fields: UnitFields, *earthed: str) -> complex:
        state = drive(fields.admittance, fields.part_names, (Tie(("driven",), 100.0), Tie(earthed, 0j, 0j)))
        return complex(state.currents[1:].sum())

    apart = solve_unit_voltages(mesh, metals, frequency, earth=earth)
    parts = {"driven": ("driven",), "pair": ("left", "right")}
    as_one = solve_unit_voltages(mesh, metals, frequency, parts, earth=earth)
    places = part_places(as_one)
    moved = with_earth(as_one, earth, places + np.outer(part_radii(as_one, places), (0.0, 1.0)))
    found, missed = returned(as_one, "pair"), abs(returned(as_one, "pair") - returned(apart, "left", "right"))
    assert part_radii(as_one, places) == pytest.approx([8e-3, 0.508], rel=1e-3)
    assert missed < abs(returned(moved, "pair") - found) < 0.02 * abs(found)
