"""One mesh for all solutions that need the same, and another where anything differs."""

import dataclasses
from typing import Any

import numpy as np
import pytest

from geometry.shapes import Disc, Region, Section
from studies.solve.meshes import _are_same, mesh_of

WIDE = 1.0  # [m] a skin depth that asks for no finer mesh


def section(name: str = "a", radius: float = 0.01, depth: float = WIDE) -> Section:
    return Section((Region(name, Disc((0.0, 0.0), radius), depth), Region("b", Disc((0.1, 0.0), 0.01))))


def test_frequencies_that_need_the_same_mesh_share_it():
    assert mesh_of(section(), 0.7) is mesh_of(section(), 0.7)
    assert mesh_of(section(depth=2 * WIDE), 0.7) is mesh_of(section(), 0.7)


@pytest.mark.parametrize("other", [section(name="c"), section(radius=0.012), section(depth=0.001)])
def test_another_name_shape_or_needed_depth_gives_another_mesh(other):
    assert mesh_of(other, 0.7) is not mesh_of(section(), 0.7)


def test_another_fineness_gives_another_mesh():
    assert len(mesh_of(section(), 1.0).points) > len(mesh_of(section(), 0.7).points)


@pytest.mark.parametrize("changed", ["points", "triangles", "regions", "names", "circle_centre", "circle_radius"])
def test_meshes_are_the_same_only_if_all_of_them_is(changed):
    mesh = mesh_of(section(), 0.7)
    assert _are_same(mesh, dataclasses.replace(mesh))
    others: dict[str, Any] = {
        "points": mesh.points + 1e-15,
        "triangles": np.roll(mesh.triangles, 1, axis=0),
        "regions": np.roll(mesh.regions, 1),
        "names": (*mesh.names[:-1], "other"),
        "circle_centre": (1e-9, 0.0),
        "circle_radius": mesh.circle_radius * (1 + 1e-12),
    }
    assert not _are_same(mesh, dataclasses.replace(mesh, **{changed: others[changed]}))
