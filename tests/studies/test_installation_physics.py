"""Screens, bonds, the earth and frequencies of whole studies against closed forms and other studies."""

import math

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.arrays import Complexes
from fem.field import FieldProbe
from studies.formulas.line_field import line_field
from studies.formulas.round_conductor import round_conductor_internal_impedance
from studies.formulas.screen_eddy import eddy_factor
from studies.formulas.screens import circulating_factor, screen_reactance, trefoil_open_screen_voltage
from studies.result import Result
from tests.fem.earth_integrals import Point, line_potential, return_distance
from tests.studies.screen_circuits import both_ends
from tests.studies.small_installations import (
    BALANCED,
    CONDUCTOR,
    EARTH,
    MEAN,
    OMEGA,
    OUTER,
    POINT,
    TREFOIL,
    UNBALANCED,
    bond,
    channel,
    circuit,
    field,
    losses,
    part,
    phase,
    resistance,
    screens,
    solved,
)

pytestmark = pytest.mark.usefixtures("coarse_mesh")

# --- screens ------------------------------------------------------------------------------------------------------


def test_bonded_screens_lower_the_field_by_the_current_they_carry() -> None:
    cables = circuit(cable="screened", formation=TREFOIL)
    opened, closed = solved(cables, POINT), solved(cables, bond("F1 screens"), POINT)
    remaining = np.abs(400 * BALANCED + screens(closed)) / 400
    assert np.ptp(remaining) < 0.002 * remaining.mean()  # trefoil: the same in all three
    # each screen's current lies about its own conductor's: one line current less; eddies of open screens are 0.1 %
    assert field(closed) / field(opened) == pytest.approx(remaining.mean(), rel=3e-3)


def test_screens_bonded_in_trefoil_have_the_loss_factor_of_the_standard() -> None:
    result = solved(circuit(cable="screened", formation=TREFOIL), bond("F1 screens"))
    reactance = screen_reactance(2 * OUTER, 2 * MEAN, 50.0)
    screen = part(result, "F1.1.screen").r_dc_ohm_per_m
    for k in (1, 2, 3):
        own = losses(result)
        conductor = resistance(result, f"F1.{k}.conductor")
        factor = circulating_factor(screen, conductor, reactance)  # IEC 60287-1-1, which leaves the eddies out
        eddies = eddy_factor(
            "trefoil", screen, conductor, 2 * MEAN, 2 * OUTER, 0.3e-3, screen * 2 * math.pi * MEAN * 0.3e-3, 50.0
        )
        # the standard takes the screens for lines, which proximity denies by (r/s)^2 of a part
        assert own[f"F1.{k}.screen"] / own[f"F1.{k}.conductor"] == pytest.approx(float(factor + eddies), rel=0.03)


def test_bonded_screens_agree_with_the_exact_series() -> None:
    result = solved(circuit(cable="screened"), bond("F1 screens"), POINT, tolerance="0.5 %")
    rows = [row for row in result.ladder if "series" in row.formula]
    assert {row.quantity for row in rows} == {"field", "resistance", "inductance", "screen loss"}
    for row in rows:
        assert row.value_in_unit == pytest.approx(row.finite_element_in_unit, rel=0.005)


def test_open_screens_in_trefoil_have_the_standing_voltage_of_the_reactance() -> None:
    result = solved(circuit(cable="screened", formation=TREFOIL))
    expected = 100 * trefoil_open_screen_voltage(400.0, screen_reactance(2 * OUTER, 2 * MEAN, 50.0))
    for k in (1, 2, 3):
        # no net current in any neighbour but the conductors': proximity moves it by (r/s)^2 of a part
        assert part(result, f"F1.{k}.screen").standing_voltage_v_per_100m == pytest.approx(expected, rel=0.01)


