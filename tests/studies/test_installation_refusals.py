"""What is wrong with an installation is told by the command: exit status 2, every fault named, nothing computed."""

from pathlib import Path

import pytest
from ezdxf.addons.r12writer import r12writer

import studies
from studies.command import BAD_INPUT, main

EXAMPLES = Path(studies.__file__).parent / "examples"
BOND = '\n[[bonds]]\nparts = ["F2 screens"]\nkind = "cross-bonded"\n'
Change = tuple[str, str]


def refused(folder: Path, capsys: pytest.CaptureFixture[str], example: str, *changes: Change, more: str = "") -> str:
    """What is said to an example that was changed and has more tables; it must be refused and leave nothing behind."""
    text = (EXAMPLES / f"{example}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    (folder / "study.toml").write_text(text + more, encoding="utf-8")
    status = main(["run", str(folder / "study.toml"), "--out", str(folder / "results"), "--quiet"])
    said = capsys.readouterr()
    assert status == BAD_INPUT, said.err
    assert "Traceback" not in said.err
    assert said.out == ""
    assert not (folder / "results").exists()
    return said.err


def test_a_drawing_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = refused(tmp_path, capsys, "drawn_section")
    assert 'drawing → file = "drawn_section.dxf": ' in said
    assert "a file in" in said  # where it is looked for


def test_a_drawing_that_is_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "drawn_section.dxf").write_text("0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\nA\n10\nxx\n", encoding="ascii")
    assert "cannot be read as DXF" in refused(tmp_path, capsys, "drawn_section")


def test_layers_without_circles_are_all_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with r12writer(str(tmp_path / "drawn_section.dxf")) as drawing:
        drawing.add_circle((0, 12), 12.24, layer="PHASE-2")
        drawing.add_line((0, 0), (100, 0), layer="PHASE-1")
    said = refused(tmp_path, capsys, "drawn_section")
    for layer in ("PHASE-1", "PHASE-3"):
        assert f'"{layer}": is a layer without circles' in said
    assert 'one of "PHASE-2"' in said  # what there is


def test_circles_of_another_size_are_all_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with r12writer(str(tmp_path / "drawn_section.dxf")) as drawing:
        for k in range(3):
            drawing.add_circle((60 * k, 12), 10 + 5 * k, layer=f"PHASE-{k + 1}")
    said = refused(tmp_path, capsys, "drawn_section")
    for k in range(3):
        assert f'"PHASE-{k + 1}": contains a circle of diameter {20 + 10 * k} mm' in said
    assert "24.48 mm" in said


def test_a_layer_without_outline(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with r12writer(str(tmp_path / "drawn_section.dxf")) as drawing:
        for k in range(3):
            drawing.add_circle((60 * k, 12.24), 12.24, layer=f"PHASE-{k + 1}")
        drawing.add_polyline_2d([(-50, -2), (50, -2), (-50, -5), (50, -5)], layer="PIPE", closed=True)
    said = refused(tmp_path, capsys, "drawn_section")
    assert 'metalwork "tray" → layer = "TRAY": is a layer without closed outlines' in said
    assert "must not cross or touch itself" in said


def test_a_cover_on_the_cables(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    low = ('inside_height = "80 mm"', 'inside_height = "18 mm"')
    said = refused(tmp_path, capsys, "tray_with_lips_and_loose_cover", low)
    for position in (1, 2, 3):
        # the cables' top is at 24.48 mm, the cover's underside at 21 mm
        assert f'circuits "F1" cable {position} and trays "T1.cover": overlap by 3.48 mm' in said


def test_a_divider_in_a_cable(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = refused(tmp_path, capsys, "divided_tray", ('dividers = ["0 mm"]', 'dividers = ["75 mm"]'))
    assert 'circuits "F2" cable' in said
    assert 'and trays "T1": overlap by' in said


def test_metalwork_through_a_tray(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bar = (
        '\n[[metalwork]]\nname = "bar"\nshape = "rectangle"\nat = ["150 mm", "0 mm"]\nwidth = "60 mm"\n'
        'height = "10 mm"\nmaterial = "copper"\n'
    )
    said = refused(tmp_path, capsys, "plate_tray", more=bar)
    assert 'trays "T1" and metalwork "bar": overlap by' in said


@pytest.mark.parametrize(
    ("rows", "wrong"),
    [
        ("H_A_per_m,B_T\n100,0.2\n200,0.8\n300,much\n400,1.1\n", "line 4 is not two numbers"),
        ("H_A_per_m,B_T\n100,0.2\n200,0.8\n150,0.9\n400,1.1\n", "150"),
        ("H_A_per_m,B_T\n100,0.2\n200,0.8\n", "three points"),
    ],
)
def test_a_curve_with_a_bad_row(tmp_path: Path, capsys: pytest.CaptureFixture[str], rows: str, wrong: str) -> None:
    (tmp_path / "steel.csv").write_text(rows, encoding="ascii")
    own = '\n[materials.measured]\nconductivity = "6 MS/m"\ncurve_file = "steel.csv"\n'
    said = refused(tmp_path, capsys, "plate_tray", ('"aluminium-5052"', '"measured"'), more=own)
    assert "materials.measured → curve_file" in said
    assert wrong in said


def test_a_reference_level_that_says_nothing_of_a_harmonic(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    levels = ('limit = "ICNIRP 2010 public"', 'limit = "IEC 61000-4-8 level 3"')
    said = refused(tmp_path, capsys, "harmonics_and_neutral", levels)
    assert "receptors[1]" in said
    assert "zones[1]" in said
    assert said.count("has no level at 150 Hz, at which currents flow") == 2


def test_a_cross_bond_of_a_circuit_that_cannot_be_transposed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    second = (
        '\n[[circuits]]\nname = "F2"\ncable = "mv"\narrangement = "flat"\nspacing = "70 mm"\n'
        'rests_at = ["0 mm", "300 mm"]\nphases = ["L1", "L2"]\ncurrent = "100 A"\n'
    )
    said = refused(tmp_path, capsys, "screens_single_point", more=second + BOND)
    assert "is cross-bonded with screens of F2, which has not one cable for each of L1, L2, L3" in said


def test_a_bond_by_the_earth_without_an_earth(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = refused(tmp_path, capsys, "earth_return", ('[earth]\nresistivity = "100 ohm*m"\nsurface = "0 m"\n', ""))
    assert "bonds[1] → earth = true: needs an earth, the study has none" in said


def test_a_cable_outside_of_its_conduit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = refused(
        tmp_path,
        capsys,
        "cable_in_each_conduit",
        ('rests_at = ["56 mm", "0 mm"]', 'rests_at = ["156 mm", "0 mm"]'),
    )
    assert 'circuits "F1" cable 3: outside every conduit, while other cables lie in one' in said
