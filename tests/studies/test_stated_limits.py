"""Limits as stated: values of single tones and of waves, weighted peak, refusals, and every cell."""

import math
import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from fem.arrays import Complexes
from fem.polarisation import axes
from studies.answers.stated_limits.compute import weight
from studies.answers.stated_limits.rows import StatedLimitResult
from studies.answers.stated_limits.waveform import BETWEEN, Tone, field_value
from studies.command import main
from studies.data.reference_levels import reference_level
from studies.result import Result
from tests.studies.cells import FLUX, Known, err, num, off, words
from tests.studies.solved_examples import EXAMPLES, of_examples

EXAMPLE = "limits_as_stated"
PUBLIC = "ICNIRP 2010 public"
UNITLESS = ("–", "")
LINE = np.array([0.6, 0.8]) * np.exp(0.7j)
"""A field of 1 T along one line."""
ROUND = np.array([1.0, 1.0j])
"""A field of 1 T that turns, sqrt 2 T in all."""


def page_tables(result: Result) -> Iterator[Known]:
    if result.stated_limits:
        yield _table(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    if result.stated_limits:
        yield _table(result, full=False)


def leads(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    above = [f"“{row.name}”" for row in result.stated_limits if not row.within_limit]
    if above:
        yield f"Above the limit in the terms in which it is stated: {', '.join(above)}.", ()


def _table(result: Result, full: bool) -> Known:
    columns = (
        words("Limit of", lambda row: row.name),
        *([words("Receptor", lambda row: row.receptor)] if full else []),
        words("Terms", terms),
        num("Field", FLUX, lambda row: row.b_t),
        *([err(FLUX, lambda row: row.b_error_t)] if full else []),
        num("Limit", FLUX, lambda row: row.limit_t),
        num("Field/limit", UNITLESS, lambda row: row.index),
        *([err(UNITLESS, lambda row: row.index_error)] if full else []),
        *([num("Formula", UNITLESS, lambda row: row.formula_index)] if full else []),
        *([num("Difference", "%", lambda row: off(row.formula_index, row.index))] if full else []),
        words("Verdict", lambda row: verdict(row) if full else re.compile(rf"(! )?{verdict(row)}$")),
    )
    return Known("Limits as stated", result.stated_limits, columns)


def terms(row: StatedLimitResult) -> str:
    found = "weighted peak" if row.value == "weighted peak" else f"{row.value}, {row.component}"
    found += f", {row.limit_name}" if row.limit_name else ""
    found += f", {row.low_hz:g} to {row.high_hz:g} Hz" if row.low_hz else ""
    phases = {"worst": ", worst phases", "as stated": ", phases as stated"}[row.phases]
    return found if row.value == "rms" else found + phases


def verdict(row: StatedLimitResult) -> str:
    over = "above the limit" if row.index > 1 else "limit within the error"
    return "within the limit" if row.within_limit else over


def tone(field: Complexes, frequency: float = 50.0, base: float = 50.0) -> Tone:
    return Tone(frequency, base, field)


def test_a_sine_along_a_line_has_a_peak_of_sqrt_2_and_is_2_sqrt_2_from_peak_to_peak() -> None:
    for component in ("resultant", "major axis"):
        values = [field_value([tone(LINE)], value, component) for value in ("rms", "peak", "peak to peak")]
        # 1 - cos of an eighth of a degree: the worst of 720 directions
        assert values == pytest.approx([1, math.sqrt(2), 2 * math.sqrt(2)], rel=3e-6)
    for component, share in (("x", 0.6), ("y", 0.8)):
        values = [field_value([tone(LINE)], value, component) for value in ("rms", "peak", "peak to peak")]
        assert values == pytest.approx([share, share * math.sqrt(2), share * 2 * math.sqrt(2)], rel=1e-12)


def test_a_field_that_turns_has_the_peak_of_its_major_axis() -> None:
    field = np.array([1.0, 0.3 + 0.8j])
    major = float(axes(field)[0])
    assert field_value([tone(ROUND)], "rms", "resultant") == pytest.approx(math.sqrt(2))
    assert field_value([tone(ROUND)], "peak", "resultant") == pytest.approx(math.sqrt(2))
    assert field_value([tone(field)], "rms", "major axis") == pytest.approx(major, rel=1e-12)
    assert field_value([tone(field)], "peak", "resultant") == pytest.approx(math.sqrt(2) * major, rel=3e-6)


def test_a_fundamental_and_twice_its_frequency_in_step_have_the_wave_of_the_textbook() -> None:
    share = 0.5  # cos t + b cos 2t: crest 1 + b at 0, trough -b - 1/(8 b) where cos t = -1/(4 b)
    field: Complexes = np.array([1, 0], dtype=np.complex128)
    wave = [tone(field), tone(share * field, 100.0)]
    high, low = 1 + share, -share - 1 / (8 * share)
    rel = BETWEEN
    assert field_value(wave, "peak", "x") == pytest.approx(math.sqrt(2) * high, rel=rel)
    assert field_value(wave, "peak to peak", "x") == pytest.approx(math.sqrt(2) * (high - low), rel=rel)
    assert field_value(wave, "peak", "resultant") == pytest.approx(math.sqrt(2) * high, rel=rel)
    assert field_value(wave, "rms", "x") == pytest.approx(math.hypot(1, share))
    turned = [tone(field), tone(-share * field, 100.0)]  # the crest becomes the trough: the peak is its magnitude
    assert field_value(turned, "peak", "x") == pytest.approx(math.sqrt(2) * max(high, -low), rel=rel)


def test_tones_out_of_step_are_at_the_worst_phase_to_each_other() -> None:
    rng = np.random.default_rng(4)
    first, second = np.asarray(rng.normal(size=(2, 2)) + 1j * rng.normal(size=(2, 2)), dtype=complex)
    found = field_value([tone(first), tone(second, 60.0, 60.0)], "peak", "resultant")
    phase = np.exp(2j * np.pi * np.arange(400) / 400)
    one, other = (math.sqrt(2) * np.real(np.outer(phase, field)) for field in (first, second))
    brute = np.linalg.norm(one[:, None] + other[None], axis=2).max()  # any instant of one with any of the other
    assert found == pytest.approx(brute, rel=1e-4)
    along = field_value([tone(first), tone(second, 60.0, 60.0)], "peak to peak", "y")
    assert along == pytest.approx(2 * math.sqrt(2) * (abs(first[1]) + abs(second[1])))


def test_the_worst_direction_of_an_rms_value_is_that_of_all_frequencies_together() -> None:
    rng = np.random.default_rng(5)
    fields = np.asarray(rng.normal(size=(3, 2)) + 1j * rng.normal(size=(3, 2)), dtype=complex)
    angle = np.linspace(0, np.pi, 20001)
    along = fields @ np.stack([np.cos(angle), np.sin(angle)])
    brute = math.sqrt((np.abs(along) ** 2).sum(axis=0).max())
    tones = [tone(field, 50.0 * k) for k, field in enumerate(fields, 1)]
    assert field_value(tones, "rms", "major axis") == pytest.approx(brute, rel=1e-7)


@pytest.mark.parametrize("frequency", [5.0, 16.7, 50.0, 250.0, 1000.0, 9000.0])
def test_the_weighted_peak_of_one_tone_is_field_over_level(frequency: float) -> None:
    level = reference_level(PUBLIC, frequency).value_t
    weighted = tone(3e-5 * LINE * weight(PUBLIC, frequency), frequency, frequency)
    assert field_value([weighted], "peak", "resultant") == pytest.approx(3e-5 / level, rel=3e-6)


def test_the_weight_turns_by_a_quarter_turn_for_each_power_of_the_frequency() -> None:
    # the level falls as 1/f^2, 1/f, stays, falls, stays: a filter of that gain leads by 180, 90, 0, 90, 0 degrees [D]
    angles = [math.degrees(np.angle(weight(PUBLIC, f))) for f in (5.0, 16.7, 100.0, 1000.0, 9000.0)]
    assert angles == pytest.approx([180, 90, 0, 90, 0], abs=1e-9)


@of_examples([EXAMPLE])
def test_the_fields_of_the_example_are_those_of_its_limits(solved: Result) -> None:
    horizontal, vertical, above, persons = solved.stated_limits
    first = solved.receptors[0]
    assert horizontal.b_t == pytest.approx(2 * math.sqrt(2) * abs(first.bx_t), rel=1e-12)  # 50 Hz alone is in the band
    assert vertical.b_t == pytest.approx(2 * math.sqrt(2) * abs(first.by_t), rel=1e-12)
    fields = [solution.estimate.now.receptors for solution in solved.solutions]
    assert above.b_t is not None
    majors = math.hypot(*(float(axes(field[0])[0]) for field in fields[1:]))
    assert 0.9 * majors < above.b_t <= majors * (1 + 1e-12)  # both have nearly one direction
    # second way: the phases of 50, 250 and 350 Hz in time, below 400 Hz one level and no turn
    time = np.linspace(0, 0.02, 20001)
    wave = sum(
        np.real(np.outer(np.exp(2j * np.pi * s.frequency * time), field[1]))
        for s, field in zip(solved.solutions, fields, strict=True)
    )
    assert persons.index == pytest.approx(np.linalg.norm(wave, axis=1).max() / 200e-6, rel=1e-3)
    ratios = sum(part.b_rms_t for part in solved.receptors[1].spectrum) / 200e-6
    assert persons.index < ratios  # the sum of ratios takes the worst phases
    assert all(row.within_limit for row in solved.stated_limits)
    assert horizontal.formula_b_t == pytest.approx(horizontal.b_t, rel=0.02)  # proximity of touching cables


def test_a_limit_that_is_not_kept_is_told_and_fails_the_command_if_asked(
    tmp_path: Any, capsys: pytest.CaptureFixture[str], unrendered: None
) -> None:
    study = tmp_path / "s.toml"
    text = (EXAMPLES / f"{EXAMPLE}.toml").read_text(encoding="utf-8")
    study.write_text(text.replace('limit = "400 nT"', 'limit = "100 nT"', 1).replace('"1 %"', '"20 %"'))
    assert main(["run", str(study), "--out", str(tmp_path / "o"), "--fail-over-limit"]) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "Above its limit: microscope, horizontal." in said
    assert "2.1" in said.partition("microscope, horizontal")[2]
