"""Circuits with harmonics, frequencies of their own and formations of a drawing, as the study file states them."""

import math
from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

from studies.section.placement import circuit_axes
from studies.study.circuits import Circuit, phase_currents
from studies.study.file import beside
from studies.study.phases import Harmonic, harmonic_order
from studies.study.quantities import QuantityError
from studies.study.reading import loads
from studies.text.problems import Problem
from tests.studies.installation import INSTALLATION, Case, assert_told_once, changed, drawn, problems_of

F1, F2 = 'circuits[1] "F1"', 'circuits[2] "F2"'
HARMONICS = '{ 5 = "20 %", 7 = ["14 %", "30 deg"] }'

BAD: list[Case] = [
    ('"400 Hz"', "400", f"{F1} → frequency", "400", "bare number", '"400 Hz"'),
    ('"400 Hz"', '"0 Hz"', f"{F1} → frequency", '"0 Hz"', "outside", "above 0 Hz"),
    ('"400 Hz"', '"21 kHz"', f"{F1} → frequency", '"21 kHz"', "outside", "at most 20 kHz"),
    (HARMONICS, '"20 %"', f"{F1} → harmonics", '"20 %"', "not a table of orders", "{ 3 ="),
    (HARMONICS, "[5, 7]", f"{F1} → harmonics", "[5, 7]", "not a table of orders", "{ 3 ="),
    ('5 = "20 %"', "5 = 0.2", f"{F1} → harmonics → 5", "0.2", "bare number", '"0.2 %"'),
    ('5 = "20 %"', '5 = "0 %"', f"{F1} → harmonics → 5", '"0 %"', "outside", "above 0 % and at most 300 %"),
    ('5 = "20 %"', '5 = "301 %"', f"{F1} → harmonics → 5", '"301 %"', "outside", "at most 300 %"),
    ('5 = "20 %"', '5 = "20 A"', f"{F1} → harmonics → 5", '"20 A"', "no unit of ratio", '"12 %"'),
    ('5 = "20 %"', "5 = { }", f"{F1} → harmonics → 5", "{  }", "a table", '"12 %"'),
    ('5 = "20 %"', '5.5 = "20 %"', f"{F1} → harmonics → 5", "{", "a table", '"12 %"'),
    ('5 = "20 %"', '1 = "20 %"', f"{F1} → harmonics → 1", '"20 %"', "outside the orders 2 to 50", "from 2 to 50"),
    ('5 = "20 %"', '53 = "20 %"', f"{F1} → harmonics → 53", '"20 %"', "outside the orders 2 to 50", "from 2 to 50"),
    ('5 = "20 %"', '-5 = "20 %"', f"{F1} → harmonics → -5", '"20 %"', "no order of a harmonic", "whole number"),
    ('5 = "20 %"', '05 = "20 %"', f"{F1} → harmonics → 05", '"20 %"', "no order of a harmonic", "whole number"),
    ('5 = "20 %"', 'fifth = "20 %"', f"{F1} → harmonics → fifth", '"20 %"', "no order of a harmonic", "whole number"),
    ('"14 %", "30 deg"', '"14 %"', f"{F1} → harmonics → 7", '["14 %"]', "not a share", '["20 %", "30 deg"]'),
    ('"14 %", "30 deg"', '"14 %", 30', f"{F1} → harmonics → 7", "30", "bare number", '"30 deg"'),
    ('"14 %", "30 deg"', '"14 %", "400 deg"', f"{F1} → harmonics → 7", "400", "outside", "to 360 deg"),
    ('7 = ["14', '6 = ["14', f"{F1} → harmonics → 6", '["14 %"', "no path", 'an "N" among the phases'),
    ('"400 Hz"', '"4 kHz"', f"{F1} → harmonics → 7", '["14 %"', "at 28000 Hz", "up to 20 kHz"),
    ('L3", "N", "PE"', 'L3", "PE", "PE"', f"{F2} → harmonics → 3", '"33 %"', "no path", 'an "N"'),
    ('L3 = "20 A"', 'L3 = "20 A", N = "3 A"', f"{F2} → current → N", '"3 A"', "no angle", '"-118 deg"'),
    ('"trefoil"', '"drawing"', f"{F1} → drawn_on", "", "missing, drawing needs it", 'drawn_on = { L1 = "PHASE-1"'),
    ('"trefoil"', '"drawn"', f"{F1} → arrangement", '"drawn"', "no known arrangement", '"drawing"'),
    ('phases = ["L1", "L2", "L3"]\n', "", f"{F1} → phases", "", "missing, trefoil needs it", 'phases = ["L1"'),
    (
        *('"trefoil"', '"trefoil"\ndrawn_on = { L1 = "A" }', f"{F1} → drawn_on"),
        *('{ L1 = "A" }', "does not go with trefoil", "trefoil takes phases, rests_at"),
    ),
]
MORE = ('"drawing"', 'L3", "PE", "PE"')


