"""What the tables of a report hold of losses, parts, bonds and impedances, and of the formulas beside numbers."""

import math
import re
from collections.abc import Callable, Iterator, Mapping
from types import SimpleNamespace
from typing import Any

from studies.result import Result
from studies.section.parts import parallel_conductors
from studies.section.spectrum import components
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from tests.studies.cells import FLUX, LOSS, Expected, Known, angle, err, inductance_off, num, off, words

TITLES: Mapping[str, tuple[str, str | tuple[str, ...]]] = {
    "field": ("Flux density at the receptors", FLUX),
    "resistance": ("Ac resistance of the conductors", "Ω/km"),
    "inductance": ("Inductance of the phases", "mH/km"),
    "screen loss": ("Loss of the screens", LOSS),
    "sheath loss": ("Loss of the sheaths", LOSS),
    "tray loss": ("Loss of the trays", LOSS),
}


def loss_tables(result: Result) -> Iterator[Known]:
    hysteresis = any(loss.magnetic_loss_w_per_m > 0 for loss in result.losses)
    own = (num("Of it hysteresis", LOSS, lambda row: row.magnetic_loss_w_per_m),) if hysteresis else ()
    currents = {part.part: part.current_rms_a for part in result.parts}
    total = math.fsum(loss.loss_w_per_m for loss in result.losses)
    yield Known(
        f"Loss per metre of run{together(result)}",
        [*result.losses, *loss_sums(result)],
        (
            words("Part", lambda row: row.part),
            words("Phase", lambda row: row.phase),
            num("Current, rms", "A", lambda row: currents.get(row.part)),
            num("Loss", LOSS, lambda row: row.loss_w_per_m),
            err(LOSS, lambda row: row.loss_error_w_per_m, within=lambda row: row.within_tolerance),
            *own,
            num("Share", "%", lambda row: row.loss_w_per_m / total if total > 0 else None),
            num("Formula", LOSS, lambda row: row.formula_loss_w_per_m),
            num("Difference", "%", lambda row: off(row.formula_loss_w_per_m, row.loss_w_per_m)),
            words("Formula used", _formula_used),
        ),
    )
    if result.saturation:
        yield Known(
            f"Magnetisation of saturating steel{alone(result)}",
            result.saturation,
            (
                words("Part", lambda row: row.part),
                num("Mean of the peaks", FLUX, lambda row: row.mean_peak_b_t),
                num("Largest peak", FLUX, lambda row: row.peak_b_t),
                num("Loss", LOSS, lambda row: row.loss_w_per_m),
                num("Linear loss", LOSS, lambda row: row.linear_loss_w_per_m),
                num("Loss over linear", "%", lambda row: off(row.loss_w_per_m, row.linear_loss_w_per_m)),
                num("Linear permeability", "–", lambda row: row.relative_permeability),
                num("Error of the rule", "%", lambda row: row.rule_error),
                num("Solves", "–", lambda row: float(row.solves)),
            ),
        )
        yield from other_steel_tables(result)
    if result.current_sweep:
        yield Known(
            f"The study at other currents{alone(result)}",
            sorted(result.current_sweep, key=lambda point: point.factor),
            (
                num("Factor of all currents", "–", lambda row: row.factor),
                num("Loss of trays and metalwork", LOSS, lambda row: row.tray_loss_w_per_m),
                num("By the square law", LOSS, lambda row: row.quadratic_tray_loss_w_per_m),
                num("Difference", "%", lambda r: off(r.quadratic_tray_loss_w_per_m, r.tray_loss_w_per_m)),
                num("Loss of conductors", LOSS, lambda row: row.conductor_loss_w_per_m),
                *(num(f"Field, {own.name}", FLUX, _swept_field(k)) for k, own in enumerate(result.receptors[:6])),
            ),
        )
    yield from _part_tables(result)


def other_steel_tables(result: Result) -> Iterator[Known]:
    """Fields and losses with the curves of two steels, under the names of the curves."""
    saturated = {part.part for part in result.saturation}
    known = [part for part in result.saturation if part.other_curve]
    curves = [", ".join(dict.fromkeys(names)) for names in zip(*((p.curve, p.other_curve) for p in known), strict=True)]
    fields = [(r.name, r.b_rms_t, r.other_steel_b_rms_t, r.other_steel_within_limit) for r in result.receptors]
    fields += [
        (f"zone {z.name}", z.b_max_rms_t, z.other_steel_b_max_rms_t, z.other_steel_within_limit) for z in result.zones
    ]
    losses = [
        (own.part, own.loss_w_per_m, own.other_steel_loss_w_per_m, None)
        for own in result.losses
        if own.part in saturated
    ]
    said = {True: "within the limit", False: "above the limit", None: None}
    for caption, units, rows in (
        ("Fields with another steel", FLUX, fields),
        ("Losses with another steel", LOSS, losses),
    ):
        told = [row for row in rows if row[2] is not None]
        judged = any(row[3] is not None for row in told)
        verdict = words("Verdict with the other steel", lambda row: re.compile(rf"(! )?{said[row[3]] or '–'}$"))
        if told:
            yield Known(
                caption,
                told,
                (
                    words("Of", lambda row: row[0]),
                    num(curves[0], units, lambda row: row[1]),
                    num(curves[1], units, lambda row: row[2]),
                    num("Difference", "%", lambda row: off(row[2], row[1])),
                    *((verdict,) if judged else ()),
                ),
            )


