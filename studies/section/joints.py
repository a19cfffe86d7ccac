"""Sentences on the joints of trays and drawn metal: rails, covers, dividers, and outlines of one drawn layer."""

from __future__ import annotations

from studies.section.parts import METALWORK, CrossSection
from studies.study.file import Study
from studies.study.parts import COVER, IN_CONTACT, INSULATED, LADDER, LEFT, RIGHT
from studies.study.trays import Cover, Tray


def joints(study: Study, section: CrossSection) -> tuple[str, ...]:
    """One sentence for each pair of pieces of a tray or of drawn metal, joined or insulated.

    Metal rungs join both rails every 0.3 m or so, far less than the length over which rails and rungs share a current.
    A cover with a gap touches nothing by definition; metal brackets or bonding straps would join it to the tray. In
    cross-sections computed here, the joint raised the loss of tray and cover by up to 27 % and lowered the field by up
    to 5 % [D]. A duct, a divider and a cover in contact are one solid with their tray.
    """
    found = [sentence for tray in study.trays for sentence in _of_tray(tray, section)]
    for work in study.metalwork:
        pieces = [
            part.name for part in section.parts if part.kind == METALWORK and part.name.startswith(f"{work.name}.")
        ]
        if len(pieces) > 1 and not _share_a_tie(section, pieces):
            found.append(
                f"The outlines {', '.join(pieces)} of {work.name} are insulated from each other; if something joins "
                "them, state a bond."
            )
    return tuple(found)


def _of_tray(tray: Tray, section: CrossSection) -> list[str]:
    found = []
    if tray.profile == LADDER and tray.cover != IN_CONTACT:
        left, right = f"{tray.name}.{LEFT}", f"{tray.name}.{RIGHT}"
        if tray.rails == INSULATED:
            found.append(
                f"The rails of {tray.name} are insulated from each other, as the study states: rungs do not join "
                f"{left} and {right}."
            )
        else:
            found.append(
                f"The rungs of {tray.name} join its rails along the run, without contact resistance: a current "
                f"circulates through {left} and {right}."
            )
    if tray.dividers:
        found.append(f"The dividers of {tray.name} are one part with it.")
    if tray.cover == IN_CONTACT:
        found.append(f"The cover of {tray.name} touches it and is one part with it.")
    elif isinstance(tray.cover, Cover):
        cover = f"{tray.name}.{COVER}"
        own = [
            part.name for part in section.parts if part.name != cover and f"{part.name}.".startswith(f"{tray.name}.")
        ]
        if not any(_share_a_tie(section, [cover, name]) for name in own):
            found.append(
                f"{cover} stands {1e3 * tray.cover.gap:g} mm off {tray.name} and is insulated from it. If metal "
                f"brackets or straps join them, bond {tray.name} and {cover}: the loss is then higher and the field "
                "slightly lower."
            )
    return found


def _share_a_tie(section: CrossSection, names: list[str]) -> bool:
    return any(set(names) <= set(tie.parts) for tie in section.ties)
