"""The drawing of page one stands alone: datum, diameters and currents in it, phases in the colours asked for."""

import itertools
from typing import Any

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from studies.drawing.cross_section import MOST_DESCRIBED, draw_cross_section
from studies.drawing.style import reads_dark
from studies.section.cross_section import cross_section
from studies.study.phases import PHASE_COLOURS
from studies.study.reading import loads
from studies.text.problems import StudyError
from tests.studies.figure_studies import assert_apart_and_inside, texts
from tests.studies.small_installations import HEAD, UNBALANCED, channel, circuit

FLAT = HEAD + circuit()


def drawn(text: str) -> Figure:
    study = loads(text)
    return draw_cross_section(study, cross_section(study))


def legend_of(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.legends[0].get_texts()]


def origin_marks(figure: Figure) -> list[Any]:
    return [line.get_marker() for line in figure.axes[0].get_lines() if np.array_equal(line.get_xydata(), [[0.0, 0.0]])]


def test_the_datum_is_marked_where_it_lies_and_named_by_the_legend() -> None:
    figure = drawn(FLAT)
    assert origin_marks(figure) == ["o", "+"]
    assert legend_of(figure)[-1] == "datum: x = 0, y = 0"


def test_a_datum_outside_the_drawing_is_pointed_to_with_its_distance() -> None:
    figure = drawn(HEAD + circuit(at=(3000.0, 4000.0)))
    assert origin_marks(figure) == []
    assert "datum (0, 0)\n5.0 m" in texts(figure)
    assert "datum: x = 0, y = 0" not in legend_of(figure)


@pytest.mark.parametrize(
    ("current", "phases", "told"),
    [
        ('"400 A"', '"L1", "L2", "L3"', "F1: 400\u202fA"),
        ('"400 A"', '"L1", "L2", "L3", "L3"', "F1: 400\u202fA a phase"),  # of both cables of L3
        (UNBALANCED, '"L1", "L2", "L3"', "F1: L1 400\u202fA, L2 350\u202fA, L3 300\u202fA"),
        ('{ L1 = "170 A", L2 = "150 A", L3 = "158 A" }', '"L1", "L2", "L3", "N"', "A, L3 158\u202fA, N 17.44\u202fA"),
    ],
)
def test_a_circuit_is_drawn_with_its_current_and_the_diameter_of_its_cables(
    current: str, phases: str, told: str
) -> None:
    # 17.48 mm of copper, 1.7 mm of insulation and 1.8 mm of jacket: 24.5 mm
    figure = drawn(HEAD + circuit(current=current).replace('"L1", "L2", "L3"', phases) + channel())
    assert any(text.endswith(f"{told}\ncables ⌀ 24.5 mm") for text in texts(figure))
    assert_apart_and_inside(figure)


@pytest.mark.parametrize("formation", ['arrangement = "trefoil"', 'arrangement = "flat"\nspacing = "70 mm"'])
def test_the_drawing_is_low_enough_to_be_read_on_page_one(formation: str) -> None:
    figure = drawn(HEAD + circuit(formation=formation))
    # page one has 58 mm for it: seven points become 4.9 at least
    assert figure.get_figheight() * 25.4 * 0.7 < 58.0
    assert_apart_and_inside(figure)


def test_of_many_circuits_only_the_names_are_drawn() -> None:
    many = [circuit(name=f"F{k}", at=(300.0 * k, 0.0)) for k in range(MOST_DESCRIBED + 1)]
    found = texts(drawn(HEAD + "".join(many)))
    assert {f"F{k}" for k in range(MOST_DESCRIBED + 1)} <= set(found)
    assert not any("⌀" in text for text in found)


def conductor_colours(text: str) -> list[str]:
    figure = drawn(text)
    top = max((c for c in figure.axes[0].collections if len(c.get_facecolor()) == 3), key=lambda c: c.get_zorder())
    return [to_hex(tuple(colour)) for colour in np.asarray(top.get_facecolor())]


def test_phases_have_the_colours_of_the_scheme_that_is_asked_for() -> None:
    asked = FLAT.replace("frequency =", 'phase_colours = "iec-60445"\nfrequency =')
    assert conductor_colours(FLAT) == ["#f3d27a", "#dd8f55", "#3f6c9b"]
    assert conductor_colours(asked) == ["#8b5a2b", "#26282b", "#9098a0"]  # brown, black, grey


def test_an_unknown_scheme_is_told_with_those_that_are_known() -> None:
    with pytest.raises(StudyError, match=r'is no known scheme of phase colours\n.*"light-to-dark", "iec-60445"'):
        loads(FLAT.replace("frequency =", 'phase_colours = "rainbow"\nfrequency ='))


@pytest.mark.parametrize("scheme", PHASE_COLOURS)
def test_the_phases_of_a_scheme_differ_in_grey_and_their_labels_stand_out(scheme: str) -> None:
    greys = {phase: grey(colour) for phase, colour in PHASE_COLOURS[scheme].items()}
    for one, other in itertools.combinations(greys.values(), 2):
        assert abs(one - other) > 20  # of 255: a step that a laser printer shows
    for phase, colour in PHASE_COLOURS[scheme].items():
        assert abs(greys[phase] - (255 if reads_dark(colour) else 33)) > 90


def grey(colour: str) -> float:
    """Luma of ITU-R BT.601, as a printer makes grey. [of 255]"""
    red, green, blue = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    return 0.299 * red + 0.587 * green + 0.114 * blue
