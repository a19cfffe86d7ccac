"""Phase orders judged from one solve, against full solves and against brute force."""

import itertools

import numpy as np
import pytest

from fem.polarisation import resultant
from geometry.meshing import mesh_section
from studies.accuracy import solve_once
from studies.cross_section import cross_section
from studies.orders import search as search_module
from studies.orders.search import count_orders, search
from studies.orders.transfer import Transfer, judge, transfer
from studies.reading import loads

PHASOR = np.exp(2j * np.pi / 3)
STUDY = """
title = "Six cables in a steel tray"
frequency = "50 Hz"
[cables.c]
conductor = {{ material = "copper", area = "120 mm^2", temperature = "70 degC" }}
insulation = "1.5 mm"
jacket = "1.5 mm"
[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
clear_gap = "5 mm"
rests_at = ["0 mm", "0 mm"]
phases = {phases}
current = "300 A"
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "200 mm"
inside_height = "60 mm"
thickness = "1.5 mm"
material = "mild-steel"
[[receptors]]
name = "a"
at = ["1 m", "0.4 m"]
[[receptors]]
name = "b"
at = ["-0.5 m", "-0.3 m"]
"""
LINES = ("L1", "L2", "L3")
RECEPTORS = np.array([[1.0, 0.4], [-0.5, -0.3]])


def solve(labels):
    phases = "[" + ", ".join(f'"{LINES[k]}"' for k in labels) + "]"
    section = cross_section(loads(STUDY.format(phases=phases)))
    return section, solve_once(section, mesh_section(section.section()), RECEPTORS, ())


def test_judged_order_is_the_full_solve_of_that_order():
    section, solved = solve((0, 1, 2, 0, 1, 2))
    maps = transfer(section, solved.fields, RECEPTORS)
    for labels in ((0, 1, 2, 2, 1, 0), (0, 0, 1, 1, 2, 2)):
        judged = judge(maps, np.array([labels], dtype=np.int8), 300 * np.array([1, PHASOR**2, PHASOR]))
        _, full = solve(labels)  # the same mesh: what is left is rounding
        conductors = full.drive.currents[:6]
        assert np.allclose(judged.currents[0], conductors, rtol=1e-9)
        assert np.allclose(judged.field[0], resultant(full.requested.receptors), rtol=1e-9)


def random_maps(n, seed):
    rng = np.random.default_rng(seed)
    matrix = rng.normal(size=(n, n)) + 1j * rng.normal(size=(n, n))
    field = rng.normal(size=(2, 2, n)) + 1j * rng.normal(size=(2, 2, n))
    admittance = (matrix + matrix.T + 20 * np.eye(n)).astype(np.complex128)
    return Transfer(tuple("abcdefghijkl"[:n]), (0,) * n, admittance, field)


def worst_field(maps):
    currents = np.array([1, PHASOR**2, PHASOR])
    return lambda labels: judge(maps, labels, currents).field.max(axis=1)


def test_exhaustive_search_finds_the_brute_force_optimum():
    maps = random_maps(6, 3)
    found = search([(0, 1, 2, 0, 1, 2)], worst_field(maps), turn=True)
    every = np.array(sorted(set(itertools.permutations((0, 0, 1, 1, 2, 2)))), dtype=np.int8)
    values = worst_field(maps)(every)
    assert found.proved
    assert found.values[0] == pytest.approx(values.min(), rel=1e-12)
    assert found.tried == found.possible == len(every) // 3
    # balanced currents: turning all labels turns all phasors, the three best values of one class stand for nine orders
    assert np.sort(values)[:9:3] == pytest.approx(found.values, rel=1e-9)


def test_labels_move_within_their_circuit_only():
    maps = random_maps(6, 4)
    found = search([(0, 1, 2), (0, 1, 2)], worst_field(maps), turn=True, keep=12)
    assert found.possible == count_orders([(0, 1, 2), (0, 1, 2)], turn=True) == 12
    assert len(found.orders) == 12
    assert all(set(order[:3]) == {0, 1, 2} == set(order[3:]) for order in found.orders.tolist())


def test_annealing_claims_no_proof_and_reaches_the_exhaustive_optimum(monkeypatch):
    maps = random_maps(9, 5)
    groups = [(0, 1, 2) * 3]
    exact = search(groups, worst_field(maps), turn=True)
    monkeypatch.setattr(search_module, "MOST_EXHAUSTIVE", 10)
    annealed = search(groups, worst_field(maps), turn=True)
    assert exact.proved
    assert not annealed.proved
    # 256 chains of 400 swaps over 1680 orders: to miss the optimum would be a defect of the walk
    assert annealed.values[0] == pytest.approx(exact.values[0], rel=1e-12)


def test_search_is_repeatable(monkeypatch):
    monkeypatch.setattr(search_module, "MOST_EXHAUSTIVE", 10)
    maps = random_maps(9, 6)
    first, second = (search([(0, 1, 2) * 3], worst_field(maps), turn=False) for _ in range(2))
    assert np.array_equal(first.orders, second.orders)
