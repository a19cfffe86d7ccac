"""What a study would compute, in words, without solving it."""

from __future__ import annotations

from fem.materials import skin_depth
from studies.cross_section import CrossSection
from studies.engineering import engineering
from studies.parts import CONDUCTOR
from studies.study import Study


def outline(study: Study, section: CrossSection) -> str:
    """Parts, circuits, bonds and requested numbers of a study, one line each."""
    lines = [f"{study.title} ({study.frequency:g} Hz)", "", "Parts"]
    for part in section.parts:
        material = part.material
        mu = material.relative_permeability
        steel = f", relative permeability {mu:g}" if mu != 1 else ""
        lines.append(
            f"  {part.name}: {part.kind}, {engineering(material.conductivity, 'S/m')}{steel}, "
            f"R_dc {engineering(part.dc_resistance, 'Ω/m')}, skin depth "
            f"{engineering(skin_depth(material, section.frequency), 'm', 3)} ({part.source})"
        )
    lines += ["", "Currents"]
    for phase in section.phases:
        tie = section.ties[phase.tie]
        parallel = f", {len(tie.parts)} parallel cables" if len(tie.parts) > 1 else ""
        lines.append(f"  {phase.circuit} {phase.phase}: {engineering(abs(phase.current), 'A')}{parallel}")
    driven = {phase.tie for phase in section.phases}
    for number, tie in enumerate(section.ties):
        if number not in driven and len(tie.parts) > 1:
            lines.append(f"  bonded: {', '.join(tie.parts)}")
    alone = [tie.parts[0] for n, tie in enumerate(section.ties) if n not in driven and len(tie.parts) == 1]
    if alone:
        lines.append(f"  without net current: {', '.join(alone)}")
    lines += ["", "Would be computed"]
    lines += [
        f"  field at {receptor.name} ({receptor.at[0]:g} m, {receptor.at[1]:g} m)"
        + (f", limit {_limit(receptor.limit)}" if receptor.limit is not None else "")
        for receptor in study.receptors
    ]
    lines += [f"  field along {traverse.name}, {traverse.points} points" for traverse in study.traverses]
    conductors = sum(part.kind == CONDUCTOR for part in section.parts)
    lines.append(f"  loss of {len(section.parts)} parts, of which {conductors} conductors; impedance of each phase")
    lines.append(f"  all to {100 * study.accuracy.tolerance:g} %")
    return "\n".join(lines)


def _limit(limit: float | str) -> str:
    return limit if isinstance(limit, str) else engineering(limit, "T")
