"""Direct currents: lines, metal that does nothing, a steel tube against the exact field, sharing, and every cell."""

import dataclasses
import math
import re
from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from fem.constants import mu_0
from studies.answers.answers import Answers
from studies.answers.direct_currents.compute import direct_field, static_solution
from studies.answers.direct_currents.rows import DirectCurrents
from studies.answers.direct_currents.words import direct_current_alarms
from studies.answers.losses.doubtful_currents import doubtful_currents, stated_currents
from studies.compare.words import left_out_line, net_current_line
from studies.result import Result
from studies.section.cross_section import cross_section
from studies.solve.solution import Solution
from studies.study.direct_currents import direct_phase_currents
from studies.study.reading import loads
from tests.studies.cells import FLUX, LOSS, Known, err, num, off, words
from tests.studies.coarse_meshes import coarse_meshes
from tests.studies.solved_examples import of_examples

EXAMPLE = "direct_current_with_ripple"
PIPE = """
[materials.tube]
conductivity = "CONDUCTIVITY"
relative_permeability = PERMEABILITY

[[metalwork]]
name = "pipe"
shape = "tube"
at = ["0 m", "0 m"]
outside_diameter = "100 mm"
thickness = "5 mm"
material = "tube"
"""
PAIR = """title = "Two cables"
frequency = "300 Hz"

[cables.c]
conductor = { material = "copper", area = "95 mm^2", temperature = "20 degC" }
insulation = "1.5 mm"

[[circuits]]
name = "B1"
cable = "c"
arrangement = "positions"
positions = [["-10 mm", "0 mm"], ["10 mm", "0 mm"]]
phases = ["L1", "L2"]
current = "0 A"
direct_current = "100 A"

[[receptors]]
name = "bench"
at = ["0.6 m", "0.8 m"]

[accuracy]
tolerance = "5 %"
"""
LINES = mu_0 * 100 * 0.02 / (2 * math.pi)
"""Field of the pair at 1 m, next term (10 mm/1 m)^2 = 1e-4. [T]"""


def solved_static(text: str) -> Solution:
    study = loads(text)
    with coarse_meshes():
        return static_solution(study, cross_section(study))


def field(text: str) -> float:
    return float(np.linalg.norm(solved_static(text).estimate.now.receptors[0]))


def pipe(conductivity: str, permeability: float) -> str:
    return PAIR + PIPE.replace("CONDUCTIVITY", conductivity).replace("PERMEABILITY", f"{permeability}")


def test_one_direct_current_goes_and_returns_and_a_table_has_signs() -> None:
    assert direct_phase_currents(("L1", "L2"), 100.0) == {"L1": 100, "L2": -100}
    assert direct_phase_currents(("N", "L1", "PE"), 100.0) == {"N": -100, "L1": 100, "PE": 0}
    assert direct_phase_currents(("L1", "L2", "N"), {"L1": 50.0, "L2": -30.0}) == {"L1": 50, "L2": -30, "N": -20}
    assert direct_phase_currents(("L1", "L2"), None) == {"L1": 0, "L2": 0}


def test_a_pair_has_the_field_of_lines_and_the_loss_of_its_resistance() -> None:
    found = solved_static(PAIR)
    b = found.estimate.now.receptors[0]
    assert np.linalg.norm(b) == pytest.approx(LINES, rel=5e-4)
    assert np.abs(b.imag).max() < 1e-9 * LINES
    # go at -10 mm, return at +10 mm: mu0 I d/(2 pi r^2) (sin 2t, -cos 2t) at the angle t [D]
    assert b.real == pytest.approx(LINES * np.array([2 * 0.6 * 0.8, 0.8**2 - 0.6**2]), rel=2e-3)
    resistances = [part.dc_resistance for part in found.section.parts]
    assert found.solved.losses.total == pytest.approx(1e4 * np.array(resistances), rel=1e-3)