def test_the_standing_voltage_of_a_circuit_of_another_frequency_is_its_own() -> None:
    own = solved(circuit(cable="screened"), frequency="400 Hz")
    mixed = solved(circuit('frequency = "400 Hz"', cable="screened"), circuit(name="F2", at=(0, 800), current='"0 A"'))
    for k in (1, 2, 3):
        there, here = (part(result, f"F1.{k}.screen").standing_voltage_v_per_100m for result in (own, mixed))
        assert here == pytest.approx(there, rel=1e-3)  # F2 without current adds eddies in its conductors alone


@pytest.mark.parametrize("formation", [TREFOIL, 'arrangement = "flat"\nspacing = "70 mm"'])
def test_cross_bonded_screens_without_a_return_carry_nothing(formation: str) -> None:
    tied = bond("F1 screens", more='kind = "cross-bonded"')
    result = solved(circuit(cable="screened", formation=formation), tied)
    # each loop runs once through every place and links the same flux: nothing drives one against another
    assert np.abs(screens(result)).max() < 1e-6 * 400


def test_cross_bonded_screens_with_a_closing_impedance_carry_less_with_more_of_it() -> None:
    sums = []
    for ohms in (0, 1, 100):
        more = f'kind = "cross-bonded"\nearth = true\nimpedance = ["{ohms} ohm/km", "0 ohm/km"]'
        currents = screens(solved(circuit(cable="screened"), bond("F1 screens", more=more), EARTH))
        assert np.abs(currents - currents.mean()).max() < 1e-3 * np.abs(currents).max()  # the loops are alike
        sums.append(abs(currents.sum()))
    assert sums[0] > sums[1] > sums[2]
    assert sums[2] < 0.03 * sums[0]  # 100 ohm/km against a loop through the earth of below 1 ohm/km


# --- bonds and the earth ------------------------------------------------------------------------------------------


def test_a_bond_with_a_large_impedance_is_a_bond_without_return() -> None:
    blocks = (circuit(cable="screened", current=UNBALANCED), EARTH)
    without = screens(solved(*blocks, bond("F1 screens")))
    more = 'earth = true\nimpedance = ["10000 ohm/km", "0 ohm/km"]'
    large = screens(solved(*blocks, bond("F1 screens", more=more)))
    assert large == pytest.approx(without, rel=1e-3)  # 10 ohm/m against 1e-3 ohm/m of the loops
    none = screens(solved(*blocks, bond("F1 screens", more="earth = true")))
    assert abs(without.sum()) < 1e-9 * np.abs(without).max()
    assert abs(none.sum()) > 10  # of 87 A that the phases leave


@pytest.mark.parametrize("ohms", [0.0, 0.5])
def test_screens_earthed_at_both_ends_take_their_part_of_the_net_current(ohms: float) -> None:
    more = f'earth = true\nimpedance = ["{ohms} ohm/km", "0 ohm/km"]'
    result = solved(circuit(cable="screened", current=UNBALANCED, at=(0, 3000)), bond("F1 screens", more=more), EARTH)
    currents = np.array([part(result, f"F1.{k}.conductor").current_a for k in (1, 2, 3)])
    middle = (0.0, 3 + OUTER)
    image = return_distance(middle, middle, OMEGA, 100.0)
    lines = both_ends(
        np.array([[-0.07, 0], [0, 0], [0.07, 0]]),
        MEAN,
        part(result, "F1.1.screen").r_dc_ohm_per_m,
        OMEGA,
        currents,
        closing=ohms * 1e-3,
        image=image,
    )
    # a method of its own: lines and thin tubes; proximity moves currents by some (r/s)^2, 2 %, of a part
    assert screens(result) == pytest.approx(lines, rel=0.015)


