"""Which published checks are run, and the record that is filed of them."""

import ast
import json
import shutil
from pathlib import Path

import pytest

import studies.verify
from studies.output.folder import FolderError, check_folder
from studies.verify import second_library
from studies.verify.record import RECORD, write_record
from studies.verify.registry import FAMILIES, UnknownCheckError, chosen_checks, list_of_checks
from tests.studies.test_verification import CHECKS, REFERENCE, SOUND, comparison, outcome

NAMES = ("verification.md", "verification.json")

# --- which are run --------------------------------------------------------------------------------------------------


def test_names_of_checks_and_of_families_choose_in_the_order_of_the_registry():
    assert [check.name for check in chosen_checks(["team-30a", "tube", "tube"])] == ["tube", "team-30a"]
    assert [check.name for check in chosen_checks(["shielding", "plate"])] == [
        *("cylinder", "plate", "plate-factor", "cylinder-about-pair", "pipe", "direct-current")
    ]
    assert chosen_checks() == tuple(check for family in FAMILIES for check in family.checks)


def test_an_unknown_name_is_refused_with_the_nearest_one():
    with pytest.raises(UnknownCheckError, match="'team30a'; did you mean 'team-30a'"):
        chosen_checks(["tube", "team30a"])
    with pytest.raises(UnknownCheckError, match=r"there are .*tube"):
        chosen_checks(["zzzz"])


def test_the_listing_names_every_check_and_family():
    lines = list_of_checks().splitlines()
    assert [line for line in lines if not line.startswith(" ")] == [family.name for family in FAMILIES]
    assert [line.split()[0] for line in lines if line.startswith(" ")] == [check.name for check in CHECKS]


def test_no_check_imports_the_tests():
    for path in Path(studies.verify.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not [name for name in names if name.split(".")[0] == "tests"], path.name


def test_the_embedded_values_of_the_second_library_are_those_of_its_solution():
    stored = json.loads(REFERENCE.read_text(encoding="utf-8"))
    case = stored["cases"]["flat_steel_channel"]
    assert stored["library"] == {"ngsolve": "6.2.2608"}
    names = dict(zip((part["name"] for part in case["parts"]), second_library.LOSSES, strict=True))
    for part in case["parts"]:
        assert second_library.LOSSES[names[part["name"]]] == part["loss_w_per_m"]
        assert second_library.VOLTAGES[names[part["name"]]] == complex(*part["voltage_v_per_m"])
    fields = {(point["x_m"], point["y_m"]): point["b_rms_t"] for point in case["points"]}
    assert {place: fields[place] for place in second_library.FIELDS} == second_library.FIELDS


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_same_outcomes_give_the_same_bytes(tmp_path):
    write_record(SOUND, tmp_path / "a" / "b")
    first = files(tmp_path / "a" / "b")
    write_record(SOUND, tmp_path / "a" / "b")
    assert files(tmp_path / "a" / "b") == first
    assert set(first) == set(NAMES)


def test_other_files_of_the_folder_stay(tmp_path):
    (tmp_path / "report.html").write_text("report", encoding="utf-8")
    write_record(SOUND, tmp_path)
    assert files(tmp_path)["report.html"] == b"report"
    assert set(files(tmp_path)) == {"report.html", *NAMES}


@pytest.mark.parametrize("earlier", [True, False])
def test_a_record_that_cannot_be_finished_leaves_the_folder_as_it_was(earlier, tmp_path, monkeypatch):
    folder = tmp_path / "deep" / "record"
    if earlier:
        write_record([outcome(comparison(computed=99.5))], folder)
        before = files(folder)
    replace = Path.replace

    def stops(self: Path, target: Path) -> Path:
        if self.name == NAMES[1] and target.parent == folder and self.parent.name != "earlier":
            raise OSError("disk full")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", stops)
    with pytest.raises(FolderError, match="disk full"):
        write_record(SOUND, folder)
    kept = folder / "new files"  # nothing that was computed is lost
    assert sorted(files(kept)) == sorted(NAMES)
    shutil.rmtree(kept)
    assert files(folder) == (before if earlier else {})


def test_a_record_in_a_results_folder_repairs_the_run_that_was_killed_there(tmp_path):
    whole = tmp_path / ".in-use" / "whole"
    whole.mkdir(parents=True)
    (whole / "results.json").write_text('{"schema": 1, "files": []}')
    write_record(SOUND, tmp_path)
    assert sorted(files(tmp_path)) == sorted(("results.json", *NAMES))


def test_a_file_that_no_record_wrote_is_kept_under_another_name(tmp_path):
    (tmp_path / NAMES[0]).write_text("mine")
    write_record(SOUND, tmp_path)
    assert files(tmp_path)["verification (kept).md"] == b"mine"


def test_places_that_cannot_hold_a_record_are_refused(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    (tmp_path / "loose").symlink_to(tmp_path / "nowhere")
    for place, said in (
        (tmp_path / "file", "is a file"),
        (tmp_path / "file" / "below", "is a file"),
        (tmp_path / "loose", "link to nothing"),
    ):
        with pytest.raises(FolderError, match=said):
            check_folder(place, RECORD)
    monkeypatch.setattr("os.access", lambda *_: False)
    with pytest.raises(FolderError, match="no permission"):
        check_folder(tmp_path / "new", RECORD)