def test_a_static_field_is_judged_with_its_error() -> None:
    found = solved_static(PAIR)
    bench = loads(PAIR).receptors[0]
    row = direct_field(found, bench)
    for more, within in ((0.5, False), (2.0, True)):
        limit = row.b_t + more * row.b_error_t
        assert direct_field(found, bench.model_copy(update={"static_limit": limit})).within_limit is within
    assert row.within_limit is None
    assert row.b_error_t > 0
    assert row.line_formula_b_t == pytest.approx(row.b_t, rel=5e-4)


def test_metal_that_is_not_magnetic_does_nothing_and_a_steel_tube_shields_as_the_exact_field_says() -> None:
    assert field(pipe("58 MS/m", 1)) == pytest.approx(LINES, rel=5e-4)
    mu, ratio = 200.0, 45 / 50
    # of a dipole in a tube, 4 mu/((mu + 1)^2 - (mu - 1)^2 (a/b)^2) is left outside, as of a uniform field within [D]
    left = 4 * mu / ((mu + 1) ** 2 - (mu - 1) ** 2 * ratio**2)
    assert field(pipe("6 MS/m", mu)) == pytest.approx(LINES * left, rel=3e-3)


def test_a_static_field_that_may_disturb_implants_is_told() -> None:
    row = direct_field(solved_static(PAIR), loads(PAIR).receptors[0])
    for field, told in ((0.49e-3, False), (0.51e-3, True)):
        found = DirectCurrents((dataclasses.replace(row, b_t=field, b_error_t=0.0),), (), 0.0, "")
        lines = direct_current_alarms(cast(Answers, SimpleNamespace(direct_currents=found)))
        assert any("“bench” is above 0.5 mT: pacemakers" in line for line in lines) is told


def test_a_comparison_says_that_it_is_without_direct_and_with_net_currents() -> None:
    study = loads(PAIR)
    assert left_out_line(study) == "All numbers compared are without direct currents, limits included."
    net = study.with_({"circuits.B1.net_current": {"share": "1 %"}})
    assert net_current_line(study, transposed=True) == ""
    told = "Fields and limits are with net currents at the worst angle{}; losses and impedances are without them."
    assert net_current_line(net, transposed=False) == told.format("")
    assert net_current_line(net, transposed=True) == told.format(", but for transposed cases")
    assert left_out_line(study.with_({}, remove=["circuits.B1.direct_current"])) == ""


def test_a_doubtful_direct_current_is_told_before_the_solve() -> None:
    study = loads(PAIR.replace('direct_current = "100 A"', 'direct_current = "900 A"').replace('"0 A"', '"120 A"'))
    section = cross_section(study)
    totals = stated_currents(study, section)
    assert totals == pytest.approx(dict.fromkeys(("B1.1.conductor", "B1.2.conductor"), math.hypot(900, 120)))
    assert len(doubtful_currents(study, section, totals)) == 2  # 95 mm2 are doubted from 670 A on


def test_parallel_cables_share_a_direct_current_by_their_resistances_alone() -> None:
    more = 'positions = [["-10 mm", "0 mm"], ["10 mm", "0 mm"], ["60 mm", "0 mm"]]'
    text = PAIR.replace('positions = [["-10 mm", "0 mm"], ["10 mm", "0 mm"]]', more).replace('"L2"]', '"L2", "L2"]')
    currents = solved_static(text).solved.drive.currents
    assert currents == pytest.approx([100, -50, -50], rel=1e-3)  # whatever lies nearer to the go