@pytest.mark.parametrize("case", [case for case in BAD if case[1] not in MORE])
def test_a_bad_key_of_a_circuit_is_told_once(case: Case) -> None:
    assert_told_once(case)


@pytest.mark.parametrize("case", [case for case in BAD if case[1] in MORE])
def test_a_bad_key_of_a_circuit_is_told_beside_what_follows_from_it(case: Case) -> None:
    old, new, key, value, wrong, right = case
    (problem,) = (p for p in problems_of(changed((old, new))) if p.key == key)
    assert value in problem.value
    assert wrong in problem.wrong
    assert right in problem.right


LAYERS = 'drawn_on = { L1 = "A", L2 = "B", L3 = "C" }'

BAD_DRAWN = [
    (LAYERS, 'drawn_on = "A"', f"{F1} → drawn_on", "not a table of phases", "{ L1 ="),
    (LAYERS, "drawn_on = {}", f"{F1} → drawn_on", "is empty", "{ L1 ="),
    ("L3 = ", "L4 = ", f"{F1} → drawn_on → L4", "no known phase", '"L1"'),
    ('"C"', "7", f"{F1} → drawn_on → L3", "not text", "words in quotes"),
    ('"C"', '""', f"{F1} → drawn_on → L3", "is empty", "words in quotes"),
    ('"C"', '"A"', f"{F1} → drawn_on → L3", "already the layer of L1", "a layer of its own"),
    (LAYERS, f'{LAYERS}\nphases = ["L1", "L2"]', f"{F1} → phases", "does not agree", "L1, L2, L3"),
    (LAYERS, f'{LAYERS}\nrests_at = ["0 m", "0 m"]', f"{F1} → rests_at", "not go with drawing", "takes drawn_on"),
    ('unit = "mm"\n', "", "drawing → unit", "is missing", 'unit = "mm"'),
    ('"mm"\nat', '"px"\nat', "drawing → unit", "no known unit of a drawing", '"mm"'),
    ('at = ["1 m", "0 m"]', 'at = "1 m"', "drawing → at", "not a list of two", "x and y"),
    ('file = "section.dxf"\n', "", "drawing → file", "is missing", 'file = "section.dxf"'),
    ('"section.dxf"', '"sektion.dxf"', "drawing → file", "is no file", "a file in "),
    ('"section.dxf"', '"a\\u0000b"', "drawing → file", "cannot be seen: U+0000", "on one line"),
    ('"section.dxf"', "{}", "drawing → file", "not text", "words in quotes"),
    ('"section.dxf"', '"."', "drawing → file", "is no file", "a file in "),
    ("\nfile =", "\nfil =", "drawing → fil", "no known key", "file"),
]


@pytest.mark.parametrize(("old", "new", "key", "wrong", "right"), BAD_DRAWN)
def test_a_bad_key_of_a_drawing_is_told_once(
    old: str, new: str, key: str, wrong: str, right: str, tmp_path: Path
) -> None:
    text, name = drawn(tmp_path, (old, new))
    (problem,) = problems_of(text, name)
    assert problem.key == key
    assert wrong in problem.wrong
    assert right in problem.right


def test_a_drawing_that_is_not_stated_is_told_where_it_is_needed(tmp_path: Path) -> None:
    text, name = drawn(tmp_path, head="\n")
    text = text.replace(
        'shape = "rectangle"\nat = ["0 m", "5 m"]\nheight = "10 mm"\nwidth = "62 mm"',
        'shape = "drawing"\nlayer = "STEEL"',
    )
    found = problems_of(text, name)
    assert [p.key for p in found] == [f"{F1} → arrangement", 'metalwork[4] "bar" → shape']
    assert all(p.wrong == "needs a drawing, the study has none" for p in found)


def test_a_drawing_that_nothing_is_taken_from_is_told(tmp_path: Path) -> None:
    (tmp_path / "section.dxf").write_text("", encoding="ascii")
    text = changed(("[earth]", '[drawing]\nfile = "section.dxf"\nunit = "m"\n\n[earth]'))
    (problem,) = problems_of(text, str(tmp_path / "plant.toml"))
    assert (problem.key, problem.wrong) == ("drawing", "is a drawing that nothing is taken from")


