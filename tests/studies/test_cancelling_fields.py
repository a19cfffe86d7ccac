"""Fields that cancel: held to a share of what cancels, and told so."""

from __future__ import annotations

import numpy as np
import pytest

import studies
from studies.section.cross_section import cross_section
from studies.solve.cancelling_fields import CANCELLING, least_field
from studies.study.reading import loads

TWO = """
title = "Midway between two feeders"
frequency = "50 Hz"
[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"
[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [["-1060 mm", "0 m"], ["-1000 mm", "0 m"], ["-940 mm", "0 m"]]
phases = ["L1", "L2", "L3"]
current = "300 A"
[[circuits]]
name = "F2"
cable = "c"
arrangement = "positions"
positions = [["1060 mm", "0 m"], ["1000 mm", "0 m"], ["940 mm", "0 m"]]
phases = ["L1", "L2", "L3"]
current = "300 A"
[[receptors]]
name = "middle"
at = ["0 m", "0 m"]
[[receptors]]
name = "beside"
at = ["0.3 m", "0.5 m"]
[accuracy]
tolerance = "2 %"
"""


def test_what_cancels_is_held_to_a_share_of_what_each_circuit_makes() -> None:
    result = studies.run(loads(TWO))
    middle, beside = result.receptors
    section = cross_section(loads(TWO))
    least = least_field(section, np.array([receptor.at for receptor in result.study.receptors]))
    # the two circuits are images in the origin with equal currents: nothing is left there but the error of the mesh
    assert middle.b_rms_t < middle.b_rms_error_t < 0.02 * least[0]
    assert result.accuracy.met
    # of six: the meshes that hold a hundredth of what cancels, far from all edges, and none for the sake of nothing
    assert len(result.accuracy.levels) <= 4
    assert middle.within_tolerance
    assert beside.b_rms_t > 10 * least[1]
    assert beside.b_rms_error_t <= 0.02 * beside.b_rms_t
    told = [caution for caution in result.cautions if "cancel" in caution]
    assert len(told) == 1
    assert "at middle:" in told[0]
    assert "beside" not in told[0].split(":")[0]


def test_one_circuit_cancels_nothing_of_itself() -> None:
    one = TWO[: TWO.index('[[circuits]]\nname = "F2"')] + TWO[TWO.index("[[receptors]]") :]
    study = loads(one)
    points = np.array([[0.0, 0.0], [3.0, 4.0], [-1.0, 0.0]])
    least = least_field(cross_section(study), points)
    # mu0 I s sqrt(3)/(2 pi r^2), the far form of a flat formation [M], 1 m from its middle: (s/r)^2/3 off at most
    far = 2e-7 * 300 * 0.06 * np.sqrt(3)
    assert least[0] == pytest.approx(CANCELLING * far, rel=2 * 0.06**2)
    assert least[2] == 0.0  # on an axis, where the line current says nothing
