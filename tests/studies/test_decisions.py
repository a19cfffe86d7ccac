"""What a study decides: phase orders, the route, charging current and fault forces, from the file to the result."""

import csv
import io
import math
import tomllib
from typing import Any

import numpy as np
import pytest
from matplotlib.colors import to_hex

import studies
from studies.output.numbers import results_document
from studies.output.tables import tables
from studies.report.figures import figure_set
from studies.report.terminal import summary
from studies.study.phases import PHASE_COLOURS
from studies.text.problems import StudyError
from tests.studies.coarse_meshes import coarse_meshes
from tests.studies.solved_examples import of_examples

OF_ROUTE, OF_TWELVE = of_examples(["route_and_fault"]), of_examples(["twelve_cables_order"])


@pytest.fixture
def route(solved):
    return solved


@pytest.fixture
def twelve(solved):
    return solved


@OF_TWELVE
def test_the_best_order_of_twelve_cables_is_proved_and_confirmed_by_a_full_solve(twelve):
    found = twelve.order_search
    # 12 cables of three phases in groups of four; turning all phases of a balanced circuit changes nothing
    assert found.possible == found.tried == math.factorial(12) // math.factorial(4) ** 3 // 3
    assert found.proved
    assert found.best[0].value <= found.best[1].value <= found.today.value
    assert found.symmetric == 3
    assert sorted(found.best[0].phases["F1"]) == sorted(found.today.phases["F1"])
    judged, solved = found.best[0], found.best_solved
    # linear steel, and the full solve ends on the same mesh: the same algebra, rounding apart
    assert judged.receptor_b_rms_t == pytest.approx(solved.receptor_b_rms_t, rel=1e-9)
    assert judged.largest_share == pytest.approx(solved.largest_share, rel=1e-9)
    assert judged.inequality == pytest.approx(solved.inequality, rel=1e-9)
    # the samples on the edge of the zone miss its highest field by 0.4 % at most
    assert (
        -0.004 < judged.zone_b_max_rms_t[0] / solved.zone_b_max_rms_t[0] - 1 < solved.zone_b_max_rms_error_t[0] / 1e-6
    )


@OF_TWELVE
def test_today_is_judged_as_the_study_itself_was_solved(twelve):
    found = twelve.order_search
    assert found.today.receptor_b_rms_t == pytest.approx([entry.b_rms_t for entry in twelve.receptors], rel=1e-9)
    assert found.today_solved.zone_b_max_rms_t == (twelve.zones[0].b_max_rms_t,)
    shares = [part.share_of_phase for part in twelve.parts if part.kind == "conductor"]
    assert found.today.largest_share == pytest.approx(max(shares), rel=1e-9)
    reactances = [phase.z_ohm_per_m.imag for phase in twelve.phases]
    spread = (max(reactances) - min(reactances)) / (sum(reactances) / 3)
    assert found.today.inequality == pytest.approx(spread, rel=1e-9)


@OF_TWELVE
def test_the_best_order_is_the_study_with_its_phases_changed(twelve):
    """The winner put into the study file and solved by itself has the confirmed numbers, within both errors."""
    found = twelve.order_search
    circuit = twelve.study.circuits[0].model_copy(update={"phases": found.best[0].phases["F1"]})
    again = studies.run(twelve.study.model_copy(update={"circuits": (circuit,), "order_search": None}))
    assert [entry.b_rms_t for entry in again.receptors] == pytest.approx(found.best_solved.receptor_b_rms_t, rel=1e-9)
    assert again.zones[0].b_max_rms_t == pytest.approx(found.best_solved.zone_b_max_rms_t[0], rel=1e-9)
    errors = [entry.b_rms_error_t for entry in again.receptors]
    assert errors == pytest.approx(found.best_solved.receptor_b_rms_error_t, rel=1e-6)
    assert again.exceeded() == ()
    assert found.best_solved.within_limits
    assert not found.today_solved.within_limits