@pytest.mark.parametrize("height", [8.0, 0.05, -1.2], ids=["overhead", "on the ground", "buried"])
def test_a_wire_has_the_impedance_of_the_integrals_of_carson_and_pollaczek(height: float) -> None:
    lowest = 1000 * (height - CONDUCTOR - 3.5e-3)
    result = solved(circuit(phases="L1", current='{ L1 = "100 A" }', at=(0, lowest)), EARTH, tolerance="0.5 %")
    sigma = result.cross_section.conductors()[0].material.conductivity
    inside = complex(round_conductor_internal_impedance(CONDUCTOR, sigma, 50.0))
    image = return_distance((0.0, height), (0.0, height), OMEGA, 100.0)
    exact = inside + 1j * OMEGA * mu_0 / (2 * math.pi) * np.log(image / CONDUCTOR)
    found = phase(result, "L1").z_ohm_per_m
    assert found is not None
    assert found == pytest.approx(complex(exact), rel=1e-4)  # a round wire alone; one complex depth is 6e-3 off
    # w mu0/8 of the earth, less by a height and more by a depth in units of 356 m
    earth = found.real - inside.real
    assert earth == pytest.approx(OMEGA * mu_0 / 8, rel=3 * abs(height) / 356)


def earth_field(sources: list[Point], currents: Complexes, point: Point) -> Complexes:
    """(Bx, By) of line currents with their return in the earth, by differences of the published integral. [T]"""
    x, y, step = *point, 0.5

    def potential(*place: float) -> complex:
        pairs = zip(sources, currents, strict=True)
        return sum((complex(i) * line_potential(of, (place[0], place[1]), OMEGA, 100.0) for of, i in pairs), 0j)

    by_x = potential(x + step, y) - potential(x - step, y)
    by_y = potential(x, y + step) - potential(x, y - step)
    return mu_0 / (2 * math.pi) / (2 * step) * np.array([by_y, -by_x], dtype=np.complex128)


@pytest.mark.parametrize(
    ("height", "current"),
    [(6.0, '{ L1 = "100 A" }'), (-1.0, '{ L1 = "100 A" }'), (6.0, "")],
    ids=["one, overhead", "one, buried", "three balanced, overhead"],
)
def test_the_field_holds_that_of_the_current_in_the_earth(height: float, current: str) -> None:
    at = (0.0, 1000 * (height - OUTER))
    lines = circuit(phases="L1", current=current, at=at) if current else circuit(at=at)
    distant, result = (90.0, 2.0), solved(lines, EARTH, tolerance="2 %")
    places = [cable.axis for cable in result.cross_section.cables]
    currents = np.array([p.current_a for p in result.parts])
    nodal = result.fields.potential(result.drive.voltages)
    probe = FieldProbe(result.fields)
    found, of_earth = (of(nodal, np.array([distant]))[0] for of in (probe.flux_density, probe.earth_flux_density))
    expected = earth_field(places, currents, distant)
    in_air = line_field(np.array([distant]), places, currents)[0]
    size = float(np.linalg.norm(expected))
    allowed = 1e-3 if current else 6e-3  # differences; among three, eddies move the currents in the conductors
    assert np.linalg.norm(found - expected) < allowed * size
    assert float(np.linalg.norm(of_earth)) > 2 * allowed * size
    assert of_earth == pytest.approx(expected - in_air, abs=0.02 * float(np.linalg.norm(of_earth)))  # differences


@pytest.mark.parametrize("more", ["", 'impedance = ["0.3 ohm/km", "0.1 ohm/km"]\n'])
def test_all_power_put_in_is_lost_somewhere(more: str) -> None:
    result = solved(
        circuit(cable="screened", current=UNBALANCED, at=(0, 500)),
        channel("", table='profile = "plate"\nwidth = "300 mm"\n'),
        bond("F1 screens", "T1", more=f"earth = true\n{more}"),
        EARTH,
    )
    given = sum((p.z_ohm_per_m * abs(p.current_a) ** 2).real for p in result.phases if p.z_ohm_per_m)
    tied = complex(sum(screens(result))) + part(result, "T1").current_a
    net = complex(sum(p.current_a for p in result.parts))
    closing = 0.3e-3 * abs(tied) ** 2 if more else 0.0
    # of the return in the earth the real part of j w mu0/2 pi ln D'; all parts lie within 0.1 m of the middle
    middle = (0.0, 0.5 + OUTER)
    image = return_distance(middle, middle, OMEGA, 100.0)
    earth = -OMEGA * mu_0 / (2 * math.pi) * np.angle(image) * abs(net) ** 2
    lost = sum(losses(result).values()) + closing + earth
    assert given == pytest.approx(lost, rel=1e-6)  # 0.1 m over 356 m, of a loss in the earth that is 1e-4 of all
    assert earth + closing > 100 * 1e-6 * given  # and not by their being nothing
    assert result.checks.power_balance < 1e-9