def alone(result: Result) -> str:
    """What the caption of a table of one of several frequencies says."""
    return f", at {result.cross_section.frequency:g} Hz alone" if len(components(result.study)) > 1 else ""


def together(result: Result) -> str:
    """What the caption of a table says that sums over several frequencies."""
    direct = any(circuit.direct_current is not None for circuit in result.study.circuits)
    several = ", all frequencies together" if len(components(result.study)) > 1 else ""
    return several + (", without direct currents" if direct else "")


def _swept_field(k: int) -> Callable[[Any], Any]:
    return lambda row: row.receptor_b_rms_t[k]


def _formula_used(row: Any) -> str:
    outside = f" (outside its range: {row.formula_outside_range})" if row.formula_outside_range else ""
    return f"{row.formula}{outside}"


def loss_sums(result: Result) -> Iterator[Any]:
    kinds = list(dict.fromkeys(loss.kind for loss in result.losses))
    for kind in (*kinds, None):
        own = [loss for loss in result.losses if kind in (loss.kind, None)]
        formulas = [loss.formula_loss_w_per_m for loss in own]
        known = [formula for formula in formulas if formula is not None]
        plural = "metalwork" if kind == "metalwork" else f"{kind}s"
        yield SimpleNamespace(
            part=f"{'All parts' if kind is None else plural.capitalize()} ({len(own)})",
            phase=None,
            loss_w_per_m=math.fsum(loss.loss_w_per_m for loss in own),
            loss_error_w_per_m=math.fsum(loss.loss_error_w_per_m for loss in own),
            magnetic_loss_w_per_m=math.fsum(loss.magnetic_loss_w_per_m for loss in own),
            formula_loss_w_per_m=math.fsum(known) if len(known) == len(own) else None,
            formula="",
            formula_outside_range="",
            within_tolerance=True,
        )


def _part_tables(result: Result) -> Iterator[Known]:
    parallel = parallel_conductors(result.cross_section)
    several = len(components(result.study)) > 1

    def resistance(row: Any) -> float | None:
        return row.r_ac_ohm_per_m if row.kind in (CONDUCTOR, *METAL_LAYERS) else None

    shared = num("Of equal share", "%", lambda row: row.share_of_phase if row.part in parallel else None)
    overall = (num("Current over all frequencies, rms", "A", lambda row: row.current_rms_a),) if several else ()
    yield Known(
        "Currents, voltages and resistances of the parts" + (", at the fundamental of each" if several else ""),
        result.parts,
        (
            words("Part", lambda row: row.part),
            words("Phase", lambda row: row.phase),
            num("Current, rms", "A", lambda row: abs(row.current_a)),
            num("Current angle", "°", lambda row: angle(row.current_a)),
            num("Voltage, rms", "V/km", lambda row: abs(row.voltage_v_per_m)),
            num("Voltage angle", "°", lambda row: angle(row.voltage_v_per_m)),
            num("R dc", "Ω/km", lambda row: row.r_dc_ohm_per_m),
            num("R ac", "Ω/km", resistance),
            err("Ω/km", lambda row: None if resistance(row) is None else row.r_ac_error_ohm_per_m),
            num(
                "R ac / R dc",
                "–",
                lambda row: None if resistance(row) is None else resistance(row) / row.r_dc_ohm_per_m,
            ),
            *((shared,) if parallel else ()),
            *overall,
        ),
    )
    if parallel:
        yield Known(
            f"Sharing between parallel cables{together(result)}",
            [row for row in result.parts if row.part in parallel],
            (
                words("Cable", lambda row: row.part.removesuffix(".conductor")),
                words("Phase", lambda row: row.phase),
                num("Current, rms", "A", lambda row: row.current_rms_a),
                err("A", lambda row: row.current_error_a),
                num("Of equal share", "%", lambda row: row.share_of_phase),
                num("Closed form", "A", lambda row: row.formula_current_rms_a),
                num("Difference", "%", lambda row: off(row.formula_current_rms_a, row.current_rms_a)),
            ),
        )


