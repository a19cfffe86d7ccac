"""Whether the mesh of a cross-section can be solved, and the reasons for its size, before gmsh makes it."""

from __future__ import annotations

from dataclasses import replace

from geometry.clearance import clearance
from geometry.groups import placed_groups
from geometry.mesh_count import MeshCount, expected_unknowns, unknowns_of
from geometry.meshing import Plan, planned
from geometry.shapes import Section
from geometry.sizing import MeshSizes, solid_block
from studies.section.parts import CrossSection
from studies.solve.levels import FINENESS
from studies.study.file import Study
from studies.text.numbers import with_unit
from studies.text.problems import StudyError
from studies.text.units import LENGTH, Unit

SMALL_LENGTH = (Unit("µm", 1e-6), *LENGTH)
LARGEST = 1_000_000
"""Unknowns of the second mesh, which every solve needs, above which none is made: some 6 GB and minutes."""
LARGE = 150_000
"""Unknowns of the second mesh above which the user is told the reasons."""
NAMED, NAMED_SHARE = 3, 0.05
"""Solids that are named: at most so many, those with the most unknowns, each with this share of all. [-]"""
CAUSED = 0.7
"""Share of a solid's unknowns that are left without a cause, below which it is named. [-]"""


def mesh_note(study: Study, section: CrossSection) -> str | None:
    """The reasons for a large mesh of a cross-section, in one sentence; None if the mesh is not large.

    Raises StudyError: If it would be larger than `LARGEST`.
    """
    plans = _plans(section)
    total = sum(count.total for _, count in plans)
    whole = total * (FINENESS[1] / FINENESS[0]) ** 2
    if whole <= LARGE:
        return None
    solids, advice = _causes(section, plans, total)
    size = f"about {_rounded(whole)} unknowns: {solids}"
    if whole <= LARGEST:
        return f"a large mesh, {size}"
    wrong = f"needs a mesh of {size}; at most {_rounded(LARGEST)} are solved"
    raise StudyError([study.problem("the cross-section", wrong, advice)])


def _plans(section: CrossSection) -> list[tuple[Plan, MeshCount]]:
    """Of each group with a mesh of its own; groups of equal solids share theirs."""
    groups = [group.solids for group in placed_groups(section.section())] if section.apart else [section.section()]
    made: dict[int, tuple[Plan, MeshCount]] = {}
    for solids in groups:
        if id(solids) not in made:
            plan = planned(solids, MeshSizes(fineness=FINENESS[0]))
            made[id(solids)] = plan, expected_unknowns(plan)
    return [made[id(solids)] for solids in groups]


def _causes(section: CrossSection, plans: list[tuple[Plan, MeshCount]], total: int) -> tuple[str, str]:
    """The solids with most unknowns, each with its cause, and the remedies."""
    of_all = [(own, plan, k) for plan, count in plans for k, own in enumerate(count.of_solids)]
    told, advice = [], ["fewer parts in one study: what lies far apart may be studied alone"]
    for unknowns, plan, k in sorted(of_all, key=lambda one: -one[0])[:NAMED]:
        share = unknowns / total
        if share < NAMED_SHARE:
            break
        regions, sizes = plan.section.regions, plan.sizes
        region, causes = regions[k], []
        own = unknowns_of(plan.blocks[k])
        others = [other for other in regions if other is not region]
        deep = replace(region, depth=float("inf"))
        if unknowns_of(solid_block(Section((deep, *others)), deep, sizes)) < CAUSED * own:
            causes.append(f"skin depth {with_unit(region.depth, SMALL_LENGTH, 2)} at {section.frequency:g} Hz")
            advice.append("a lower highest frequency, as fewer harmonics")
        if others and unknowns_of(solid_block(Section((region,)), region, sizes)) < CAUSED * own:
            near = min(others, key=lambda other: clearance(region.shape, other.shape))
            gap = with_unit(clearance(region.shape, near.shape), SMALL_LENGTH, 2)
            causes.append(f"{gap} from {section.labels.get(near.name, near.name)}")
            advice.append("wider gaps between metal")
        name = section.labels.get(region.name, region.name)
        told.append(f"{100 * share:.2g} % in and about {name}" + (f" ({', '.join(causes)})" if causes else ""))
    return f"{len(section.parts)} solids, {', '.join(told) or 'about alike'}", "; or ".join(dict.fromkeys(advice))


def _rounded(count: float) -> str:
    """A count with two digits and thousands apart."""
    return f"{float(f'{count:.2g}'):,.0f}"