SMALL = """
title = "Six cables"
frequency = "50 Hz"
[cables.c]
conductor = { material = "copper", area = "120 mm^2", temperature = "70 degC" }
insulation = "1.5 mm"
jacket = "1.5 mm"
[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
clear_gap = "5 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L1", "L2", "L2", "L3", "L3"]
current = "800 A"
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "200 mm"
inside_height = "60 mm"
thickness = "1.5 mm"
material = "MATERIAL"
[[receptors]]
name = "desk"
at = ["1 m", "0.4 m"]
[[zones]]
name = "bench"
window = [["-1.2 m", "0.5 m"], ["-0.4 m", "0.7 m"]]
limit = "1 uT"
[order_search]
ASKED
[accuracy]
tolerance = "5 %"
"""


def searched(asked="", material="aluminium", changes=()):
    text = SMALL.replace("MATERIAL", material).replace("ASKED", asked)
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    with coarse_meshes():
        return studies.run(studies.loads(text)).order_search


@pytest.mark.slow
def test_what_is_named_alone_counts():
    both, zone, receptor = searched(), searched('zones = ["bench"]'), searched('receptors = ["desk"]')
    assert (both.counted, zone.counted, receptor.counted) == (("desk", "bench"), ("bench",), ("desk",))
    for found in (zone, receptor):
        assert found.best[0].value == pytest.approx(found.best[0].worst_over_limit)
        assert found.best[0].worst_at == found.counted[0]
        assert found.best[0].value <= both.best[0].value  # one place is easier to please than both
    assert zone.best[0].value == pytest.approx(zone.best[0].zone_b_max_rms_t[0] / 1e-6, rel=1e-12)
    assert receptor.today.value == pytest.approx(1, rel=1e-12)  # no limit: over its value today


def test_a_circuit_that_is_mirrored_shares_equally_and_is_found_by_that():
    """L1 L2 L3 L3 L2 L1 is its own mirror image; it is one of six such orders, two of them alike to each other one."""
    found = searched('objective = "sharing"')
    best = found.best[0].phases["F1"]
    assert best == best[::-1]
    assert found.best[0].value == pytest.approx(1, abs=2e-3)  # gmsh's mesh is not symmetric
    assert found.best_solved.largest_share == pytest.approx(1, abs=2e-3)
    assert found.today_solved.largest_share > 1.1
    assert found.least_value == found.best[0].value


@pytest.mark.slow
def test_saturating_steel_is_judged_as_today_leaves_it_and_solved_with_its_own():
    strong = [('"800 A"', '"3000 A"'), ('tolerance = "5 %"', 'tolerance = "20 %"')]
    found = searched(material="mild-steel-saturating", changes=strong)
    assert found.saturating
    # the steel of the best order is magnetised less: what is judged is off by more than rounding, and not by its size
    assert 1e-4 < found.largest_difference < 0.3
    linear = searched(material="mild-steel", changes=strong)
    assert not linear.saturating
    assert linear.largest_difference < 0.005


@pytest.mark.parametrize("asked", ["weights = { field = 1.0, sharing = 0.5 }", 'objective = "inequality"'])
def test_the_value_of_the_objective_follows_from_the_reported_quantities(asked):
    found = searched(asked)
    today = found.today
    for order in (today, *found.best):
        if "weights" in asked:
            ratio = order.worst_over_limit / today.worst_over_limit + 0.5 * order.largest_share / today.largest_share
            assert order.value == pytest.approx(ratio, rel=1e-12)
        else:
            assert order.value == pytest.approx(order.inequality, rel=1e-12)


@pytest.mark.slow
def test_circuits_of_another_frequency_and_unnamed_ones_stay_as_they_are():
    second = """[[circuits]]
name = "F2"
cable = "c"
arrangement = "flat"
clear_gap = "5 mm"
rests_at = ["0 mm", "300 mm"]
phases = ["L1", "L2", "L3"]
current = "100 A"
"""
    found = searched(changes=[("[[trays]]", f'{second}frequency = "400 Hz"\n[[trays]]')])
    assert found.fixed == ("F2",)
    assert found.best[0].phases["F2"] == ("L1", "L2", "L3")
    assert (found.possible, found.symmetric) == (30, 3)
    named = searched('circuits = ["F2"]', changes=[("[[trays]]", f"{second}[[trays]]")])
    assert named.fixed == ("F1",)
    # F1 stays, so that F2 cannot be turned without it
    assert (named.possible, named.symmetric, named.tried) == (6, 1, 6)