def test_conductors_far_apart_return_each_by_their_own_integral() -> None:
    wide = 'arrangement = "flat"\nspacing = "8 m"'  # 16 m, above an earth with a skin depth of 3.6 m
    earth = EARTH.replace("100 ohm", "1 ohm")
    text = (circuit('frequency = "20 kHz"', current=UNBALANCED, formation=wide, at=(0, 500)), earth)
    result, omega = solved(*text), 2 * math.pi * 20e3
    at = [(x, 0.5 + OUTER) for x in (-8.0, 0.0, 8.0)]
    currents = np.array([part(result, f"F1.{k}.conductor").current_a for k in (1, 2, 3)])
    sigma = result.cross_section.conductors()[0].material.conductivity
    inside = complex(round_conductor_internal_impedance(CONDUCTOR, sigma, 20e3))
    voltage = inside * currents[1]
    for place, current in zip(at, currents, strict=True):
        apart = max(math.dist(place, at[1]), CONDUCTOR)
        voltage += (
            1j * omega * mu_0 / (2 * math.pi) * np.log(return_distance(place, at[1], omega, 1.0) / apart) * current
        )
    assert part(result, "F1.2.conductor").voltage_v_per_m == pytest.approx(complex(voltage), rel=1e-3)


# --- frequencies --------------------------------------------------------------------------------------------------


def test_each_harmonic_is_the_study_at_its_frequency_with_its_currents() -> None:
    tray = channel("")
    both = solved(circuit('harmonics = { 3 = "20 %", 5 = ["10 %", "25 deg"] }', phases="L1 L2 L3 N"), tray, POINT)
    base = solved(circuit(phases="L1 L2 L3 N"), tray, POINT)
    fifth = '{ L1 = ["40 A", "0 deg"], L2 = ["40 A", "120 deg"], L3 = ["40 A", "-120 deg"], N = "0 A" }'
    third = '{ L1 = ["80 A", "0 deg"], L2 = ["80 A", "0 deg"], L3 = ["80 A", "0 deg"], N = ["240 A", "180 deg"] }'
    alone = [
        base,
        solved(circuit(phases="L1 L2 L3 N", current=third), tray, POINT, frequency="150 Hz"),
        solved(circuit(phases="L1 L2 L3 N", current=fifth), tray, POINT, frequency="250 Hz"),
    ]
    spectrum = [component.b_rms_t for component in both.receptors[0].spectrum]
    # the same systems on meshes of the same fineness: equal unless one of them needed a finer mesh
    assert spectrum == pytest.approx([field(result) for result in alone], rel=1e-3)
    for name, total in losses(both).items():
        assert total == pytest.approx(sum(losses(result)[name] for result in alone), rel=2e-3)
    assert part(both, "F1.4.conductor").current_rms_a == pytest.approx(240, rel=1e-9)  # triplens: 3 x 20 % x 400 A