def test_phases_of_a_drawing_are_those_of_its_layers(tmp_path: Path) -> None:
    text, name = drawn(tmp_path)
    study = loads(text, name)
    assert study.circuits[0].phases == ("L1", "L2", "L3")
    assert study.circuits[0].drawn_on == {"L1": "A", "L2": "B", "L3": "C"}
    assert study.drawing is not None
    assert (study.drawing.unit, study.drawing.at) == ("mm", (1, 0))
    assert beside(study, study.drawing.file) == tmp_path / "section.dxf"
    with pytest.raises(ValueError, match="axes of circuit F1 are taken from the drawing"):
        circuit_axes(study, study.circuits[0])


def test_phases_beside_a_drawing_may_say_how_many_cables_there_are(tmp_path: Path) -> None:
    text, name = drawn(tmp_path, (LAYERS, f'{LAYERS}\nphases = ["L3", "L1", "L2", "L1", "L2", "L3"]'))
    assert loads(text, name).circuits[0].phases == ("L3", "L1", "L2", "L1", "L2", "L3")


def test_bonds_of_single_cables_of_a_drawing_are_not_judged_before_it_is_read(tmp_path: Path) -> None:
    text, name = drawn(tmp_path, ('parts = ["F1 screens"]\nkind = "cross-bonded"', 'parts = ["F1.7.screen", "T4"]'))
    assert loads(text, name).bonds[0].parts == ("F1.7.screen", "T4")
    text, name = drawn(tmp_path, ('["F1 sheaths", "F1 armours"]', '["F2 sheaths", "F1 armours"]'))
    assert "whose cable has none" in problems_of(text, name)[0].wrong


def test_harmonics_are_shares_and_angles_by_order() -> None:
    study = loads(INSTALLATION)
    first, second = study.circuits
    assert first.frequency == 400
    assert second.frequency is None
    assert first.harmonics[5] == pytest.approx(Harmonic(0.2, 0.0), rel=1e-12)
    assert first.harmonics[7] == pytest.approx(Harmonic(0.14, math.radians(30)), rel=1e-12)
    assert list(second.harmonics) == [3]


def test_a_neutral_without_a_current_returns_the_others() -> None:
    currents = phase_currents(loads(INSTALLATION).circuits[1])
    a = np.exp(2j * np.pi / 3)
    assert currents["N"] == pytest.approx(-(40 + 30 * a**2 + 20 * a), rel=1e-12)
    assert currents["PE"] == 0


def test_an_order_in_step_needs_no_neutral_in_two_phases() -> None:
    text = changed(
        ('["L1", "L2", "L3"]', '["L1", "N", "PE"]'),
        ("5 =", "3 ="),
        ('["F1 screens"]\nkind = "cross-bonded"', '["F1 screens", "T4"]'),
    )
    assert 3 in loads(text).circuits[0].harmonics


@pytest.mark.parametrize("key", [2, "2", 50, "50"])
def test_an_order_is_a_whole_number_also_as_text(key: object) -> None:
    assert harmonic_order(key) == int(str(key))


@pytest.mark.parametrize("key", [1, "51", True, 2.0, "2.0", "٣", " 3", None, "9" * 5000])
def test_what_is_no_order_is_refused(key: object) -> None:
    with pytest.raises(QuantityError, match="order"):
        harmonic_order(key)


def test_python_states_harmonics_by_numbers() -> None:
    keys = {"name": "F1", "cable": "hv", "arrangement": "flat", "spacing": 0.1, "rests_at": (0.0, 0.0), "current": 4.0}
    circuit = Circuit.model_validate({**keys, "phases": ("L1", "N"), "harmonics": {3: 0.2, 5: (0.1, -0.5)}})
    assert circuit.harmonics == {3: Harmonic(0.2), 5: Harmonic(0.1, -0.5)}
    with pytest.raises(ValidationError, match="outside the orders"):
        Circuit.model_validate({**keys, "phases": ("L1", "N"), "harmonics": {51: 0.2}})


def test_every_order_of_a_wrong_table_is_told() -> None:
    found: tuple[Problem, ...] = problems_of(changed((HARMONICS, '{ 1 = "2 %", 5 = 3, x = "2 %" }')))
    assert [p.key for p in found] == [f"{F1} → harmonics → {key}" for key in ("1", "5", "x")]
