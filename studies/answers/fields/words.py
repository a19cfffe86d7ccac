"""Fields in words: the sections of the report, and the sentences on fields and verdicts in its summary."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.fields.reader import readable_map, readable_traverse
from studies.answers.fields.rows import TraverseResult
from studies.answers.fields.tables import exposure_tables, receptor_table, spectrum_table
from studies.answers.limits.rows import ZoneResult
from studies.answers.limits.verdicts import Limited, field_of, margin, sheet_row, times, within
from studies.answers.reservations.words import beside_verdicts, reservation_list, reservations_of
from studies.answers.result_units import result_units, shown_flux_density
from studies.answers.sheet_row import SheetRow
from studies.text.blocks import Block, Figure, First, Last, Section
from studies.text.failures import guarded
from studies.text.numbers import GAP, per_cent, plain, value_with_error
from studies.text.units import FLUX_DENSITY

MAPS: Mapping[str, tuple[str, str]] = {
    names.FIELD_MAP: (
        (
            "Resultant flux density, rms, on a logarithmic scale. The contours are the limits of receptors and zones: "
            "outside such a contour the limit is met. A cross marks the highest field of a zone."
        ),
        "Map of the flux density around the cables with receptors, zones and the contours of their limits.",
    ),
    names.FIELD_CLOSE: (
        "The same in and around the cables and trays, from the elements of the mesh.",
        "Close-up of the flux density in and around the cables and trays.",
    ),
    names.FORMULA_DIFFERENCE: (
        (
            "Where the line formula holds: line formula / finite element − 1. Solid contours: the formula is "
            "above; dashed: below. Beside each receptor its own difference."
        ),
        "Map of the difference between line formula and finite-element field in per cent.",
    ),
}
"""Caption and description of each map."""
NET_IN_MAPS: Mapping[str, str] = {
    names.FIELD_MAP: " All with net currents, at the worst angle of each point.",
    names.FIELD_CLOSE: " Without net currents.",
    names.FORMULA_DIFFERENCE: " Both with net currents, at the worst angle of each.",
}
SPECTRUM = (
    "Resultant flux density at the receptors by frequency; the line is the reference level at that frequency alone.",
    "Bars of the flux density of each frequency at each receptor.",
)


def receptor_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Fields of the receptors beside their limits and formulas; None without a receptor."""
    if not result.receptors:
        return None
    blocks: list[Block] = [receptor_table(result)]
    if names.has_spectrum(result):
        blocks.append(spectrum_table(result))
        if names.SPECTRUM in figures:
            blocks.append(Figure(*SPECTRUM, figures[names.SPECTRUM]))
    blocks += exposure_tables(result)
    blocks += reservation_list(result, ("receptor", "route"))
    return Section("Receptors", "receptors", tuple(blocks))


def traverse_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """The traverses; None if there are none."""
    stems = names.traverse_stems(result)
    blocks = [
        readable_traverse(result, traverse, _traverse_figure(result, traverse, figures[stem]))
        for stem, traverse in zip(stems, result.traverses, strict=True)
        if stem in figures
    ]
    return Section("Traverses", "traverses", tuple(blocks)) if blocks else None


def _traverse_figure(result: Answers, traverse: TraverseResult, png: bytes) -> Figure:
    tolerance = result.accuracy.tolerance
    highest, _, away = traverse.highest()
    value, place = shown_flux_density(result, highest), _highest_place(traverse, away)
    with np.errstate(divide="ignore", invalid="ignore"):
        errors = np.nan_to_num(traverse.b_rms_error_t / traverse.b_rms_t, posinf=0.0)
    worst = float(errors.max(initial=0.0))
    above = f", above what was asked at {int((errors > tolerance).sum())} of {len(errors)} points"
    net = _along_with_net(result, traverse)
    caption = (
        f"Traverse “{traverse.name}”: resultant flux density by finite elements and by the line formula; below, their "
        f"difference. The mark is at the highest field, {value}, {place}.{net} The largest error estimate along it is "
        f"{per_cent(worst, signed=False)} of the local field{above if worst > tolerance else ''}."
    )
    description = f"Curve of the flux density along the traverse {traverse.name}; the highest is {value}, {place}."
    return Figure(caption, description, png)


def _along_with_net(result: Answers, traverse: TraverseResult) -> str:
    """The highest field of a traverse with net currents, and where; empty without any."""
    net = result.net_currents
    lines = {} if net is None else {line.name: line.highest_m for line in net.traverses}
    if net is None or traverse.name not in lines:
        return ""
    row = next(row for row in net.fields if (row.kind, row.place) == ("traverse", traverse.name))
    return (
        f" All of it, and what a cursor reads, is without net currents; with them the dotted curve, at most "
        f"{shown_flux_density(result, row.b_rms_t)}, {plain(lines[traverse.name])}{GAP}m from its start."
    )


