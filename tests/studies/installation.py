"""The text of a study that states every kind of key, and what is said when something in it is changed."""

from pathlib import Path

import pytest

from studies.study.reading import loads
from studies.text.problems import Problem, StudyError

INSTALLATION = """
title = "Plant"
frequency = "50 Hz"

[cables.hv]
conductor = { material = "copper", area = "630 mm^2", temperature = "90 degC", skin_coefficient = 0.435 }
insulation = "8 mm"
screen = { material = "copper", thickness = "0.3 mm", temperature = "75 degC" }
separation = "0.6 mm"
sheath = { material = "lead", thickness = "2.2 mm" }
bedding = "1.4 mm"
armour = { material = "steel-wire-armour", thickness = "3.15 mm", fill = "88 %" }
jacket = "3 mm"

[cables.lv]
conductor = { material = "copper", area = "50 mm^2", temperature = "70 degC" }
insulation = "1.4 mm"

[[circuits]]
name = "F1"
cable = "hv"
arrangement = "trefoil"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "500 A"
frequency = "400 Hz"
harmonics = { 5 = "20 %", 7 = ["14 %", "30 deg"] }

[[circuits]]
name = "F2"
cable = "lv"
arrangement = "flat"
spacing = "31 mm"
rests_at = ["0 mm", "400 mm"]
phases = ["L1", "L2", "L3", "N", "PE"]
current = { L1 = "40 A", L2 = "30 A", L3 = "20 A" }
harmonics = { 3 = "33 %" }

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
turned = "90 deg"
inside_width = "301 mm"
inside_height = "101 mm"
lip = "15 mm"
lips = "outward"
dividers = ["-50 mm", "60 mm"]
divider_height = "80 mm"
thickness = "1.5 mm"
material = "mild-steel"
temperature = "35 degC"
open_area = "25 %"
cover = { gap = "4 mm", thickness = "1.2 mm", material = "soft", edge = "18 mm" }

[[trays]]
name = "T2"
profile = "plate"
rests_at = ["1 m", "0 mm"]
width = "302 mm"
thickness = "2 mm"
material = "aluminium-5052"

[[trays]]
name = "T3"
profile = "ladder"
rests_at = ["2 m", "0 mm"]
inside_width = "303 mm"
inside_height = "103 mm"
rail_flange = "20 mm"
thickness = "1.6 mm"
material = "galvanised-steel-saturating"

[[trays]]
name = "T4"
profile = "duct"
rests_at = ["3 m", "0 mm"]
inside_width = "304 mm"
inside_height = "104 mm"
dividers = ["0 mm"]
thickness = "1.7 mm"
material = "mild-steel"

[[trays]]
name = "T5"
profile = "conduit"
rests_at = ["4 m", "0 mm"]
inside_diameter = "105 mm"
thickness = "3.6 mm"
material = "mild-steel"

[[metalwork]]
name = "bent"
shape = "path"
path = [["0 m", "1 m"], ["1 m", "1 m"], ["1 m", "2 m"]]
thickness = "3 mm"
side = "left"
material = "high-permeability-sheet"

[[metalwork]]
name = "beam"
shape = "I"
at = ["0 m", "3 m"]
height = "201 mm"
width = "100 mm"
web = "5.6 mm"
flange = "8.5 mm"
turned = "45 deg"
material = "mild-steel-saturating"

[[metalwork]]
name = "angle"
shape = "L"
at = ["0 m", "4 m"]
height = "61 mm"
width = "40 mm"
thickness = "5 mm"
material = "hard"

[[metalwork]]
name = "bar"
shape = "rectangle"
at = ["0 m", "5 m"]
height = "10 mm"
width = "62 mm"
material = "copper"
temperature = "60 degC"

[[metalwork]]
name = "pipe"
shape = "tube"
at = ["0 m", "6 m"]
outside_diameter = "63 mm"
thickness = "4 mm"
material = "steel-armour"

[materials.soft]
conductivity = "6.0 MS/m"
curve = "mild-steel-curve"

[materials.hard]
resistivity = "0.2 uohm*m"
brauer = { k1 = 49.4, k2 = 1.46, k3 = 520.6 }
loss_angle = "15 deg"

[[bonds]]
parts = ["F1 screens"]
kind = "cross-bonded"

[[bonds]]
parts = ["F1 sheaths", "F1 armours"]

[[bonds]]
parts = ["F2.5.conductor", "T1", "T1.cover", "T3", "pipe"]
impedance = ["0.1 ohm/km", "0.05 ohm/km"]
earth = true

[earth]
resistivity = "100 ohm*m"
surface = "-1 m"

[[receptors]]
name = "desk"
at = ["1.5 m", "0.5 m"]
limit = "ICNIRP 2010 public"

[[zones]]
name = "walkway"
window = [["5 m", "-1 m"], ["6 m", "1 m"]]
limit = "90 uT"

[current_sweep]
factors = [0.25, 0.5, 1, 1.5, 2]
"""
"""Every key but those of drawings and files of points, which need a file beside the study."""

DRAWN = 'arrangement = "drawing"\ndrawn_on = { L1 = "A", L2 = "B", L3 = "C" }\n'
"""Keys of a circuit that is taken from a drawing."""

FORMATION = 'arrangement = "trefoil"\nrests_at = ["0 mm", "0 mm"]\nphases = ["L1", "L2", "L3"]\n'
"""Keys of the first circuit that a drawing takes the place of."""


def changed(*pairs: tuple[str, str], text: str = INSTALLATION) -> str:
    """The text with the first occurrence of each old text changed."""
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def problems_of(text: str, name: str = "plant.toml") -> tuple[Problem, ...]:
    """What is said about a study that is not sound."""
    with pytest.raises(StudyError) as caught:
        loads(text, name)
    return caught.value.problems


def drawn(folder: Path, *pairs: tuple[str, str], head: str = "") -> tuple[str, str]:
    """The study with its first circuit taken from a drawing that exists, and the name of its file."""
    (folder / "section.dxf").write_text("drawing", encoding="ascii")
    table = head or '[drawing]\nfile = "section.dxf"\nunit = "mm"\nat = ["1 m", "0 m"]\n'
    return changed((FORMATION, DRAWN), ("[earth]", f"{table}\n[earth]"), *pairs), str(folder / "plant.toml")


Case = tuple[str, str, str, str, str, str]
"""What is changed, into what, the key that must be named, its value, what is wrong, what is right."""


def assert_told_once(case: Case) -> None:
    """The change is told once, at its key, with the value, what is wrong and what is right, on two short lines."""
    old, new, key, value, wrong, right = case
    found = problems_of(changed((old, new)))
    assert [problem.key for problem in found] == [key], "\n".join(map(str, found))
    (problem,) = found
    assert value in problem.value
    assert wrong in problem.wrong
    assert right in problem.right
    assert all(len(line) < 250 for line in str(problem).splitlines())
    assert len(str(problem).splitlines()) == 2
