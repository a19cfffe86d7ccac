"""The cautions that travel with every result: the usual ones, and those this study calls for."""

from __future__ import annotations

from fem.materials import AIR
from studies.accuracy import Solved
from studies.cross_section import TRAY, CrossSection
from studies.parts import SCREEN
from studies.results import AccuracyResult
from studies.study import Study

TWO_DIMENSIONAL = (
    "The cross-section is computed as if it went on unchanged: ends, bends, risers, ladder rungs, perforations, joints "
    "and crossings are three-dimensional and are not in these numbers."
)
ALWAYS = (
    "This result supports, and does not replace, the judgement of a licensed engineer.",
    "Local wiring codes and the equipment maker's installation limits come first.",
    "Current ratings are outside the scope of this study.",
    TWO_DIMENSIONAL,
    "Persons with implanted devices need an assessment of their own.",
    "Measure after installation.",
)
STEEL = (
    "Steel is computed with a constant permeability. Real sheet varies from batch to batch and saturates near "
    "conductors at hundreds of amperes: take the tray's loss and its shielding as an estimate and compare "
    "permeabilities."
)
OPEN_SCREENS = (
    "Screens bonded at one point only carry a standing voltage on their open end, which can be dangerous to touch; it "
    "is listed with the parts, per metre of run."
)
OPEN_TRAY = "A tray that is not bonded along its run can carry a dangerous voltage; bond it as the local code asks."
ENCIRCLED = (
    "Steel closed around the cables of one phase, or around unbalanced currents, heats: keep all phases together."
)
NET_CURRENT = (
    "The currents do not sum to zero ({net:.3g} A). The rest is taken to return {radius:g} m away; impedances and "
    "voltages depend on that distance, and the far field falls only with 1/r."
)
NOT_MET = (
    "The asked accuracy of {asked:.2g} % was not reached everywhere; the largest error estimate is {reached:.2g} %. "
    "The numbers concerned are marked."
)


def cautions(study: Study, section: CrossSection, solved: Solved, accuracy: AccuracyResult) -> tuple[str, ...]:
    """Cautions of a solved study, the particular ones first."""
    found: list[str] = []
    if not accuracy.met:
        found.append(NOT_MET.format(asked=100 * accuracy.tolerance, reached=100 * accuracy.worst_error))
    net = abs(section.net_current())
    largest = max((abs(tie.current) for tie in section.ties), default=0.0)
    if net > 1e-6 * largest:
        found.append(NET_CURRENT.format(net=net, radius=solved.fields.exterior.reference_radius))
    trays = [part for part in section.parts if part.kind == TRAY]
    if any(part.material.relative_permeability != AIR.relative_permeability for part in trays):
        found.append(STEEL)
    if any(tray.cover == "closed" for tray in study.trays):
        found.append(ENCIRCLED)
    bonded = {part for tie in section.ties if len(tie.parts) > 1 for part in tie.parts}
    if any(part.kind == SCREEN and part.name not in bonded for part in section.parts):
        found.append(OPEN_SCREENS)
    if any(part.name not in bonded for part in trays):
        found.append(OPEN_TRAY)
    return (*found, *ALWAYS)
