"""Whether the mesh of a cross-section can be solved, and the reasons for its size, before gmsh makes it."""

from __future__ import annotations

from dataclasses import replace

from geometry.clearance import clearance
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
    plan = planned(section.section(), MeshSizes(fineness=FINENESS[0]))
    count = expected_unknowns(plan)
    whole = count.total * (FINENESS[1] / FINENESS[0]) ** 2
    if whole <= LARGE:
        return None
    solids, advice = _causes(section, plan, count)
    size = f"about {_rounded(whole)} unknowns: {solids}"
    if whole <= LARGEST:
        return f"a large mesh, {size}"
    wrong = f"needs a mesh of {size}; at most {_rounded(LARGEST)} are solved"
    raise StudyError([study.problem("the cross-section", wrong, advice)])


def _causes(section: CrossSection, plan: Plan, count: MeshCount) -> tuple[str, str]:
    """The solids with most unknowns, each with its cause, and the remedies."""
    regions, sizes = plan.section.regions, plan.sizes
    order = sorted(range(len(regions)), key=lambda k: -count.of_solids[k])[:NAMED]
    told, advice = [], ["fewer parts in one study: what lies far apart may be studied alone"]
    for k in order:
        share = count.of_solids[k] / count.total
        if share < NAMED_SHARE:
            break
        region, causes = regions[k], []
        own = unknowns_of(plan.blocks[k])
        others = [other for other in regions if other is not region]
        deep = replace(region, depth=float("inf"))
        if unknowns_of(solid_block(Section((deep, *others)), deep, sizes)) < CAUSED * own:
            causes.append(f"skin depth {with_unit(region.depth, SMALL_LENGTH, 2)} at {section.frequency:g} Hz")
            advice.append("a lower highest frequency, as fewer harmonics")
        if unknowns_of(solid_block(Section((region,)), region, sizes)) < CAUSED * own:
            near = min(others, key=lambda other: clearance(region.shape, other.shape))
            gap = with_unit(clearance(region.shape, near.shape), SMALL_LENGTH, 2)
            causes.append(f"{gap} from {section.labels.get(near.name, near.name)}")
            advice.append("wider gaps between metal")
        name = section.labels.get(region.name, region.name)
        told.append(f"{100 * share:.2g} % in and about {name}" + (f" ({', '.join(causes)})" if causes else ""))
    return f"{len(regions)} solids, {', '.join(told) or 'about alike'}", "; or ".join(dict.fromkeys(advice))


def _rounded(count: float) -> str:
    """A count with two digits and thousands apart."""
    return f"{float(f'{count:.2g}'):,.0f}"
