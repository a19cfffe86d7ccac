"""Trays: keys that go with the profile, and sizes that fit together."""

from collections.abc import Iterator

from studies.study.checks.findings import Finding, Place, Reader, Table, key_findings
from studies.study.key_sets import PROFILES
from studies.study.parts import IN_CONTACT, INSULATED


def tray_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within each tray."""
    for index, tray in reader.entries("trays"):
        place: Place = ("trays", index)
        profile = tray.get("profile")
        yield from key_findings(place, tray, PROFILES, profile)
        if isinstance(profile, str) and profile in PROFILES:
            sound = {key: entry for key, entry in tray.items() if key in PROFILES[profile].allowed}
            yield from _lips(reader, place, sound)
            yield from _flanges(reader, place, sound)
            yield from _rails(place, sound)
            yield from _dividers(reader, place, sound, reader.number(tray.get("thickness"), "thickness"))


def _lips(reader: Reader, place: Place, tray: Table) -> Iterator[Finding]:
    if "lips" in tray and "lip" not in tray:
        yield Finding((*place, "lips"), "says where lips point that the tray has not", 'lip = "15 mm" beside it')
    lip, width = reader.number(tray.get("lip"), "lip"), reader.number(tray.get("inside_width"), "tray width")
    if lip is not None and width is not None and tray.get("lips") != "outward" and 2 * lip >= width:
        wrong = "leaves no opening between the lips"
        yield Finding((*place, "lip"), wrong, f"less than half of the inside width, {width / 2 * 1e3:g} mm")


def _flanges(reader: Reader, place: Place, tray: Table) -> Iterator[Finding]:
    flange = reader.number(tray.get("rail_flange"), "lip")
    width = reader.number(tray.get("inside_width"), "tray width")
    if flange is not None and width is not None and 2 * flange >= width:
        wrong = "leaves no opening between the rails"
        yield Finding((*place, "rail_flange"), wrong, f"less than half of the inside width, {width / 2 * 1e3:g} mm")


def _rails(place: Place, tray: Table) -> Iterator[Finding]:
    if tray.get("rails") == INSULATED and tray.get("cover") == IN_CONTACT:
        wrong = "insulates the rails, but a cover in contact joins them"
        yield Finding((*place, "rails"), wrong, 'rails = "joined", or a cover with a gap')


def _dividers(reader: Reader, place: Place, tray: Table, thickness: float | None) -> Iterator[Finding]:
    if "divider_height" in tray and "dividers" not in tray:
        wrong = "is the height of dividers that the tray has not"
        yield Finding((*place, "divider_height"), wrong, 'dividers = ["0 mm"] beside it')
    height = reader.number(tray.get("divider_height"), "tray height")
    inside = reader.number(tray.get("inside_height"), "tray height")
    if height is not None and inside is not None and height > inside * (1 + 1e-12):  # rounded conversion
        wrong = "is above the inside height"
        yield Finding((*place, "divider_height"), wrong, f"at most {inside * 1e3:g} mm")
    dividers, width = tray.get("dividers"), reader.number(tray.get("inside_width"), "tray width")
    if thickness is None or not isinstance(dividers, list | tuple):
        return
    taken: list[float] = []
    for index, divider in enumerate(dividers):
        x = reader.number(divider, "coordinate")
        if x is None:
            continue
        where = (*place, "dividers", index)
        if width is not None and abs(x) + thickness / 2 >= width / 2:
            most = (width - thickness) / 2
            yield Finding(
                where, "is in or beyond a wall", f"from the middle, between {-most * 1e3:g} and {most * 1e3:g} mm"
            )
        if any(abs(x - other) <= thickness for other in taken):
            yield Finding(where, "is in another divider", f"more than {thickness * 1e3:g} mm from it")
        taken.append(x)