@of_examples([EXAMPLE])
def test_direct_current_and_ripple_of_the_example_are_judged_apart(solved: Result) -> None:
    found = solved.direct_currents
    assert found is not None
    microscope, aisle = found.fields
    assert [entry.within_limit for entry in solved.receptors] == [True]
    assert microscope.within_limit is False
    assert solved.exceeded_elsewhere() == (microscope,)
    assert "above its limit: microscope" in repr(solved)
    assert aisle.limit_t == 0.5e-3
    assert aisle.limit_name == "EU 2013/35/EU implants"
    assert solved.receptors[0].b_rms_t < 0.05 * microscope.b_t  # the ripple alone
    first, _, total = found.conductors
    assert first.total_rms_a == pytest.approx(math.hypot(500, 24))
    assert first.direct_loss_w_per_m == pytest.approx(first.formula_direct_loss_w_per_m, rel=1e-3)
    alternating = sum(loss.loss_w_per_m for loss in solved.losses)
    assert total.total_loss_w_per_m == pytest.approx(alternating + 2 * first.direct_loss_w_per_m, rel=1e-6)


def page_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=False)


def _tables(result: Result, full: bool) -> Iterator[Known]:
    found = result.direct_currents
    if found is None:
        return
    columns = (
        words("Place", lambda row: row.name),
        num("Static field", FLUX, lambda row: row.b_t),
        *([err(FLUX, lambda row: row.b_error_t)] if full else []),
        *([num("Across", FLUX, lambda row: row.bx_t), num("Up", FLUX, lambda row: row.by_t)] if full else []),
        num("Formula", FLUX, lambda row: row.line_formula_b_t),
        *([num("Difference", "%", lambda row: off(row.line_formula_b_t, row.b_t))] if full else []),
        num("Limit", FLUX, lambda row: row.limit_t),
        *([words("Level", lambda row: row.limit_name or "–")] if full else []),
        words("Verdict", lambda row: verdict(row) if full else re.compile(rf"(! )?{verdict(row)}$")),
    )
    yield Known("Static flux density of direct currents", found.fields, columns)
    formula = "formula_direct_loss_w_per_m"
    columns = (
        words("Part", lambda row: row.part),
        words("Phase", lambda row: row.phase or "–"),
        num("Direct current", "A", lambda row: row.direct_current_a),
        *([num("Alternating, rms", "A", lambda row: row.current_rms_a)] if full else []),
        num("Total, rms", "A", lambda row: row.total_rms_a),
        num("Direct loss", LOSS, lambda row: row.direct_loss_w_per_m),
        *([err(LOSS, lambda row: row.direct_loss_error_w_per_m)] if full else []),
        *([num("Formula", LOSS, lambda row: getattr(row, formula))] if full else []),
        *([num("Difference", "%", lambda row: off(getattr(row, formula), row.direct_loss_w_per_m))] if full else []),
        *([num("Alternating loss", LOSS, lambda row: row.loss_w_per_m)] if full else []),
        num("Total loss", LOSS, lambda row: row.total_loss_w_per_m),
        *([err(LOSS, lambda row: row.total_loss_error_w_per_m)] if full else []),
    )
    yield Known("Currents and losses with direct currents", found.conductors, columns)


def verdict(row: Any) -> str:
    over = "above the limit" if row.b_t > row.limit_t else "limit within the error"
    return "within the limit" if row.within_limit else over


def leads(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    found = result.direct_currents
    if found is None:
        return
    above = [f"“{row.name}”" for row in found.fields if row.within_limit is False]
    if above:
        yield f"Static field of the direct currents above its limit: {', '.join(above)}.", ()
    bare = [row for row in found.fields if row.within_limit and row.line_formula_b_t > (row.limit_t or math.inf)]
    if bare:
        names = ", ".join(f"“{row.name}”" for row in bare)
        yield f"Static field within its limit only if steel keeps its permeability: {names}.", ()
    high = [f"“{row.name}”" for row in found.fields if row.b_t + row.b_error_t > 0.5e-3]
    if high:
        yield f"The static field at {', '.join(high)} is above 0.5 mT: pacemakers and other implants{{*}}", ()


def sentences(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    found = result.direct_currents
    if found is not None and found.net_direct_current_a > 1:
        yield "Direct currents do not sum to zero: {A} are taken to return far away.", (found.net_direct_current_a,)
