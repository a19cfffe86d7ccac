"""Loss of plates by closed forms, with the net currents of the solution."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from fem.arrays import Complexes, Floats
from studies.answers.plates.rows import (
    ONE_OPENING,
    OTHER_METAL,
    SLOTTED,
    STATED,
    PlateCable,
    PlateResult,
    PlateWay,
)
from studies.data.materials import Material, conductivity_at
from studies.formulas.pierced_plate import (
    common_opening_loss,
    pierced_plate_loss,
    plate_rim_loss,
    saturated_pierced_plate_loss,
    shared_plate_loss,
    slotted_plate_share,
)
from studies.section.parts import PlacedCable
from studies.section.pierced import cables_through, hole_places
from studies.solve.solution import Solution, combined_error, root_sum_square
from studies.study.file import Study
from studies.study.materials import material_of
from studies.study.plates import MAGNETIC, ONE_EACH, Plate
from studies.text.failures import guarded
from studies.text.table import ROUND_OFF


@dataclass(frozen=True)
class PlateMetal:
    """Sheet of a plate."""

    material: Material
    thickness: float
    temperature: float

    def at(self, frequency: float) -> tuple[float, float, float, float]:
        """Thickness [m], conductivity [S/m], frequency [Hz] and permeability, as the formulas take them."""
        conductivity = conductivity_at(self.material, self.temperature)
        return self.thickness, conductivity, frequency, self.material.relative_permeability


@dataclass(frozen=True)
class CurrentsThrough:
    """Net currents of the cables through a plate at each frequency: phasors and errors, shape (n,). [A]"""

    frequencies: tuple[float, ...]
    currents: tuple[Complexes, ...]
    errors: tuple[Floats, ...]

    def summed(self, loss: Callable[[Complexes, float], Floats | float]) -> Floats:
        """Sum of a loss over the frequencies. [W]"""
        return np.asarray(sum(loss(i, f) for i, f in zip(self.currents, self.frequencies, strict=True)))


def plate_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[PlateResult, ...]:
    """Loss of every plate; one that fails costs only itself."""
    found = (
        guarded(f"loss of the plate {plate.name}", partial(_plate, study, plate, solutions), None)
        for plate in study.plates
    )
    return tuple(row for row in found if row is not None)


def _plate(study: Study, plate: Plate, solutions: tuple[Solution, ...]) -> PlateResult:
    cables = cables_through(plate, solutions[0].section.cables)
    through = _through(solutions, cables)
    own = PlateMetal(material_of(study, plate.material), plate.thickness, plate.temperature)
    other = PlateMetal(material_of(study, plate.instead), plate.thickness, plate.temperature)
    each = plate.openings == ONE_EACH
    rows = _cables(plate, own, cables, through)
    ways = (
        _ways_each(plate, own, other, cables, through, rows) if each else _ways_all(plate, own, other, through, cables)
    )
    return PlateResult(
        *(plate.name, plate.count, plate.openings, plate.material, plate.thickness),
        *(plate.hole_diameter / 2, plate.edge, plate.slot_width),
        encloses_single=each and own.material.relative_permeability > MAGNETIC,
        cables=rows,
        ways=ways,
    )


def _through(solutions: tuple[Solution, ...], cables: Sequence[PlacedCable]) -> CurrentsThrough:
    parts = solutions[0].section.parts
    sums = np.array([[part.cable == cable for part in parts] for cable in cables], dtype=np.float64)
    currents = [sums @ solution.solved.drive.currents for solution in solutions]
    errors = [solution.estimate.of(lambda r: sums @ r.currents) for solution in solutions]
    return CurrentsThrough(tuple(solution.frequency for solution in solutions), tuple(currents), tuple(errors))


def _alone(plate: Plate, metal: PlateMetal, size: Floats, frequency: float) -> Floats:
    """Loss of round plates of constant permeability about each current alone, with both rims. [W]"""
    radii, sheet = (plate.hole_diameter / 2, plate.edge), metal.at(frequency)
    rims = sum(plate_rim_loss(size, radius, *sheet) for radius in radii)
    return np.asarray(pierced_plate_loss(size, *radii, *sheet) + rims)


def _cables(
    plate: Plate, metal: PlateMetal, cables: Sequence[PlacedCable], through: CurrentsThrough
) -> tuple[PlateCable, ...]:
    sizes = [np.abs(i) for i in through.currents]
    current, error = root_sum_square(sizes), combined_error(sizes, list(through.errors))
    error = np.where(error < ROUND_OFF * current, 0.0, error)  # a current that is given
    each = plate.openings == ONE_EACH
    loss = through.summed(lambda i, f: _alone(plate, metal, np.abs(i), f))
    saturated = _saturated(plate, metal, through, loss)
    return tuple(
        PlateCable(
            *(cable.label, cable.phase, float(current[k]), float(error[k])),
            loss_w=float(loss[k]) if each else None,
            saturated_loss_w=None if saturated is None else float(saturated[k]),
        )
        for k, cable in enumerate(cables)
    )


def _saturated(plate: Plate, metal: PlateMetal, through: CurrentsThrough, loss: Floats) -> Floats | None:
    """Saturated at the first frequency, and by the others raised as the loss of constant permeability. [W]"""
    if plate.saturation is None:
        return None
    frequency, size = through.frequencies[0], np.abs(through.currents[0])
    thickness, conductivity, _, _ = metal.at(frequency)
    first = _alone(plate, metal, size, frequency)
    flowing = size > 0
    geometry = (plate.hole_diameter / 2, plate.edge, thickness, conductivity, frequency, plate.saturation)
    own = saturated_pierced_plate_loss(np.where(flowing, size, 1.0), *geometry)
    return np.where(flowing, own * loss / np.where(flowing, first, 1.0), loss)


def _ways_each(
    plate: Plate,
    own: PlateMetal,
    other: PlateMetal,
    cables: Sequence[PlacedCable],
    through: CurrentsThrough,
    rows: tuple[PlateCable, ...],
) -> tuple[PlateWay, ...]:
    """As stated, with slots, of another metal, through one opening."""
    radius, count = plate.hole_diameter / 2, plate.count
    places = hole_places(plate, cables)
    saturated = [row.saturated_loss_w for row in rows if row.saturated_loss_w is not None]

    def alone(metal: PlateMetal) -> float:
        return count * float(through.summed(lambda i, f: _alone(plate, metal, np.abs(i), f)).sum())

    def shared(metal: PlateMetal) -> float | None:
        if len(cables) < 2:
            return None
        faces = through.summed(lambda i, f: shared_plate_loss(i, places, radius, plate.edge, *metal.at(f)))
        rims = through.summed(lambda i, f: plate_rim_loss(np.abs(i), radius, *metal.at(f))).sum()
        return count * float(faces + rims)

    def slotted(leakage: float) -> float:
        width, edge = plate.slot_width or 0.0, plate.edge
        shares = through.summed(
            lambda i, f: (
                slotted_plate_share(width, radius, edge, *own.at(f), leakage) * _alone(plate, own, np.abs(i), f)
            )
        )
        return count * float(shares.sum())

    total = count * sum(saturated) if saturated else None
    ways = [PlateWay(STATED, plate.material, radius, alone(own), shared(own), None, total)]
    if plate.slot_width is not None:
        ways.append(PlateWay(SLOTTED, plate.material, radius, slotted(1.0), None, slotted(0.0), None))
    if own.material.relative_permeability > MAGNETIC:
        ways.append(PlateWay(OTHER_METAL, plate.instead, radius, alone(other), shared(other), None, None))
    if len(cables) > 1:
        drawn = hole_places(plate.model_copy(update={"spacing": None}), cables)
        reach = float(np.linalg.norm(drawn, axis=1).max())
        opening = reach + radius
        loss = _opening(plate, own, drawn, opening, plate.edge + reach, through)
        ways.append(PlateWay(ONE_OPENING, plate.material, opening, loss, None, None, None))
    return tuple(ways)


def _ways_all(
    plate: Plate, own: PlateMetal, other: PlateMetal, through: CurrentsThrough, cables: Sequence[PlacedCable]
) -> tuple[PlateWay, ...]:
    """As stated, and of another metal."""
    radius, places = plate.hole_diameter / 2, hole_places(plate, cables)
    ways = [(STATED, plate.material, own)]
    if own.material.relative_permeability > MAGNETIC:
        ways.append((OTHER_METAL, plate.instead, other))
    return tuple(
        PlateWay(way, name, radius, _opening(plate, metal, places, radius, plate.edge, through), None, None, None)
        for way, name, metal in ways
    )


def _opening(
    plate: Plate, metal: PlateMetal, places: Floats, radius: float, edge: float, through: CurrentsThrough
) -> float:
    """Loss of all plates with one opening for all cables. [W]"""
    loss = through.summed(lambda i, f: common_opening_loss(i, places, radius, edge, *metal.at(f)))
    return plate.count * float(loss)
