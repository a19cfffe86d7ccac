"""A page without the answer that its example is about: what `test_failures` asks of the study of everything."""

import dataclasses
import json
from pathlib import Path

from studies.answers.registry import ANSWERS
from studies.output.numbers import results_text
from studies.output.tables import tables
from studies.report.contents import write_report
from studies.report.figures import figure_set
from studies.report.terminal import summary
from studies.text.failures import Failure, collected
from tests.studies.solved_examples import of_examples
from tests.studies.test_failures import VERSIONS, WORDS, text_of

ELSEWHERE = {
    "survey": "survey_of_feeder",
    "shields": "least_shield",
    "remedies": "remedies_for_an_instrument",
    "shielding": "shielding_of_tray_and_plate",
    "space": "run_with_bend",
    "plates": "gland_plate",
    "net_currents": "net_current",
    "direct_currents": "direct_current_with_ripple",
}
"""Answers that the study of everything does not ask for, by key, and the example that does."""


@of_examples(sorted(set(ELSEWHERE.values())))
def test_a_page_without_the_answer_that_an_example_is_about_stumbles_over_nothing(solved):
    (key,) = [key for key, example in ELSEWHERE.items() if example == Path(solved.study.source_name).stem]
    (empty,) = [answer.empty for answer in ANSWERS if answer.key == key]
    assert getattr(solved, key) != empty
    got = dataclasses.replace(solved, **{key: empty}, failures=(Failure(key, WORDS),))
    with collected() as more:
        page = text_of(write_report(got, {}, VERSIONS))
        said = summary(got)
        document = json.loads(results_text(got))
        tables(got)
        figure_set(got)
    assert more == []
    assert document["failures"] == [{"what": key, "why": WORDS}]
    assert f"{key}: {WORDS}" in page
    assert f"{key}: {WORDS}" in " ".join(said.split())
