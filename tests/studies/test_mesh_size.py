"""Large meshes: told before they are made, with what asks for them; runs far apart that need none."""

import numpy as np
import pytest

import studies.solve.mesh_size
from studies.command import main
from studies.runner import run
from studies.section.cross_section import cross_section
from studies.solve.accuracy import solve_to_tolerance
from studies.solve.mesh_size import mesh_note
from studies.study.reading import loads

CABLE = """
title = "Sizes"
frequency = "{frequency}"
[cables.c]
conductor = {{ material = "copper", area = "240 mm^2", temperature = "70 degC" }}
insulation = "{over}"
jacket = "{over}"
"""
CIRCUIT = """
[[circuits]]
name = "F{number}"
cable = "c"
arrangement = "trefoil"
rests_at = ["{x} m", "{y} m"]
phases = ["L1", "L2", "L3"]
current = "400 A"
"""
PLATE = """
[[trays]]
name = "T1"
profile = "plate"
rests_at = ["0 m", "0 m"]
width = "2 m"
thickness = "20 mm"
material = "mild-steel"
"""


def trefoils(places, frequency="50 Hz", over="1.7 mm"):
    circuits = (CIRCUIT.format(number=k, x=x, y=y) for k, (x, y) in enumerate(places, 1))
    return CABLE.format(frequency=frequency, over=over) + "".join(circuits)


def test_six_trefoils_far_apart_are_a_small_mesh():
    study = loads(trefoils([(4 * column, 3 * row) for column in range(3) for row in range(2)]))
    section = cross_section(study)
    between = np.array([[2.0, 1.5], [6.0, 1.0], [20.0, 3.0]])
    _, _, accuracy = solve_to_tolerance(section, between, (), 0.005, lambda message: None)
    # sizes that follow from all edges about gave 1.5 million
    assert accuracy.met
    assert accuracy.levels[-1].unknowns < 40_000


def note(monkeypatch, text, large=0):
    monkeypatch.setattr(studies.solve.mesh_size, "LARGE", large)
    study = loads(text)
    return mesh_note(study, cross_section(study))


def test_an_ordinary_mesh_is_not_spoken_of(monkeypatch):
    assert note(monkeypatch, trefoils([(0, 0)]), studies.solve.mesh_size.LARGE) is None


def test_the_skin_depth_that_asks_for_a_large_mesh_is_named(monkeypatch):
    told = note(monkeypatch, trefoils([(0, 0)], "20 kHz") + PLATE)
    assert told.startswith("a large mesh, about ")
    # 1/sqrt(pi f mu sigma) of steel of 6 MS/m and permeability 300 at 20 kHz
    assert "% in and about T1 (skin depth 84\u202fµm at 20000 Hz" in told
    at_low = note(monkeypatch, trefoils([(0, 0)]).replace("50 Hz", "0.5 Hz") + PLATE)
    assert "skin depth" not in at_low


def test_the_gap_that_asks_for_a_large_mesh_is_named(monkeypatch):
    told = note(monkeypatch, trefoils([(0, 0)], over="0.03 mm"))
    # twice 0.06 mm of insulation and jacket between conductors
    assert told.count("120\u202fµm from F1.") == 3
    assert "µm" not in note(monkeypatch, trefoils([(0, 0)], over="10 mm"))


def test_alike_solids_are_not_listed(monkeypatch):
    told = note(monkeypatch, trefoils([(0.2 * k, 0) for k in range(12)]))
    assert told.endswith("unknowns: 36 solids, about alike")


def test_a_mesh_too_large_is_refused_before_it_is_made(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(studies.solve.mesh_size, "LARGEST", 3_000)
    monkeypatch.setattr(studies.solve.mesh_size, "LARGE", 1_000)
    monkeypatch.setattr("studies.solve.meshes.mesh_planned", lambda *_: pytest.fail("a mesh was made"))
    (tmp_path / "large.toml").write_text(trefoils([(0, 0)], "20 kHz") + PLATE)
    for command in (["check", "--out", str(tmp_path / "a.png")], ["run", "--out", str(tmp_path / "out")]):
        assert main([command[0], str(tmp_path / "large.toml"), *command[1:]]) == 2
        told = capsys.readouterr().err
        assert "the cross-section: needs a mesh of about " in told
        assert "unknowns: 4 solids, " in told
        assert "; at most 3,000 are solved" in told
        assert (
            "right: fewer parts in one study: what lies far apart may be studied alone; or a lower highest frequ"
            in told
        )
    assert not (tmp_path / "out").exists()


def test_a_large_mesh_is_told_by_check_and_by_run(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(studies.solve.mesh_size, "LARGE", 1_000)
    (tmp_path / "large.toml").write_text(trefoils([(0, 0)]))
    assert main(["check", str(tmp_path / "large.toml"), "--out", str(tmp_path / "a.png")]) == 0
    assert "\n  with a large mesh, about " in capsys.readouterr().out

    told = []

    def report_progress(message):
        told.append(message)
        if message.startswith("meshing"):
            raise InterruptedError

    with pytest.raises(InterruptedError):
        run(loads(trefoils([(0, 0)])), report_progress)
    assert told[0].startswith("a large mesh, about ")
