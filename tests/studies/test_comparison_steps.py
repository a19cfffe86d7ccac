"""Steps from a solution to its results, each by itself: verdicts at a limit, scaled currents, a fault that fails."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from studies.answers.faults import compute as faults
from studies.answers.limits.compute import judge
from studies.answers.route.compute import _without_numbers
from studies.answers.route.maps import formula_maps, phase_currents_of
from studies.answers.route.run import run_of
from studies.answers.steel.compute import scaled
from studies.section.cross_section import cross_section
from studies.section.lines import RunSection
from studies.section.places import FOLLOWED
from studies.study.reading import loads
from studies.text.failures import collected
from tests.studies.sound_study import GOOD


@pytest.mark.parametrize(
    ("magnitudes", "errors", "within"),
    [
        ([0.98e-6], [0.019e-6], True),
        ([0.98e-6], [0.021e-6], False),  # the error counts against the limit
        ([0.6e-6, 0.78e-6], [0.0, 0.0], True),  # sqrt(0.36 + 0.6084) = 0.984
        ([0.6e-6, 0.8e-6], [0.005e-6, 0.005e-6], False),  # 1 and (0.6 + 0.8) * 0.005
    ],
)
def test_a_flux_density_and_its_error_stay_at_or_under_the_limit(
    magnitudes: list[float], errors: list[float], within: bool
) -> None:
    found = judge(1e-6, [50.0, 150.0][: len(magnitudes)], magnitudes, errors)
    assert (found.within, found.limit_t, found.limit_name, found.exposure_index) == (within, 1e-6, None, None)


def test_all_currents_of_a_cross_section_are_scaled() -> None:
    section = cross_section(loads(GOOD, "feeder.toml"))
    found = scaled(section, 2.5)
    assert [phase.current for phase in found.phases] == [2.5 * phase.current for phase in section.phases]
    assert [tie.current for tie in found.ties] == [2.5 * tie.current for tie in section.ties]
    assert abs(found.phases[0].current) == pytest.approx(1000.0)


def test_a_fault_whose_forces_fail_costs_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    two = '[[faults]]\npeak_current = "10 kA"\n[[faults]]\npeak_current = "20 kA"\n'
    study = loads(GOOD + two, "feeder.toml")

    def second(entry: Any, lines: object, of: object) -> object:
        if entry is study.faults[0]:
            raise ArithmeticError("no force")
        return entry

    for name, stub in (("fault_fields", None), ("_fields", None), ("_stated", second)):
        monkeypatch.setattr(faults, name, stub or (lambda *arguments: None))
    solution: Any = SimpleNamespace(section=None)
    with collected() as failures:
        found = faults.stated_faults(study, solution, lambda message: None)
    assert list(map(id, found)) == [id(study.faults[1])]
    assert [failure.what for failure in failures] == ["forces of a fault in F1"]


def test_closed_forms_of_a_run_that_fail_leave_its_lines_and_no_number() -> None:
    study = loads(GOOD + '[[route]]\nlength = "30 m"\n[supply]\nvoltage = "400 V"\n', "feeder.toml")
    section = cross_section(study)
    maps = formula_maps(section, 1000.0, np.array([[1.5, 0.5]]), FOLLOWED)
    run = run_of(study, ["F1"], phase_currents_of(section), (RunSection(30.0, maps),), (), maps)
    found = _without_numbers(run)
    assert (found.lines, found.route, found.run_sections) == (run.lines, run.route, run.run_sections)
    assert np.isnan(found.drops).all()
    assert np.isnan(found.flow.currents).all()
    assert np.isnan(found.impedances["F1"]).all()
    assert found.profiles.keys() == run.profiles.keys()
