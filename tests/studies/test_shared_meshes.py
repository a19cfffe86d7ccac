"""One mesh for all solutions that need the same, and another where anything differs."""

import dataclasses

import numpy as np
import pytest

from fem.solve import solve_unit_voltages
from geometry.meshing import Plan, planned
from geometry.shapes import Disc, Region, Section
from geometry.sizing import MeshSizes
from studies.section.cross_section import cross_section
from studies.solve.meshes import mesh_of
from studies.solve.unit_fields import unit_fields
from studies.study.reading import loads
from tests.studies.sweep_studies import PAIR

WIDE = 1.0  # [m] a skin depth that asks for no finer mesh


def section(name: str = "a", radius: float = 0.01, depth: float = WIDE) -> Section:
    return Section((Region(name, Disc((0.0, 0.0), radius), depth), Region("b", Disc((0.1, 0.0), 0.01))))


def test_frequencies_that_need_the_same_mesh_share_it_and_gmsh_makes_it_once(monkeypatch):
    made = mesh_of(section(), 0.7)
    monkeypatch.setattr("studies.solve.meshes.mesh_planned", lambda *_: pytest.fail("a mesh was made"))
    assert mesh_of(section(), 0.7) is made
    assert mesh_of(section(depth=2 * WIDE), 0.7) is made


@pytest.mark.parametrize("other", [section(name="c"), section(radius=0.012), section(depth=0.001)])
def test_another_name_shape_or_needed_depth_gives_another_mesh(other):
    assert mesh_of(other, 0.7) is not mesh_of(section(), 0.7)


def test_another_fineness_gives_another_mesh():
    assert len(mesh_of(section(), 1.0).points) > len(mesh_of(section(), 0.7).points)


@pytest.mark.parametrize(
    "changed", ["name", "vertices", "triangles", "circle", "circle_centre", "circle_radius", "sizes"]
)
def test_plans_give_the_same_mesh_only_if_all_of_them_is(changed):
    plan = planned(section(), MeshSizes())
    first, second = plan.blocks
    others: dict[str, Plan] = {
        "name": dataclasses.replace(plan, section=section(name="other")),
        "vertices": dataclasses.replace(
            plan, blocks=(dataclasses.replace(first, vertices=first.vertices + 1e-15), second)
        ),
        "triangles": dataclasses.replace(
            plan, blocks=(dataclasses.replace(first, triangles=np.roll(first.triangles, 1, axis=0)), second)
        ),
        "circle": dataclasses.replace(plan, circle=plan.circle + 1e-9),
        "circle_centre": dataclasses.replace(plan, circle_centre=(1e-9, 0.0)),
        "circle_radius": dataclasses.replace(plan, circle_radius=plan.circle_radius * (1 + 1e-12)),
        "sizes": dataclasses.replace(plan, sizes=MeshSizes(air_growth=0.31)),
    }
    assert plan.of_mesh() == planned(section(depth=2 * WIDE), MeshSizes()).of_mesh()
    assert others[changed].of_mesh() != plan.of_mesh()


def test_cases_of_other_currents_share_their_fields_and_no_others_do():
    base = cross_section(loads(PAIR))
    mesh = mesh_of(base.section(), 0.7)
    fields = unit_fields(base, mesh)
    assert unit_fields(cross_section(loads(PAIR.replace('"100 A"', '"101 A"'))), mesh) is fields
    others = {
        "metal": cross_section(loads(PAIR.replace('"copper"', '"aluminium"'))),
        "earth": cross_section(loads(f"{PAIR}[earth]\nresistivity = '100 ohm m'\n")),
        "frequency": dataclasses.replace(base, frequency=1.5 * base.frequency),
    }
    volts = np.ones(len(base.parts), dtype=np.complex128)
    for changed, other in others.items():
        found = unit_fields(other, mesh)
        parts = {part.name: (part.name,) for part in other.parts}
        anew = solve_unit_voltages(mesh, other.materials(), other.frequency, parts, earth=other.earth)
        assert found is not fields, changed
        assert np.array_equal(found.admittance, anew.admittance), changed
        assert np.array_equal(found.potential(volts), anew.potential(volts)), changed
    assert unit_fields(base, dataclasses.replace(mesh)) is not fields
