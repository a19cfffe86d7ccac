"""Results that nobody solved: every number, verdict and gap of them is invented, the same on every machine.

They bring about what no small study does: places that are judged in every way, units of every size, one phase order in
front of another, several circuits, sections and steels. Nothing in them agrees with physics or with itself.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from functools import partial
from types import SimpleNamespace
from typing import Any

import numpy as np

from fem.checks import Checks
from studies.answers import figure_names as names
from studies.answers.cautions.words import ALWAYS
from studies.answers.charging.rows import ChargingResult
from studies.answers.faults.compute import StatedFault
from studies.answers.faults.rows import FaultDesignResult, FaultForceResult, FaultPairResult
from studies.answers.fields.rows import FieldComponent, ReceptorResult, TraversePeak, TraverseResult
from studies.answers.formulas_beside.rows import FormulaBeside
from studies.answers.formulas_beside.words import TITLES
from studies.answers.limits.rows import LimitDistanceResult, ZoneResult
from studies.answers.losses.rows import LossResult, PartResult
from studies.answers.orders.rows import LaidOrder, OrderResult, OrderSearchResult, SolvedOrder
from studies.answers.phases.rows import PhaseResult, SequenceResult
from studies.answers.reservations.rows import ReservationResult
from studies.answers.route.rows import (
    LOAD,
    STUDY,
    DeliveredResult,
    RouteCircuitResult,
    RouteFieldResult,
    RouteLineResult,
    RouteResult,
    RouteSectionResult,
    TranspositionResult,
)
from studies.answers.steel.rows import SaturationResult, SweepPoint
from studies.result import Result
from studies.section.spectrum import components
from studies.solve.levels import AccuracyResult, MeshLevel
from studies.study.file import Study
from studies.text.failures import Failure
from tests.studies.invention import LEVEL, Invention, T

STATES = ("met", "not exceeded", "not met")
DIRECTIONS = ("right", "up", "left", "down", "overall")
CONCERNS = ("bend", "end", "laying", "steel", "net current", "circuits off")
WITHOUT_NUMBER = ("accuracy", "cancelling", "in metal", "current")


def invented(study: Study, seed: int) -> Result:
    """A result of a study, the same for the same seed."""
    draw = Invention(study, seed)
    parts = draw.section.parts
    part_names = [part.name for part in parts]
    metal = [part.name for part in parts if part.cable is None]
    receptors = tuple(_receptor(draw, entry.name, entry.at, part_names) for entry in study.receptors)
    zones = tuple(_zone(draw, zone.name, zone.window, metal) for zone in study.zones)
    circuits = [circuit.name for circuit in study.circuits]
    phases = [(phase.circuit, phase.phase) for phase in draw.section.phases]
    forces = _forces(draw)
    result = Result(
        study=study,
        cross_section=draw.section,
        receptors=receptors,
        losses=tuple(draw.row(LossResult, **_named(part)) for part in parts),
        parts=()
        if draw.some(0.1)
        else tuple(draw.row(PartResult, **_named(part)) for part in parts),  # as if it failed
        phases=tuple(draw.row(PhaseResult, circuit=circuit, phase=phase) for circuit, phase in phases),
        sequence_impedance=tuple(draw.row(SequenceResult, circuit=name) for name in draw.several(circuits)),
        zones=zones,
        limit_distances=tuple(_distances(draw)) if draw.places else (),
        saturation=tuple(
            draw.row(SaturationResult, part=name, other_curve=draw.dice.choice(("", "other one", "other two")))
            for name in draw.several(metal)
        ),
        current_sweep=tuple(
            draw.row(SweepPoint, factor=factor, receptor_b_rms_t=tuple(draw.number("_t") for _ in receptors))
            for factor in (2.0, 0.25, 1.0)
        ),
        order_search=_orders(draw),
        route=_route(draw),
        charging=tuple(
            draw.row(
                ChargingResult,
                circuit=circuit,
                phase=phase,
                method=draw.dice.choice(("coaxial", "finite element")),
                formulas_f_per_m={name: draw.number("_f_per_m") for name in draw.several(("lines", "tubes"))},
            )
            for circuit, phase in phases
        ),
        faults=forces,
        fault_pairs=tuple(draw.row(FaultPairResult, faulted_phases=pair) for pair in ("L1-L2", "L2-L3", "L3-L1")),
        fault_design=tuple(draw.row(FaultDesignResult, faulted_phases=pair) for pair in ("L1-L2-L3", "L2-L3")),
        traverses=tuple(_traverse(draw, entry.name) for entry in study.traverses),
        map=None,
        ladder=tuple(
            draw.row(
                FormulaBeside,
                quantity=quantity,
                subject=f"place {subject}",
                unit=unit,
                formula=f"formula {k}",
                source=draw.dice.choice(("a table [C]", "a book [M]", "a note [D]")),
                outside_range=draw.several(("far off", "too thick")),
            )
            for quantity, unit in zip((*TITLES, "width"), ("T", "ohm/m", "H/m", "W/m", "W/m", "W/m", "m"), strict=True)
            for subject in range(draw.dice.choice((1, 3, 14)))
            for k in range(2)
        ),
        checks=draw.row(Checks),
        accuracy=draw.row(
            AccuracyResult,
            tolerance=draw.dice.choice((0.01, 0.05)),
            levels=tuple(draw.row(MeshLevel) for _ in range(3)),
        ),
        cautions=("One thing. It is told at length.", "Another thing.", *ALWAYS),
        fields=SimpleNamespace(part_names=part_names, exterior=None),  # type: ignore[arg-type]
        drive=SimpleNamespace(currents=np.ones(1)),  # type: ignore[arg-type]
        loss_fields=SimpleNamespace(total=np.arange(1.0, len(parts) + 1)),  # type: ignore[arg-type]
        element_fields=None,  # type: ignore[arg-type]
        fault_forces=tuple(_stated_fault(draw) for _ in range(2)),
        reservations=tuple(_reservations(draw)),
        failures=(Failure("table “one”", "ValueError: no"), Failure("figure two", "OSError: full"))[: seed % 3],
    )
    assert result.order_search is not None
    return dataclasses.replace(result, order_search=_laid(draw, result.order_search)) if draw.some(0.5) else result


def _stated_fault(draw: Invention) -> StatedFault:
    forces = SimpleNamespace(cautions=draw.several(("heavy", "loose", "long")))
    return SimpleNamespace(reported=lambda: (forces,))  # type: ignore[return-value]


def all_figures(result: Result) -> dict[str, bytes]:
    """A picture under every name that the report asks for."""
    stems = [value for name, value in vars(names).items() if name.isupper() and isinstance(value, str)]
    stems += [f"{stem}_{k}" for stem in (names.ROUTE, names.RUN_SECTION, names.FAULT_FORCES) for k in (1, 2)]
    stems += [*names.traverse_stems(result), *names.loss_stems(result).values()]
    return {stem: stem.encode() for stem in stems}


def _named(part: Any) -> dict[str, Any]:
    return {"part": part.name, "kind": part.kind, "phase": None if part.cable is None else part.cable.phase}


def _receptor(draw: Invention, name: str, at: tuple[float, float], parts: Sequence[str]) -> ReceptorResult:
    own = draw.limited("b_rms_t", "b_rms_error_t")
    frequencies = [component.frequency for component in components(draw.study)]
    return draw.row(
        ReceptorResult,
        name=name,
        x_m=at[0],
        y_m=at[1],
        inside=draw.dice.choice(parts) if draw.some(0.2) else None,
        spectrum=tuple(draw.row(FieldComponent, frequency_hz=frequency) for frequency in frequencies),
        third_harmonic_b_rms_t=own["b_rms_t"] * 0.0123 if draw.some(0.6) else None,
        other_steel_b_rms_t=own["b_rms_t"] * 1.25 if own["other_steel_within_limit"] is not None else None,
        **own,
    )


def _zone(draw: Invention, name: str, window: Any, metal: Sequence[str]) -> ZoneResult:
    (x0, y0), (x1, y1) = window
    own = draw.limited("b_max_rms_t", "b_max_rms_error_t")
    solids = draw.several(metal)
    held = draw.dice.choice(solids) if solids and draw.some(0.7) else None
    given: dict[str, Any] = {} if held else dict.fromkeys(("metal_x_m", "metal_y_m", "metal_b_max_rms_t"))
    return draw.row(
        ZoneResult,
        name=name,
        x0_m=x0,
        y0_m=y0,
        x1_m=x1,
        y1_m=y1,
        where=draw.dice.choice(("right edge", "beside a tray")),
        solids=solids,
        clearance_m=0.003 if solids else None,
        metal=held,
        metal_b_max_rms_error_t=0.01 * draw.number("_t") if held else None,
        other_steel_b_max_rms_t=own["b_max_rms_t"] * 0.8 if own["other_steel_within_limit"] is not None else None,
        **{name: draw.number(name) for name in ("metal_x_m", "metal_y_m", "metal_b_max_rms_t") if held},
        **given,
        **own,
    )


def _distances(draw: Invention) -> list[LimitDistanceResult]:
    found = []
    for limit, name in ((draw.limits[0], None), (draw.limits[1], LEVEL), (draw.limits[2], None)):
        same = draw.dice.choice(STATES) if draw.some(0.4) else None
        of = draw.several(draw.places) or (draw.places[0],)
        for direction in DIRECTIONS:
            state = same or draw.dice.choice(STATES)
            found.append(
                draw.row(LimitDistanceResult, limit_t=limit, limit_name=name, of=of, direction=direction, state=state)
            )
    return found


def _orders(draw: Invention) -> OrderSearchResult:
    receptors = tuple(entry.name for entry in draw.study.receptors)
    zones = tuple(zone.name for zone in draw.study.zones)
    worst = partial(draw.dice.choice, draw.places or ("nowhere",))

    def fields(row: type[T], /, **given: Any) -> T:
        wanted = {field.name for field in dataclasses.fields(row)}  # type: ignore[arg-type]
        for name, count in (("receptor_b_rms", len(receptors)), ("zone_b_max_rms", len(zones))):
            values = tuple(draw.number("_t") for _ in range(count))
            given[f"{name}_t"] = values
            if f"{name}_error_t" in wanted:
                given[f"{name}_error_t"] = tuple(0.02 * value for value in values)
        return draw.row(row, worst_at=worst() if draw.some(0.8) else None, **given)

    def order(k: int) -> OrderResult:
        many = ("L1", "L2", "L3", "L3", "L2", "L1", "L1", "L2")
        return fields(OrderResult, phases={"F1": many[k:] + many[:k], "F2": ("L2", "L3", "L1")})

    today = order(0)
    best = (dataclasses.replace(order(1), phases=today.phases) if draw.some(0.3) else order(1), order(2), order(3))
    return draw.row(
        OrderSearchResult,
        laid=(),
        objective=draw.dice.choice(("field", "unbalance", "field and sharing")),
        receptors=receptors,
        zones=zones,
        counted=draw.several(draw.places),
        fixed=draw.several(("F3", "F4")),
        exchanges=draw.dice.choice((1, 2)),
        least_value=draw.dice.choice((0.0, 0.4321)),
        today=today,
        best=best,
        today_solved=fields(SolvedOrder),
        best_solved=fields(SolvedOrder),
    )


def _laid(draw: Invention, found: OrderSearchResult) -> OrderSearchResult:
    """The search as over the layings of a tolerance."""
    places = (*found.receptors, *found.zones)
    parts = ("F1.1.conductor", "F1.2.conductor")

    def order(name: str) -> LaidOrder:
        numbers = {key: tuple(draw.number("_t") for _ in places) for key in ("b_rms_t", "p95_b_rms_t")}
        shares = {key: tuple(draw.dice.uniform(0.5, 1.5) for _ in parts) for key in ("shares", "p95_shares")}
        at = draw.dice.choice((*places, None))
        return draw.row(LaidOrder, order=name, worst_at=at, parts=parts, **numbers, **shares)

    return dataclasses.replace(found, laid=tuple(order(name) for name in ("as stated", "no. 1", "no. 2")))


def _three(draw: Invention, name: str) -> tuple[float, ...]:
    return tuple(draw.number(name) for _ in range(3))


def _circuit(draw: Invention, name: str) -> RouteCircuitResult:
    delivered = draw.row(
        DeliveredResult,
        circuit=name,
        **{field: _three(draw, "_v") for field in ("phase_drop_v", "line_voltage_v")},
        **{field: _three(draw, "x_error_v") for field in ("phase_drop_error_v", "line_voltage_error_v")},
    )
    transposed = tuple(
        draw.row(TranspositionResult, circuit=name, transpositions=count, at_m=tuple(range(10, 10 * count, 10)))
        for count in (0, 2, 3)
    )
    return draw.row(
        RouteCircuitResult,
        circuit=name,
        drop_v=tuple(complex(value, -2 * value) for value in _three(draw, "_v")),
        drop_error_v=tuple(0.01 * value for value in _three(draw, "_v")),
        formula_drop_v=tuple(complex(value, value) for value in _three(draw, "_v")),
        phase_impedance_ohm=((1j, 0j, 0j), (0j, 1j, 0j), (0j, 0j, 1j)),
        delivered=delivered if draw.some(0.6) else None,
        transpositions=transposed if draw.some(0.6) else (),
    )


def _route(draw: Invention) -> RouteResult:
    circuits = [circuit.name for circuit in draw.study.circuits]
    sections = tuple(
        draw.row(
            RouteSectionResult,
            section=name,
            phases={"F1": ("L1", "L2", "L3"), "F2": ("L2", "L1", "L3")},
            changes=draw.several(("spacing 60 mm", "no tray")),
        )
        for name in ("hall", "yard", "shaft")[: draw.dice.choice((1, 2, 3))]
    )
    lines = tuple(
        draw.row(RouteLineResult, line=part.name, layer=part.kind) for part in draw.section.parts if draw.some(0.6)
    )
    fields = tuple(
        _route_field(draw, receptor.name, section.section) for receptor in draw.study.receptors for section in sections
    )
    return draw.row(
        RouteResult,
        sections=sections,
        circuits=tuple(_circuit(draw, name) for name in circuits),
        lines=lines,
        fields=fields,
        worst_sections=(),
        load_words="90 kW",
    )


def _route_field(draw: Invention, receptor: str, section: str) -> RouteFieldResult:
    limit = draw.dice.choice((*draw.limits, None))
    return draw.row(
        RouteFieldResult,
        receptor=receptor,
        section=section,
        b_rms_t=draw.number("_t") if limit is None else limit * draw.dice.choice((0.5, 0.98, 1.5, 2.5)),
        limit_t=limit,
        within_limit=None if limit is None else draw.some(0.5),
        judged_at=draw.dice.choice((STUDY, LOAD)),
    )


def _forces(draw: Invention) -> tuple[FaultForceResult, ...]:
    found = []
    for fault, phases, peak in (
        ("three-phase F1", "L1-L2-L3", 4e4),
        ("two-phase F1", "L1-L2", 3e4),
        ("three-phase F2", "L1-L2-L3", 5e3),
    ):
        same: dict[str, Any] = {"fault": fault, "faulted_phases": phases, "circuit": fault[-2:], "peak_current_a": peak}
        found += [
            draw.row(
                FaultForceResult,
                cable=f"{fault[-2:]}.{k}",
                phase=f"L{k}",
                standard_difference_reason=draw.dice.choice(("", "close", "bent")),
                **same,
            )
            for k in (1, 2, 3)
        ]
    return tuple(found)


def _traverse(draw: Invention, name: str) -> TraverseResult:
    arrays = {
        field.name: np.array([draw.number("_t") for _ in range(4)])
        for field in dataclasses.fields(TraverseResult)
        if field.name not in ("name", "points_m", "distance_m", "peak")
    }
    arrays["b_rms_error_t"] = arrays["b_rms_t"] * np.array([0.002, 0.03, 0.07, 0.001])
    top = 1.13 * float(arrays["b_rms_t"].max())
    peak = TraversePeak(distance_m=1.37, x_m=2.74, y_m=3.74, b_rms_t=top, b_rms_error_t=0.004 * top)
    return TraverseResult(name, points_m=np.arange(8.0).reshape(4, 2), distance_m=np.arange(4.0), peak=peak, **arrays)


def _reservations(draw: Invention) -> list[ReservationResult]:
    found = []
    places = [("receptor", entry.name, "") for entry in draw.study.receptors]
    places += [("zone", zone.name, "") for zone in draw.study.zones]
    places += [("route", entry.name, section) for entry in draw.study.receptors for section in ("hall", "yard")]
    for kind, place, section in places:
        for concern in draw.several((*CONCERNS, *WITHOUT_NUMBER)):
            bare = concern in WITHOUT_NUMBER
            found.append(
                draw.row(
                    ReservationResult,
                    kind=kind,
                    place=place,
                    section=section,
                    concern=concern,
                    b_rms_t=None if bare else draw.number("_t"),
                    within_limit=None if bare else draw.some(0.5),
                    words=f"{concern} of its own",
                )
            )
    return found
