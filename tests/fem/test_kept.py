"""What is kept of a mesh: told by all that it depends on, and let go with the mesh."""

import copy
import dataclasses
import gc
import weakref

import numpy as np
import pytest

from fem import locate
from fem.field import FieldProbe
from fem.kept import kept_for
from fem.locate import Locator
from tests.fem.layouts import FLAT, Solution, balanced, layout_of, mesh_of, screened, solve


class Anything:
    """Something that a value may be kept for."""


@pytest.fixture(scope="module")
def solution() -> Solution:
    return solve(layout_of(screened(FLAT), balanced(), 50.0), 1.0)


def test_a_value_is_made_once_for_each_object_and_key() -> None:
    one, other, made = Anything(), Anything(), iter(range(9))
    asked = [kept_for(thing, key, lambda: next(made)) for thing in (one, other, one) for key in ("a", "b", "a")]
    assert asked == [0, 1, 0, 2, 3, 2, 0, 1, 0]


def test_it_is_let_go_with_the_object() -> None:
    thing = Anything()
    seen = weakref.ref(kept_for(thing, "a", Anything))
    gc.collect()
    assert seen() is not None
    del thing
    gc.collect()
    assert seen() is None


def test_a_locator_does_not_hold_its_mesh() -> None:
    def seen_of_a_mesh() -> weakref.ref[object]:
        mesh = mesh_of(layout_of(screened(FLAT), balanced(), 50.0))
        kept_for(mesh, "locator", lambda: Locator(mesh))
        return weakref.ref(mesh)

    seen = seen_of_a_mesh()
    gc.collect()
    assert seen() is None


@pytest.mark.parametrize("axis", [0, 1])
def test_points_are_searched_anew_if_any_of_them_moves(
    solution: Solution, axis: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    locator = Locator(solution.mesh)
    points = np.array([(0.01, 0.02), (-0.03, 0.01), (0.04, -0.02)])
    first = locator.places(points)
    assert locator.places(points.copy()) is first
    points[1, axis] += 1e-12
    moved, fresh = locator.places(points), Locator(solution.mesh).places(points)
    assert not np.array_equal(moved.local, first.local)
    assert np.array_equal(moved.local, fresh.local)
    monkeypatch.setattr(locate, "MOST_KEPT", 2 * len(points))
    locator.places(points + 1)
    assert locator.places(points) is moved
    locator.places(points + 2)
    locator.places(points + 3)
    assert locator.places(points) is not moved


def test_the_outlines_are_those_of_what_is_not_air(solution: Solution) -> None:
    fields = solution.fields
    first = fields.mesh.points[fields.mesh.triangles[fields.mesh.regions == 1].ravel()]
    point = first.max(axis=0, keepdims=True) + 0.02
    before = FieldProbe(fields).free_distance(point)[0]
    air = fields.materials[0]
    one_solid = [air] * (len(fields.materials) - 1) + [fields.materials[-1]]
    alone = dataclasses.replace(fields, materials=tuple(one_solid))
    elsewhere = dataclasses.replace(alone, mesh=copy.copy(fields.mesh))
    distance = FieldProbe(alone).free_distance(point)[0]
    assert distance == FieldProbe(elsewhere).free_distance(point)[0]
    assert distance != before
