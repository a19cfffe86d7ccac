"""Templates of new study files: short, each answers its question."""

import pytest

from studies import options
from studies.compare.plan import plan_of
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from studies.study.starter import TEMPLATES, question


def solved(name: str) -> Result:
    return run(loads(f'{TEMPLATES[name]}\n[accuracy]\ntolerance = "20 %"\n'))


def test_the_command_offers_the_templates_that_exist() -> None:
    assert tuple(TEMPLATES) == options.TEMPLATES


@pytest.mark.parametrize("name", TEMPLATES)
def test_a_template_is_short_says_its_question_and_is_sound_in_every_case(name: str) -> None:
    assert len(TEMPLATES[name].splitlines()) < 55
    assert question(name).endswith("?")
    assert max(map(len, TEMPLATES[name].splitlines())) <= 125
    assert plan_of(TEMPLATES[name]).cases


def test_the_template_of_an_instrument_judges_it() -> None:
    (receptor,) = solved("instrument").receptors
    assert receptor.within_limit is False


def test_the_template_of_losses_has_those_of_screens_and_tray() -> None:
    result = solved("losses")
    assert min(result.loss_total(kind) for kind in ("conductor", "screen", "tray")) > 0


def test_the_template_of_sharing_finds_a_better_order() -> None:
    search = solved("sharing").order_search
    assert search is not None
    assert search.best[0].value < search.today.value


def test_the_template_of_a_transposed_run_has_drop_and_unbalance() -> None:
    route = solved("transposed").route
    assert route is not None
    assert all(circuit.delivered is not None for circuit in route.circuits)


def test_the_template_of_harmonics_judges_the_sum_over_frequencies() -> None:
    (receptor,) = solved("harmonics").receptors
    assert receptor.within_limit is True


def test_the_template_of_a_fault_has_a_force_on_each_cleat() -> None:
    faults = solved("fault").faults
    assert faults
    assert all((each.force_per_cleat_n or 0) > 0 for each in faults)