def test_a_bonded_conductor_keeps_its_place():
    phases = '["L1", "L1", "L2", "L2", "L3", "L3"]'
    bond = '[[bonds]]\nparts = ["F1.3.conductor", "T1"]\n[order_search]'
    changes = [(phases, '["L1", "L2", "PE", "L3"]'), ("[order_search]", bond)]
    found = searched(changes=changes)
    assert all(order.phases["F1"][2] == "PE" for order in found.best)
    assert found.possible == 2
    assert found.largest_difference < 0.005


def circuit_of(result):
    assert result.route is not None
    return result.route.circuits[0]


@OF_ROUTE
def test_phases_turned_at_each_third_make_the_run_circulant(route):
    circuit = circuit_of(route)
    z = circuit.phase_impedance_ohm
    scale = abs(z[0][0])
    for row in range(3):
        for column in range(3):
            assert abs(z[row][column] - z[(row + 1) % 3][(column + 1) % 3]) < 1e-12 * scale
    assert circuit.z21_over_z11 < 1e-12
    assert circuit.v2_over_v1 < 1e-12


@OF_ROUTE
def test_the_run_is_as_long_as_its_sections_and_drops_z1_times_the_current(route):
    assert route.route.length_m == 180.0
    circuit = circuit_of(route)
    # balanced currents in a circulant run see the positive-sequence impedance alone
    assert circuit.mean_drop_v == pytest.approx(abs(circuit.z1_ohm) * 320.0, rel=1e-12)
    per_metre = route.sequence_impedance[0].z1_ohm_per_m
    assert abs(circuit.z1_ohm / 180.0 - per_metre) < 1e-9 * abs(per_metre)


@OF_ROUTE
def test_no_transposition_leaves_the_unbalance_and_two_take_it_away(route):
    rows = {entry.transpositions: entry for entry in circuit_of(route).transpositions}
    assert rows[0].v2_over_v1 > rows[1].v2_over_v1 > 1e-4
    assert rows[1].v2_over_v1 == pytest.approx(rows[0].v2_over_v1 / 2, rel=0.02)  # half the way cancels half of it
    assert rows[2].v2_over_v1 < 1e-12
    assert rows[5].v2_over_v1 < 1e-12


@OF_ROUTE
def test_charging_current_follows_from_capacitance_and_phase_voltage(route):
    for entry in route.charging:
        expected = 2 * math.pi * 50 * entry.capacitance_f_per_m * 400 / math.sqrt(3)
        # the capacitance is the charge in phase with the voltage; neighbours add a little across it
        assert 1 - 1e-9 <= entry.charging_current_a_per_m / expected < 1.01
        # a resting cable is closer to earth than a line charge at its axis: more than over the floor without dielectric
        assert entry.capacitance_f_per_m > entry.formulas_f_per_m["line charges over the floor"]
    outer = [entry.capacitance_f_per_m for entry in route.charging if entry.phase != "L2"]
    assert outer[0] == pytest.approx(outer[1], rel=2e-3)  # mirror images; gmsh's mesh is not symmetric