def bond_tables(result: Result) -> Iterator[Known]:
    study, section = result.study, result.cross_section
    if study.bonds:
        yield Known(
            "Bonds",
            list(enumerate(study.bonds, 1)),
            (
                words("Bond", lambda row: f"no. {row[0]}"),
                words("Parts", lambda row: ", ".join(row[1].parts)),
                words("Kind", lambda row: row[1].kind),
                num("Closing R", "Ω/km", lambda row: row[1].impedance and row[1].impedance[0]),
                num("Closing X", "Ω/km", lambda row: row[1].impedance and row[1].impedance[1]),
                words("Through the earth", lambda row: "yes" if row[1].earth else "no"),
            ),
        )
    driven = {part for phase in section.phases for part in section.ties[phase.tie].parts}
    carriers = [row for row in result.parts if row.part not in driven and row.current_rms_a > 0]
    losses = {loss.part: loss.loss_w_per_m for loss in result.losses}
    largest = max(row.current_rms_a for row in result.parts)
    closed = num("Closed form", "A", lambda row: row.formula_current_rms_a)
    if carriers:
        yield Known(
            f"Circulating currents{together(result)}",
            carriers,
            (
                words("Part", lambda row: row.part),
                words("Bond", lambda row: re.compile(r"(no\. \d+(, cross-bonded)?|rungs|–)$")),
                num("Current, rms", "A", lambda row: row.current_rms_a),
                *((closed,) if any(row.formula_current_rms_a is not None for row in carriers) else ()),
                num("Of the largest current", "%", lambda row: row.current_rms_a / largest),
                num("Loss", LOSS, lambda row: losses[row.part]),
            ),
        )
    loose = [row for row in result.parts if row.standing_voltage_v_per_100m is not None]
    if loose:
        yield Known(
            "Standing voltages of metal layers without a closed bond",
            loose,
            (
                words("Part", lambda row: row.part),
                words("Phase", lambda row: row.phase),
                num("Voltage for each 100 m of run, rms", "V", lambda row: row.standing_voltage_v_per_100m),
            ),
        )


def impedance_tables(result: Result) -> Iterator[Known]:
    def of(name: str, part: str = "") -> Any:
        def value(row: Any) -> Any:
            found = getattr(row, name)
            return found if found is None or not part else getattr(found, part)

        return value

    yield Known(
        "Impedance of the phases with the study's currents",
        result.phases,
        (
            words("Phase", lambda row: f"{row.circuit} {row.phase}"),
            num("R", "Ω/km", of("z_ohm_per_m", "real")),
            num("X", "Ω/km", of("z_ohm_per_m", "imag")),
            err("Ω/km", of("z_error_ohm_per_m"), within=lambda row: row.within_tolerance or row.z_ohm_per_m is None),
            num("R, line formula", "Ω/km", of("formula_z_ohm_per_m", "real")),
            num("X, line formula", "Ω/km", of("formula_z_ohm_per_m", "imag")),
            num("L", "mH/km", of("inductance_h_per_m")),
            num("L, line formula", "mH/km", of("formula_inductance_h_per_m")),
            num("Difference, line", "%", lambda row: inductance_off(result, row, row.formula_inductance_h_per_m)),
            num("L, mean by GMD", "mH/km", lambda row: row.gmd_inductance_h_per_m if row.z_ohm_per_m else None),
            num("Difference, GMD", "%", lambda row: inductance_off(result, row, row.gmd_inductance_h_per_m)),
        ),
    )
    asked = result.accuracy.tolerance
    if result.sequence_impedance:
        yield Known(
            "Sequence impedances",
            result.sequence_impedance,
            (
                words("Circuit", lambda row: row.circuit),
                num("R1", "Ω/km", of("z1_ohm_per_m", "real")),
                num("X1", "Ω/km", of("z1_ohm_per_m", "imag")),
                err(
                    "Ω/km",
                    of("z1_error_ohm_per_m"),
                    within=lambda row: row.z1_error_ohm_per_m <= asked * abs(row.z1_ohm_per_m),
                ),
                num("R1, formula", "Ω/km", of("formula_z1_ohm_per_m", "real")),
                num("X1, formula", "Ω/km", of("formula_z1_ohm_per_m", "imag")),
                num("X1 difference", "%", lambda row: off(row.formula_z1_ohm_per_m.imag, row.z1_ohm_per_m.imag)),
            ),
        )

        def coupling(name: str) -> tuple[Expected, ...]:
            """A magnitude, and over that of Z1, by the finite elements and by the line formula."""
            key = name.lower()
            return (
                num(f"|{name}|", "Ω/km", lambda row: abs(getattr(row, f"{key}_ohm_per_m"))),
                num(f"|{name}/Z11|", "%", of(f"{key}_over_z11")),
                err("%", of(f"{key}_over_z11_error")),
                num(f"|{name}/Z11|, line formula", "%", of(f"formula_{key}_over_z11")),
            )

        yield Known(
            "Unbalance of the phases",
            result.sequence_impedance,
            (words("Circuit", lambda row: row.circuit), *coupling("Z21"), *coupling("Z01")),
        )


def formula_tables(result: Result) -> Iterator[Known]:
    for kind in dict.fromkeys(row.quantity for row in result.ladder):
        own = [row for row in result.ladder if row.quantity == kind]
        first = list(dict.fromkeys(row.subject for row in own))[:12]
        title, units = TITLES[kind]
        yield Known(
            title,
            [row for row in own if row.subject in first],
            (
                words("Of", lambda row: row.subject),
                words("Formula", lambda row: row.formula),
                num("Value", units, lambda row: row.value_in_unit),
                num("Finite element", units, lambda row: row.finite_element_in_unit),
                num("Difference", "%", lambda row: off(row.value_in_unit, row.finite_element_in_unit)),
                words("Outside its range", lambda row: "; ".join(row.outside_range) or "–"),
            ),
        )
