"""Page one holds what must be signed for: rows go to the next page in a fixed order, never a bad verdict."""

from typing import Any

import pytest

from studies.answers.sheet_row import SheetRow
from studies.report.page_one import Split, split_rows
from studies.report.terminal import summary
from tests.studies.everything_asked import solve_everything

GOOD = [SheetRow(f"Field at “desk {k}”", "1 µT", "2 µT", 0.5, "within the limit", "good") for k in range(30)]
BAD = [
    SheetRow(f"Field at “lab {k}”", "3 µT", "2 µT", "1.5 times the limit", "above the limit", "bad") for k in range(9)
]
OTHERS = [SheetRow(f"Loss {k}", "4 W") for k in range(12)]


def split(rows: list[SheetRow], **given: Any) -> Split:
    usual: dict[str, Any] = {"title": "Feeder", "facts": (), "leads": ("All within.",), "circuits": 1}
    return split_rows(rows, **{**usual, "cautions": ("Measure after installation.",) * 8, **given})


def test_a_small_sheet_is_whole() -> None:
    found = split([*GOOD[:3], *OTHERS[:5]])
    assert (found.judged, found.others) == (GOOD[:3], OTHERS[:5])
    assert found.with_circuits
    assert found.count_after() == 0


@pytest.mark.parametrize("count", [0, 4, 12, 30])
def test_no_row_is_lost_and_each_keeps_its_order(count: int) -> None:
    found = split([*GOOD[:count], *BAD, *OTHERS])
    assert [*found.others, *found.others_after] == OTHERS
    assert sorted([*found.judged, *found.judged_after], key=repr) == sorted([*GOOD[:count], *BAD], key=repr)
    good = [row for row in found.judged if row.tone == "good"]
    assert [*good, *found.judged_after] == GOOD[:count]


def test_circuits_go_first_then_answers_without_a_limit_then_good_verdicts() -> None:
    steps = [split([*GOOD[:k], *OTHERS[:6]]) for k in range(31)]
    states = [(not one.with_circuits, bool(one.others_after), bool(one.judged_after)) for one in steps]
    assert states == sorted(states)  # False before True, one after the other
    assert states[0] == (False, False, False)
    assert (True, False, False) in states
    assert (True, True, False) in states
    assert states[-1] == (True, True, True)
    assert all(not one.others for one in steps if one.judged_after)


def test_a_verdict_that_is_not_good_stays_on_page_one() -> None:
    found = split([*GOOD, *BAD, *OTHERS])
    assert [row for row in found.judged if row.tone == "bad"] == BAD
    assert len(found.judged_after) > 5


def test_long_words_take_the_room_of_their_lines() -> None:
    short = split([*GOOD[:8], *OTHERS[:6]])
    long = split([*GOOD[:8], *OTHERS[:6]], cautions=("A long caution of many words that explains itself. " * 8,) * 9)
    assert short.count_after() == 0
    assert long.count_after() > 0


def test_a_terminal_shows_verdicts_and_cautions_before_any_table() -> None:
    text = summary(solve_everything().result)
    title, verdict, *rest = text.split("\n\n")
    cautions = next(k for k, block in enumerate(rest) if block.startswith("Cautions of this study"))

    assert title == "Everything (50 Hz)"
    assert verdict.startswith("2 of 3 places with a limit do not meet it.")
    assert not any("---" in block for block in rest[:cautions])
    assert "---" in rest[cautions + 1]
