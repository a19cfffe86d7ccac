"""Cautions: the usual ones always, the particular ones exactly where they apply."""

import dataclasses

import pytest

from studies import cautions
from studies.reading import loads
from studies.run import run

HEAD = """title = "Feeder"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
SCREEN
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "56 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = CURRENT

[accuracy]
tolerance = "20 %"
"""
TRAY = """
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "60 mm"
thickness = "1.5 mm"
material = "MATERIAL"
"""
SCREEN = 'screen = { material = "copper", thickness = "0.2 mm" }'
UNBALANCED = '{ L1 = "400 A", L2 = "400 A", L3 = "300 A" }'
PARTICULAR = {
    name: getattr(cautions, name)[:25] for name in ("STEEL", "OPEN_SCREENS", "OPEN_TRAY", "ENCIRCLED", "NET_CURRENT")
}


def found(screen="", current='"400 A"', tray="", bonds=()):
    text = HEAD.replace("SCREEN", screen).replace("CURRENT", current) + tray
    text += "".join(f"\n[[bonds]]\nparts = [{', '.join(map(repr, bond))}]\n" for bond in bonds)
    return run(loads(text))


def particular(result):
    """Names of the particular cautions of a result."""
    return {name for name, start in PARTICULAR.items() if any(c.startswith(start) for c in result.cautions)}


STEEL_TRAY, ALUMINIUM_TRAY = TRAY.replace("MATERIAL", "mild-steel"), TRAY.replace("MATERIAL", "aluminium")


@pytest.mark.parametrize(
    ("study", "expected"),
    [
        ({}, set()),
        ({"tray": ALUMINIUM_TRAY}, {"OPEN_TRAY"}),
        ({"tray": STEEL_TRAY}, {"STEEL", "OPEN_TRAY"}),
        ({"tray": STEEL_TRAY + 'cover = "closed"\n'}, {"STEEL", "OPEN_TRAY", "ENCIRCLED"}),
        ({"screen": SCREEN}, {"OPEN_SCREENS"}),
        ({"screen": SCREEN, "bonds": [("F1 screens",)]}, set()),
        ({"screen": SCREEN, "bonds": [("F1.1.screen", "F1.3.screen")]}, {"OPEN_SCREENS"}),
        ({"screen": SCREEN, "bonds": [("F1 screens", "T1")], "tray": STEEL_TRAY}, {"STEEL"}),
        ({"current": UNBALANCED}, {"NET_CURRENT"}),
        ({"current": '{ L1 = "400 A", L2 = ["400 A", "-120.00001 deg"], L3 = "400 A" }'}, set()),
    ],
)
def test_a_study_gets_the_cautions_that_it_calls_for_and_no_others(study, expected):
    assert particular(found(**study)) == expected


def test_the_usual_cautions_come_last_and_always():
    result = found()
    assert result.cautions[-len(cautions.ALWAYS) :] == cautions.ALWAYS
    said = " ".join(result.cautions)
    # what the job asks a report to say
    for word in ("licensed engineer", "local wiring codes", "ratings", "three-dimensional", "implanted", "Measure"):
        assert word.casefold() in said.casefold()
    assert all("{" not in caution for caution in result.cautions)


def test_a_net_current_is_told_with_its_size_and_where_it_returns():
    result = found(current=UNBALANCED)
    (told,) = [caution for caution in result.cautions if caution.startswith(PARTICULAR["NET_CURRENT"])]
    # 400 + 400 a^2 + 300 a = -100 a
    assert "100 A" in told
    assert f"{result.fields.exterior.reference_radius:g} m" in told


def test_an_accuracy_that_was_missed_is_the_first_caution():
    result = found()
    missed = dataclasses.replace(result.accuracy, tolerance=1e-4, worst_error=0.0123, met=False)
    assert result.accuracy.met
    assert not any("was not reached" in caution for caution in result.cautions)
    told = cautions.cautions(result.study, result.cross_section, result, missed)
    assert "0.01 % was not reached" in told[0]
    assert "1.2 %" in told[0]
