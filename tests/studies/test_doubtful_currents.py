"""A conductor that carries more than its area can bear is named, in check, run and report, and no other is."""

import math
import re

import pytest

import studies
from studies.answers.losses.doubtful_currents import doubted_current, doubtful_currents, stated_currents
from studies.report.contents import write_report
from studies.report.preview import preview
from studies.report.terminal import summary
from studies.section.cross_section import cross_section

pytestmark = pytest.mark.usefixtures("coarse_mesh")

COPPER, ALUMINIUM = 1 / 1.7241e-8, 1 / 2.8264e-8
STUDY = """
title = "Feeder"
frequency = "50 Hz"
[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "30 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "CURRENT"
[[receptors]]
name = "desk"
at = ["1 m", "1 m"]
limit = "200 uT"
[accuracy]
tolerance = "20 %"
"""


def study(current, *changes):
    text = STUDY.replace("CURRENT", current)
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return studies.loads(text)


def doubted(of):
    section = cross_section(of)
    return [entry.cable for entry in doubtful_currents(of, section, stated_currents(of, section))]


def test_doubted_is_twice_a_free_air_current_grown_with_area_and_conductivity():
    assert doubted_current(253.35e-6, COPPER) == pytest.approx(2 * 620, rel=1e-12)  # the table's own conductor
    # 16 times the area, 16^0.625 = 2^2.5 times the current; heat goes with I^2 over conductivity
    assert doubted_current(16 * 253.35e-6, COPPER) == pytest.approx(2 * 620 * 2**2.5, rel=1e-12)
    ratio = doubted_current(1e-4, ALUMINIUM) / doubted_current(1e-4, COPPER)
    assert ratio == pytest.approx(math.sqrt(1.7241 / 2.8264), rel=1e-12)
    for outside in ((0.0, COPPER), (1e-4, -1.0)):
        with pytest.raises(ValueError, match="above 0"):
            doubted_current(*outside)


@pytest.mark.parametrize(
    ("current", "changes", "cables"),
    [
        ("400 A", (), []),
        ("1.19 kA", (), []),  # the bound of 240 mm2 is 1240 A (240/253.35)^0.625 = 1198.7 A
        ("1.21 kA", (), ["F1.1", "F1.2", "F1.3"]),
        ("1.19 kA", (('"copper", area', '"aluminium", area'),), ["F1.1", "F1.2", "F1.3"]),
        ("1.21 kA", (('"L3"]', '"L3", "L1", "L2", "L3"]'),), []),  # two cables each
        ("1.19 kA", (("current =", 'harmonics = { 5 = "20 %" }\ncurrent ='),), ["F1.1", "F1.2", "F1.3"]),  # rms 1214 A
    ],
)
def test_a_stated_current_is_doubted_above_the_bound_and_only_there(current, changes, cables):
    assert doubted(study(current, *changes)) == cables


def test_the_doubt_stands_before_the_verdict_in_terminal_page_check_and_cautions():
    result = studies.run(study("20 kA"))
    words = "F1.1, F1.2, F1.3 20.0 kA on 240 mm², 83.3 A/mm² against a bound of 4.99 A/mm²"
    terminal = " ".join(summary(result).split())
    assert words in terminal
    assert terminal.index(words) < terminal.index("Flux density at the receptors")
    page = " ".join(re.sub("<[^>]*>", " ", write_report(result, {}, {})).split())
    start = page.index("is within the limit")
    lead = page[start : page.index("desk:", start)]
    assert words in lead
    assert words in " ".join(preview(result.study, result.cross_section).split())
    assert words in " ".join(result._repr_html_().split())
    (caution,) = [caution for caution in result.cautions if words in " ".join(caution.split())]
    assert "common practice, no source" in caution
    assert "The bound is no rating: a lower current may be too high as well." in caution
    assert not any("beyond what the the area" in caution for caution in studies.run(study("400 A")).cautions)


def test_the_cable_with_the_larger_share_is_doubted_by_what_it_carries():
    # equal shares of 1150 A are below the bound; L1's second cable carries 119 % of one
    phases = ('"L3"]', '"L3", "L1", "L2", "L3"]')
    own = study("2.3 kA", phases)
    assert doubted(own) == []
    result = studies.run(own)
    share = {part.part: part.current_rms_a for part in result.parts}
    (caution,) = [caution for caution in result.cautions if "beyond what the area" in caution]
    above = {name.removesuffix(".conductor") for name, current in share.items() if current > 1198.7}
    assert "F1.4" in above
    assert {cable for cable in (f"F1.{k}" for k in range(1, 7)) if cable in caution} == above
