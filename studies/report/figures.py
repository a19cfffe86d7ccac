"""Which figures a result calls for, drawn when asked, and how they are saved."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from matplotlib.figure import Figure

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.faults.figure import draw_force_arrows
from studies.answers.fields.close_figure import draw_field_close
from studies.answers.fields.formula_map_figure import draw_formula_map
from studies.answers.fields.map_figure import draw_field_map
from studies.answers.fields.spectrum_figure import draw_spectrum
from studies.answers.fields.traverse_figure import draw_traverse
from studies.answers.limits.figure import draw_limit_distances, shows_limits
from studies.answers.losses.current_figure import draw_current_density
from studies.answers.losses.section_figure import draw_loss_section
from studies.answers.losses.shares_figure import draw_shares
from studies.answers.losses.sheet_figure import draw_loss_density
from studies.answers.orders.figure import draw_phase_orders
from studies.answers.route.figure import draw_run
from studies.answers.steel.figure import draw_current_sweep
from studies.drawing.cross_section import draw_cross_section
from studies.drawing.sheets import is_sheet
from studies.drawing.style import RESOLUTION, styled
from studies.text.failures import guarded
from studies.text.file_names import slugs

Draw = Callable[[], Figure]


def figure_set(result: Answers) -> dict[str, Draw]:
    """Every figure of a result by its file stem; each is drawn when its entry is called."""
    figures: dict[str, Draw] = {}
    for what, group in GROUPS.items():
        found = guarded(f"figures of {what}", partial(group, result), None)
        figures.update(found or {})
    return figures


def _map_figures(result: Answers) -> dict[str, Draw]:
    """The cross-section and the maps of the field."""
    figures: dict[str, Draw] = {names.CROSS_SECTION: partial(draw_cross_section, result.study, result.cross_section)}
    if result.map is not None:
        figures[names.FIELD_MAP] = partial(draw_field_map, result)
    if names.carries_current(result):
        figures[names.FIELD_CLOSE] = partial(draw_field_close, result)
    if result.map is not None:
        figures[names.FORMULA_DIFFERENCE] = partial(draw_formula_map, result)
    return figures


def _limit_figures(result: Answers) -> dict[str, Draw]:
    figures: dict[str, Draw] = {}
    if shows_limits(result):
        figures[names.LIMIT_DISTANCES] = partial(draw_limit_distances, result)
    if names.has_spectrum(result):
        figures[names.SPECTRUM] = partial(draw_spectrum, result)
    return figures


def _traverse_figures(result: Answers) -> dict[str, Draw]:
    stems = zip(names.traverse_stems(result), result.traverses, strict=True)
    return {stem: partial(draw_traverse, result, traverse) for stem, traverse in stems}


def _loss_figures(result: Answers) -> dict[str, Draw]:
    figures: dict[str, Draw] = {}
    for part, stem in names.loss_stems(result).items():
        flat = is_sheet(result.cross_section.part(part).shape)
        figures[stem] = partial(draw_loss_density if flat else draw_loss_section, result, part)
    if result.current_sweep:
        figures[names.CURRENT_SWEEP] = partial(draw_current_sweep, result)
    return figures


def _current_figures(result: Answers) -> dict[str, Draw]:
    figures: dict[str, Draw] = {}
    if names.carries_current(result):
        figures[names.CURRENT_DENSITY] = partial(draw_current_density, result)
    if names.has_parallel_cables(result.cross_section):
        figures[names.SHARES] = partial(draw_shares, result)
    if result.order_search is not None:
        figures[names.PHASE_ORDERS] = partial(draw_phase_orders, result)
    return figures


def _force_figures(result: Answers) -> dict[str, Draw]:
    return {
        f"{names.FAULT_FORCES}_{number}": partial(draw_force_arrows, result.cross_section, forces)
        for number, forces in enumerate((each for fault in result.fault_forces for each in fault.reported()), 1)
    }


def _route_figures(result: Answers) -> dict[str, Draw]:
    """The run of each circuit, and the cross-sections of the run that are not the study's own."""
    found = result.route_solution
    if found is None:
        return {}
    figures: dict[str, Draw] = {}
    circuits = list(found.runs.now.impedances)
    for circuit, slug in zip(circuits, slugs(circuits), strict=True):
        figures[f"{names.ROUTE}_{slug}"] = partial(draw_run, result, found, circuit)
    drawn = {id(result.study)}
    stages = found.runs.now.stages
    stems = slugs(section.name for section in stages)
    for stem, study, whole in zip(stems, found.solved.studies, found.solved.sections, strict=True):
        if id(study) not in drawn:
            drawn.add(id(study))
            figures[f"{names.RUN_SECTION}_{stem}"] = partial(draw_cross_section, study, whole)
    return figures


GROUPS: dict[str, Callable[[Answers], dict[str, Draw]]] = {
    "maps": _map_figures,
    "limits": _limit_figures,
    "traverses": _traverse_figures,
    "losses": _loss_figures,
    "currents": _current_figures,
    "the route": _route_figures,
    "faults": _force_figures,
}
"""Figures by what they show, in the order of the report."""


def save_figures(result: Answers, folder: str | Path) -> dict[str, bytes]:
    """Write every figure as PNG and SVG into a folder, which is made if it is not there.

    Returns
    -------
    pictures : dict of str to bytes
        The PNG of each figure by its stem, as the report takes them.
    """
    place = Path(folder)
    place.mkdir(parents=True, exist_ok=True)
    pictures = {}

    def save(stem: str, draw: Draw) -> None:
        figure = draw()
        pictures[stem] = png(figure)
        (place / f"{stem}.png").write_bytes(pictures[stem])
        (place / f"{stem}.svg").write_bytes(svg(figure))

    for stem, draw in figure_set(result).items():
        guarded(f"figure {stem}", partial(save, stem, draw), None)
    return pictures


def pictures_of(result: Answers) -> Mapping[str, bytes]:
    """The PNG of every figure of a result by its stem."""
    drawn = {stem: guarded(f"figure {stem}", partial(_drawn, draw), None) for stem, draw in figure_set(result).items()}
    return {stem: picture for stem, picture in drawn.items() if picture is not None}


def _drawn(draw: Draw) -> bytes:
    return png(draw())


@styled
def png(figure: Figure) -> bytes:
    """A figure as PNG, the same bytes for the same figure."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=RESOLUTION, metadata={"Software": None})
    return buffer.getvalue()


@styled
def svg(figure: Figure) -> bytes:
    """A figure as SVG without a date, the same bytes for the same figure."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="svg", dpi=RESOLUTION, metadata={"Date": None, "Creator": None})
    return buffer.getvalue()