@OF_ROUTE
def test_fault_forces_stand_beside_the_standard_and_push_the_outer_cables_apart(route):
    three = [entry for entry in route.faults if "three" in entry.fault]
    kappa = 1.02 + 0.98 * math.exp(-0.9)  # IEC 60909, R/X = 0.3
    assert three[0].peak_current_a == pytest.approx(kappa * math.sqrt(2) * 22e3, rel=1e-9)
    spacing = 2 * 2 * (math.sqrt(240e-6 / math.pi) + 3.5e-3)  # one clear diameter
    middle = next(entry for entry in three if entry.phase == "L2")
    # IEC 61914 prints 0.17 of ip^2/S, ip in kA
    assert middle.standard_force_n_per_m == pytest.approx(
        170 * (three[0].peak_current_a / 1e3) ** 2 / spacing / 1e3, rel=1e-6
    )
    left, right = three[0], three[2]
    assert left.fx_n_per_m < 0 < right.fx_n_per_m
    for entry in three:  # aluminium floor and proximity move the force by some tens of per cent, not by its size
        assert 0.6 < entry.peak_force_n_per_m / entry.line_force_n_per_m < 1.6


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ('zones = ["bank"]', "is no zone of the study"),
        ('zones = ["desk"]', "is no zone of the study"),
        ('receptors = ["bench"]', "is no receptor of the study"),
        ("zones = []", "is empty"),
        ('zones = "bench"', "is not a list"),
        ('circuits = ["F9"]', "is no circuit of the study"),
    ],
)
def test_names_that_are_not_of_the_study_are_told(asked, told):
    with pytest.raises(StudyError, match=told) as raised:
        studies.loads(SMALL.replace("MATERIAL", "aluminium").replace("ASKED", asked))
    assert "order_search" in str(raised.value)


def test_a_zone_alone_is_enough_for_the_field_and_nothing_is_not():
    text = SMALL.replace("MATERIAL", "aluminium").replace("ASKED", "")
    receptor, zone = text.index("[[receptors]]"), text.index("[[zones]]")
    assert studies.loads(text[:receptor] + text[zone:]).order_search is not None
    with pytest.raises(StudyError, match="no receptor and no zone"):
        studies.loads(text[:receptor] + text[text.index("[order_search]") :])


@OF_TWELVE
def test_terminal_table_and_figure_show_today_and_the_best(twelve):
    found = twelve.order_search
    text = summary(twelve)
    assert "11 550 orders (those alike by symmetry, 3 each, counted once)" in " ".join(text.split())
    assert "proved that none is better" in " ".join(text.split())
    pasted = tomllib.loads(text[text.index("phases = [") :].partition("\n\n")[0])
    assert pasted == {"phases": list(found.best[0].phases["F1"])}
    assert "The best order of F1, as a line of the study file:" in text
    assert max(len(line) for line in text.splitlines() if not line.startswith("phases = ")) <= 80
    rows = list(csv.DictReader(io.StringIO(tables(twelve)["phase_orders.csv"])))
    assert [(row["order"], row["source"]) for row in rows] == [
        *((name, "judged") for name in ("as stated", "best 1", "best 2", "best 3")),
        *((name, "full solution") for name in ("as stated", "best 1")),
    ]
    for row, order in zip(rows, (found.today, *found.best), strict=False):
        assert row["labels_f1"].split() == list(order.phases["F1"])
        assert float(row["b_rms_t_office"]) == order.receptor_b_rms_t[1]
        assert float(row["b_max_rms_t_zone_bench"]) == order.zone_b_max_rms_t[0]
    assert float(rows[-1]["b_max_rms_error_t_zone_bench"]) == found.best_solved.zone_b_max_rms_error_t[0]
    document: Any = results_document(twelve)["order_search"]
    assert document["best_solved"]["zone_b_max_rms_t"] == list(found.best_solved.zone_b_max_rms_t)
    assert document["proved"] is True


@OF_TWELVE
def test_each_panel_of_the_figure_colours_its_own_order(twelve):
    found = twelve.order_search
    figure = figure_set(twelve)["phase_orders"]()
    panels = figure.axes
    assert len(panels) == 4
    for axes, order in zip(panels, (found.today, *found.best), strict=True):
        circles = [c for c in axes.collections if len(c.get_facecolor()) == 12]
        (colours,) = [[to_hex(tuple(colour)) for colour in np.asarray(c.get_facecolor())] for c in circles]
        assert colours == [PHASE_COLOURS["light-to-dark"][phase] for phase in order.phases["F1"]]
        assert [text.get_text() for text in axes.texts] == list(order.phases["F1"])
    captions = [text.get_text() for text in figure.texts]
    assert sum("objective" in caption for caption in captions) == 4