def test_a_circuit_of_another_frequency_is_not_changed_by_what_else_flows() -> None:
    tray = channel("")
    fast = circuit('frequency = "400 Hz"', name="F2", at=(60, 0), formation=TREFOIL)
    with_both = solved(circuit(at=(-60, 0), formation=TREFOIL), fast, tray, POINT)
    alone = solved(circuit(at=(-60, 0), formation=TREFOIL, current='"0 A"'), fast, tray, POINT)
    assert phase(with_both, "L2", "F2").z_ohm_per_m == pytest.approx(phase(alone, "L2", "F2").z_ohm_per_m, rel=1e-3)
    assert with_both.receptors[0].spectrum[1].b_rms_t == pytest.approx(field(alone), rel=1e-3)
    found = part(with_both, "F2.1.conductor")
    assert abs(found.current_a) == pytest.approx(400, rel=1e-9)
    assert found.r_ac_ohm_per_m == pytest.approx(part(alone, "F2.1.conductor").r_ac_ohm_per_m, rel=1e-3)
    assert resistance(with_both, "F2.1.conductor") > 1.3 * resistance(with_both, "F1.1.conductor")  # skin effect


def test_a_study_of_circuits_that_all_state_another_frequency_is_one_at_that_frequency() -> None:
    # these levels say nothing of the study's own 10 Hz, at which nothing flows; at 400 Hz it is 3790/f mT
    limit = POINT + 'limit = "IEEE C95.1-2019 limbs"\n'
    there = solved(circuit('frequency = "400 Hz"'), limit, frequency="10 Hz")
    here = solved(circuit(), limit, frequency="400 Hz")
    assert [component.frequency_hz for component in there.receptors[0].spectrum] == [400]
    assert there.receptors[0].exposure_index == pytest.approx(field(here) / (3.79 / 400), rel=1e-9)
    assert field(there) == pytest.approx(field(here), rel=1e-12)


def test_harmonics_of_go_and_return_leave_nothing_over_whatever_the_order() -> None:
    result = solved(circuit('harmonics = { 2 = "10 %", 3 = "20 %" }', phases="L1 L2"), POINT)
    far = solved(circuit(phases="L1 L2", current='"40 A"'), POINT, frequency="100 Hz")
    assert result.receptors[0].spectrum[1].b_rms_t == pytest.approx(field(far), rel=1e-6)
    idle = circuit('harmonics = { 3 = "20 %" }', phases="L1 L2", current='{ L1 = "0 A", L2 = "0 A" }')
    assert field(solved(idle, POINT)) == 0


def test_a_neutral_returns_its_line_wherever_it_lies() -> None:
    left = circuit(phases="L1 N", current='"100 A"')
    same = circuit(name="F2", phases="L1 N", current='"100 A"', at=(0, 300))
    turned = circuit(name="F2", phases="N L1", current='"100 A"', at=(0, 300))
    # two loops in step side by side add up, two against each other leave a quadrupole that falls by a power faster
    assert field(solved(left, turned, POINT)) < 0.6 * field(solved(left, same, POINT))


# --- formulas beside them -----------------------------------------------------------------------------------------


def test_the_series_is_called_exact_only_where_it_knows_what_drives_the_currents() -> None:
    def has_series(result: Result) -> bool:
        return any("series" in row.formula for row in result.ladder)

    crossed = bond("F1 screens", more='kind = "cross-bonded"')
    assert has_series(solved(circuit(cable="screened", current=UNBALANCED)))
    assert not has_series(solved(circuit(cable="screened", current=UNBALANCED), EARTH))
    assert not has_series(solved(circuit(cable="screened"), crossed))


def test_formulas_of_lone_conductors_say_that_metalwork_is_near() -> None:
    bar = 'shape = "rectangle"\nat = ["0.3 m", "0 m"]\nwidth = "10 mm"\nheight = "200 mm"\nmaterial = "copper"\n'
    result = solved(circuit(), f'\n[[metalwork]]\nname = "bar"\n{bar}', POINT)
    lines = [row for row in result.ladder if row.quantity in ("field", "inductance")]
    assert lines
    assert all("metalwork is near, which the formula leaves out" in row.outside_range for row in lines)
