"""A check of the verification can fail, and says so."""

from __future__ import annotations

import math

import numpy as np
import pytest

from studies.verify import induction_machine, installed_run, second_library
from studies.verify.checks import Check, Checked, CheckError, failures, run_checks
from studies.verify.registry import chosen_checks
from studies.verify.table import markdown, terminal_text, verdict_of_checks, verification_document
from tests.studies.test_verification import SOFTWARE, comparison, outcome, plausibility, quiet


@pytest.mark.parametrize(
    ("change", "passes"),
    [
        ({}, True),
        ({"computed": 102.0}, True),  # on the edge
        ({"computed": 102.1}, False),
        ({"computed": 97.9}, False),
        ({"computed": 98.0}, True),
        ({"computed": math.nan}, False),
        ({"computed": math.inf}, False),
        ({"published": -100.0}, False),
        ({"computed": 200.0}, False),
        ({"published": 0.0, "computed": 0.01}, True),  # as it stands where the published value is 0
        ({"published": 0.0, "computed": 0.03}, False),
        ({"computed": 103.0, "scale": 200.0}, True),
        ({"computed": 103.0, "scale": 100.0}, False),
    ],
)
def test_a_comparison_passes_within_its_tolerance_on_both_sides_only(change, passes):
    assert comparison(**change).passed is passes


@pytest.mark.parametrize(("computed", "passes"), [(7e-5, True), (9e-5, True), (6.9e-5, False), (math.nan, False)])
def test_a_plausible_number_lies_in_its_band(computed, passes):
    assert plausibility(computed=computed).passed is passes


@pytest.mark.parametrize(
    ("module", "name", "value", "check", "failing"),
    [
        (induction_machine, "DENSITY", 3.11e6, "team-30a", 4),  # 0.3 % more current
        (induction_machine, "FREQUENCY", 60.2, "team-30a", 2),  # torque and voltage; the loss is near its greatest
        (second_library, "STUDY", second_library.STUDY.replace("= 300", "= 310"), "second-library", 6),
        (installed_run, "PERMITTED", 80.1, "permitted-current", 3),
        (installed_run, "LAID", 3.2e-3, "laying-tolerance", 1),
        (second_library, "LOSSES", second_library.LOSSES | {"T1": 4.18}, "second-library", 1),
    ],
)
def test_a_small_change_of_the_problem_is_seen(module, name, value, check, failing, monkeypatch):
    monkeypatch.setattr(module, name, value)
    assert len(failures(run_checks(chosen_checks([check]), quiet))) >= failing


def test_a_check_that_cannot_be_computed_is_named():
    def broken() -> tuple[Checked, ...]:
        raise np.linalg.LinAlgError("singular matrix")

    with pytest.raises(CheckError, match="'bad' could not be computed: singular matrix"):
        run_checks([Check("bad", "Bad", broken)], quiet)


def test_a_slip_of_the_code_is_not_taken_for_a_numerical_failure():
    def broken() -> tuple[Checked, ...]:
        raise KeyError("slip")

    with pytest.raises(KeyError):
        run_checks([Check("bad", "Bad", broken)], quiet)


def test_a_failure_is_named_everywhere():
    failed = [outcome(comparison(), comparison(quantity="gain", computed=105.0), plausibility(computed=1e-4))]
    assert "FAILED  sample: gain (elements)" in terminal_text(failed)
    assert (
        "1 of 2 numbers within their tolerance (2 published, 0 own method), 0 of 1 inside their plausible band"
        in verdict_of_checks(failed)
    )
    assert "FAILED  sample: X (formula)" in markdown(failed, SOFTWARE)
    assert verification_document(failed, SOFTWARE)["passed"] is False
    assert [line.split()[-1] for line in terminal_text(failed).splitlines() if line.startswith("gain")] == ["FAIL"]
