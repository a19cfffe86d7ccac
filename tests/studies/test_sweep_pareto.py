"""The cases that no other beats in two quantities: against trying every pair, and by examples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studies.compare.criteria import non_dominated

# few distinct values, so that ties and equal cases are common; nan and the infinities as well
VALUES = st.one_of(st.sampled_from([0.0, -0.0, 1.0, 2.0, 3.0, np.nan, np.inf, -np.inf]), st.floats(-5, 5))
CASES = st.lists(st.tuples(VALUES, VALUES), max_size=30)


def by_every_pair(cases: list[tuple[float, float]], higher: tuple[bool, bool]) -> list[bool]:
    """The definition: nobody is as good in both and better in one."""
    signed = [tuple(-v if up else v for v, up in zip(case, higher, strict=True)) for case in cases]

    def beats(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
        no_worse = all(a <= b for a, b in zip(one, other, strict=True))
        return no_worse and any(a < b for a, b in zip(one, other, strict=True))

    known = [not any(np.isnan(case)) for case in cases]
    return [
        known[k] and not any(known[m] and beats(signed[m], signed[k]) for m in range(len(cases)))
        for k in range(len(cases))
    ]


@given(CASES, st.tuples(st.booleans(), st.booleans()))
def test_the_set_is_that_of_trying_every_pair(cases, higher):
    first, second = [case[0] for case in cases], [case[1] for case in cases]
    assert non_dominated(first, second, higher).tolist() == by_every_pair(cases, higher)


@given(CASES)
def test_a_case_that_is_left_out_for_being_beaten_changes_nothing(cases):
    free = non_dominated([c[0] for c in cases], [c[1] for c in cases])
    kept = [case for case, is_free in zip(cases, free, strict=True) if is_free]
    assert non_dominated([c[0] for c in kept], [c[1] for c in kept]).all()


def test_equal_cases_do_not_beat_each_other():
    assert non_dominated([1, 1, 1, 2], [2, 2, 3, 2]).tolist() == [True, True, False, False]


def test_lists_of_different_lengths_are_refused():
    with pytest.raises(ValueError, match="one length"):
        non_dominated([1, 2], [1])
