"""A sound study to put mistakes into, and what is said about them."""

import pytest

from studies.study.reading import loads
from studies.text.problems import Problem, StudyError

GOOD = """
title = "Feeder"
frequency = "50 Hz"

[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
screen = { material = "copper", thickness = "0.2 mm" }
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c240"
arrangement = "flat"
spacing = "56 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "test-steel"

[materials.test-steel]
conductivity = "6.0 MS/m"
relative_permeability = 300

[[bonds]]
parts = ["F1 screens", "T1"]

[[receptors]]
name = "interferometer"
at = ["1.5 m", "0.5 m"]
limit = "0.5 uT"

[[traverses]]
name = "floor line"
from = ["-3 m", "1 m"]
to = ["3 m", "1 m"]
points = 121

[map]
window = [["-2 m", "-1 m"], ["2 m", "2 m"]]

[accuracy]
tolerance = "0.5 %"
"""
CONDUCTOR = 'conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }'
SCREEN = 'screen = { material = "copper", thickness = "0.2 mm" }'
POSITIONS = 'positions = [["-56 mm", "28 mm"], ["0 mm", "28 mm"], ["56 mm", "28 mm"]]'


def changed(*pairs: tuple[str, str]) -> str:
    text = GOOD
    for old, new in pairs:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return text


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(StudyError) as caught:
        loads(text, "feeder.toml")
    return caught.value.problems