def map_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Maps of the field and of the validity of the formula; None without a picture of them."""
    net = NET_IN_MAPS if result.study.has_net_currents() else {}
    shown = {
        stem: Figure(f"{caption}{net.get(stem, '')}", description, figures[stem])
        for stem, (caption, description) in MAPS.items()
        if stem in figures
    }
    blocks: list[Block] = list(shown.values())
    if names.FIELD_MAP in shown:
        picture = shown[names.FIELD_MAP]
        blocks[0] = guarded("readings of the field map", lambda: readable_map(result, picture), picture)
    return Section("Field maps", "maps", tuple(blocks)) if blocks else None


def _as_drawn(result: Answers, places: int) -> str:
    """Words that bound a verdict on some places by what the study asks for beside it: there it may not hold."""
    study = result.study
    said = ""
    if study.laying_tolerance is not None or study.course is not None:
        said += " as drawn, on a straight run"
    others = (
        ("without net currents", result.net_currents, "with them"),
        ("for alternating fields", result.direct_currents, "for static ones"),
    )
    for words, beside, other in others:
        if beside is not None and any(row.within_limit is False for row in beside.fields):
            said += f" {words}, not{'' if places == 1 else ' all'} {other}"
        elif beside is not None:
            said += f", {words}"
    return said


def unjudged_line(result: Answers) -> str:
    """Places that have a limit and no verdict."""
    places = ", ".join(f"“{name}”" for name in result.unjudged())
    return First(f"There is no verdict at {places}: its computation failed.") if places else ""


def verdict_line(result: Answers) -> str:
    """Whether all limits are met, and the worst place if not; nothing without a receptor or zone."""
    entries: tuple[Limited, ...] = (*result.receptors, *result.zones)
    limited = [entry for entry in entries if entry.limit_t is not None]
    if not limited:
        return "" if result.unjudged() or not entries else _strongest(result, entries)
    worst = min(limited, key=lambda entry: margin(entry) or 0.0)
    exceeded = [entry for entry in limited if not within(entry)]
    if not exceeded:
        net = () if result.net_currents is None else result.net_currents.fields
        if any(row.within_limit is False for row in net):  # the margin without them would mislead
            return f"{_all(limited)} within the limit{_as_drawn(result, len(limited))}."
        return (
            f"{_all(limited)} within the limit{_as_drawn(result, len(limited))}. The least margin is "
            f"{per_cent(margin(worst), signed=False)} of the limit, at “{worst.name}”."
        )
    if all(entry.within_limit for entry in exceeded):
        places = ", ".join(f"“{entry.name}”" for entry in exceeded)
        return First(
            f"{places}: within the limit with the study's steel, above it with the curve of another steel of its use."
        )
    level = f"the {'field' if worst.exposure_index is None else 'exposure'} is {times(worst)}"
    if len(limited) == 1:
        return First(f"The {_kinds(limited)} “{worst.name}” does not meet its limit: {level}.")
    of = f"{len(limited)} {_kinds(limited)} with a limit"
    if len(exceeded) == len(limited):
        many = f"None of the {of} meets it"
    else:
        many = f"{len(exceeded)} of {of} {'does' if len(exceeded) == 1 else 'do'} not meet it"
    return First(f"{many}. The worst is “{worst.name}”: {level}.")


def _strongest(result: Answers, entries: Sequence[Limited]) -> str:
    strongest = max(entries, key=lambda entry: field_of(entry)[0])
    where = "in zone" if isinstance(strongest, ZoneResult) else "at receptor"
    value = shown_flux_density(result, field_of(strongest)[0])
    none = "No receptor or zone has a limit of its own" if result.study.has_other_limits() else "No limit is stated"
    return Last(f"{none}. The strongest field is {value}, {where} “{strongest.name}”.")


def _all(entries: Sequence[Limited]) -> str:
    kinds = _kinds(entries)
    count = "Both" if len(entries) == 2 else f"All {len(entries)}"
    return f"The {kinds} is" if len(entries) == 1 else f"{count} {kinds} with a limit are"


def _kinds(entries: Sequence[Limited]) -> str:
    zones = sum(isinstance(entry, ZoneResult) for entry in entries)
    if 0 < zones < len(entries):
        return "places"
    return f"{'zone' if zones else 'receptor'}{'' if len(entries) == 1 else 's'}"


def receptor_rows(result: Answers) -> list[SheetRow]:
    """The receptors on the sheet to sign."""
    unit, beyond = result_units(result).of(FLUX_DENSITY), reservations_of(result, "receptor")
    beside = beside_verdicts(result, "as drawn only")
    return [sheet_row(result, entry, unit, beyond, beside) for entry in result.receptors]


def traverse_rows(result: Answers) -> list[SheetRow]:
    """The highest field along each traverse on the sheet to sign."""
    unit = result_units(result).of(FLUX_DENSITY, [traverse.highest()[0] for traverse in result.traverses])
    rows = []
    for traverse in result.traverses:
        value, error, away = traverse.highest()
        words = f"{value_with_error(value, error, unit)}, {_highest_place(traverse, away)}"
        of = f"Highest field along “{traverse.name}”{names.without_net_currents(result)}"
        rows.append(SheetRow(of, words, section="traverses"))
    return rows


def _highest_place(traverse: TraverseResult, away: float) -> str:
    """Where the highest field of a traverse is, and what was searched if not the whole line."""
    place = f"{plain(away)}{GAP}m from its start"
    return place if traverse.peak is not None else f"{place}, of its {len(traverse.distance_m)} points"
