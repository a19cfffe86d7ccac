"""What the tables of the sheet to sign hold: what was asked, value with error, limit, margin, verdict, section."""

import re
from collections.abc import Iterator
from typing import Any

from studies.report.sheet import sheet_rows, split_of
from studies.result import Result
from studies.section.parts import parallel_conductors
from studies.study.circuits import phase_currents
from tests.studies.cells import Known, Told, first_of_most, num, words
from tests.studies.cells_of_fields import beside_verdict, share_of, verdict, without_net
from tests.studies.cells_of_sheet_installed import installed_rows
from tests.studies.sheet_rows import NUMBER, Row, told


def sheet_tables(result: Result) -> Iterator[Known]:
    """Verdicts, all else that was asked, the circuits as drawn; then what page one has no room for."""
    rows, split = list(_rows(result)), split_of(result)
    after = [row in (*split.judged_after, *split.others_after) for row in sheet_rows(result)]
    assert len(after) == len(rows)
    for more, wanted in (("", False), (", continued", True)):
        yield from _tables(result, [row for row, is_after in zip(rows, after, strict=True) if is_after == wanted], more)
    yield _circuits(result)


def _tables(result: Result, rows: list[Row], more: str) -> Iterator[Known]:
    judged, others = [row for row in rows if row.is_judged], [row for row in rows if not row.is_judged]
    asked = words("Asked", lambda row: row.of)
    value = words("Value", lambda row: told(row.value[0], *row.value[1]))
    beyond = words("Not covered by the ±", lambda row: re.compile(row.beyond or ""))
    section = words("Section", lambda row: NUMBER)
    if judged:
        columns = (
            asked,
            value,
            words("Limit", lambda row: told(row.limit[0], *row.limit[1])),
            words_of_margin(),
            words("Verdict", lambda row: row.verdict),
        )
        told_beyond = (beyond,) if _has_beyond(result, judged) else ()
        yield Known(f"Verdicts{more}", judged, (*columns, *told_beyond, section))
    if others:
        told_beyond = (beyond,) if any(row.beyond for row in others) else ()
        yield Known(f"Answers without a limit{more}", others, (asked, value, *told_beyond, section))


def words_of_margin() -> Any:
    """Margins, a number in per cent or words."""
    return words("Margin", lambda row: told(row.margin[0], *row.margin[1]))


def _has_beyond(result: Result, judged: list[Row]) -> bool:
    places = {row.place for row in result.reservations if row.kind != "route"}
    entries: tuple[Any, ...] = (*result.receptors, *result.zones)
    fields = {entry.name for entry in entries if entry.within_limit is not None}
    return bool(places & fields) or any(row.beyond for row in judged)


def _rows(result: Result) -> Iterator[Row]:
    yield from (_place(result, entry) for entry in result.receptors)
    yield from (_place(result, zone) for zone in result.zones)
    yield from _distances(result)
    for traverse in result.traverses:
        top = traverse.peak
        assert top is not None
        peak = (top.b_rms_t, top.b_rms_error_t, top.distance_m)
        yield Row(f"Highest field along “{traverse.name}”{without_net(result)}", ("{±T}, {m} from its start", peak))
    loss = sum(one.loss_w_per_m for one in result.losses), sum(one.loss_error_w_per_m for one in result.losses)
    direct = any(circuit.direct_current is not None for circuit in result.study.circuits)
    yield Row("Loss of all parts per metre of run" + ", without direct currents" * direct, ("{±W/m}", loss))
    yield from _sweep(result)
    yield from _parts(result)
    yield from _impedances(result)
    yield from _order(result)
    yield from _run(result)
    yield from _charging(result)
    yield from _forces(result)
    yield from installed_rows(result)


def _place(result: Result, entry: Any) -> Row:
    zone = hasattr(entry, "b_max_rms_t")
    field = (entry.b_max_rms_t, entry.b_max_rms_error_t) if zone else (entry.b_rms_t, entry.b_rms_error_t)
    of = f"Highest field in “{entry.name}”" if zone else f"Field at “{entry.name}”"
    if entry.limit_t is None:
        is_judged = entry.limit_name is not None
        return Row(of, ("{±T}", field), verdict="not judged", is_judged=is_judged)
    share, spread = share_of(entry)
    index = entry.limit_name is not None and len(entry.spectrum if not zone else result.receptors[0].spectrum) > 1
    value: tuple[str, tuple[Any, ...]] = ("{±T}", field)
    limit: tuple[str, tuple[Any, ...]] = (
        "{T}" + (f", {entry.limit_name}" if entry.limit_name else ""),
        (entry.limit_t,),
    )
    if index:
        value = ("{±T}, exposure index {±}", (*field, entry.exposure_index, entry.exposure_error))
        limit = (f"index {{}} of {entry.limit_name}", (1.0,))
    margin: tuple[str, tuple[Any, ...]] = ("{} times the limit", (share,))
    if share <= 1:
        margin = ("{*} %", ()) if abs(1 - share - spread) < 1e-9 else ("{} %", (100 * (1 - share - spread),))
    if entry.other_steel_within_limit is not None:  # in words that the cells of the receptors' table read
        return Row(of, value, limit, margin, re.compile("within|above|limit"), is_judged=True)
    word = verdict(entry.limit_t, entry.within_limit, share)
    inside = None if zone else entry.inside
    word += f", inside {inside}" if inside else ""
    word += beside_verdict(result, entry, "as drawn only")
    margin = ("–", ()) if "ABOVE" in word else margin
    return Row(of, value, limit, margin, word, is_judged=True)


def _distances(result: Result) -> Iterator[Row]:
    for row in result.limit_distances:
        if row.direction != "overall":
            continue
        value: tuple[str, tuple[Any, ...]] = ("{±m} from the outline", (row.from_outline_m, row.error_m))
        if row.state != "met":
            value = ("{*}", ())
        elif row.at_outline:
            value = ("at the outline", ())
        name = row.limit_name
        net = without_net(result)
        limit = told(f"Distance beyond which {{T}} is met{net}", row.limit_t)
        yield Row(f"Distance beyond which {name} is met{net}" if name else limit, value)


def _sweep(result: Result) -> Iterator[Row]:
    if result.current_sweep:
        ordered = sorted(result.current_sweep, key=lambda point: point.factor)
        first, last = ordered[0], ordered[-1]
        of = f"Loss of the trays at {first.factor:g} to {last.factor:g} times the currents"
        losses = (first.tray_loss_w_per_m, last.tray_loss_w_per_m)
        yield Row(of, ("{W/m} to {W/m}", losses), beyond="no error estimate of its own")


def _parts(result: Result) -> Iterator[Row]:
    parallel = parallel_conductors(result.cross_section)
    shares = [(part.share_of_phase, part.part) for part in result.parts if part.part in parallel]
    known = [(share, name) for share, name in shares if share is not None]
    if known:
        share, name = first_of_most(known, lambda pair: pair[0])
        yield Row("Largest current of parallel cables", (f"{{%}} of an equal share, {name}", (share,)))
    metal = [part for part in result.parts if part.kind != "conductor" and part.current_rms_a > 0]
    if metal:
        most = first_of_most(metal, lambda part: part.current_rms_a)
        yield Row("Largest circulating current", (f"{{±A}}, {most.part}", (most.current_rms_a, most.current_error_a)))
    opened = [
        (part.standing_voltage_v_per_100m, part.part) for part in result.parts if part.standing_voltage_v_per_100m
    ]
    if opened:
        volts, name = first_of_most(opened, lambda pair: pair[0])
        yield Row("Largest standing voltage", (f"{{V}} for each 100 m, {name}", (volts,)))


def _impedances(result: Result) -> Iterator[Row]:
    for name in dict.fromkeys(phase.circuit for phase in result.phases):
        own = [phase for phase in result.phases if phase.circuit == name and phase.z_ohm_per_m is not None]
        if own:
            template = ", ".join(f"{phase.phase} {{}}" for phase in own) + " Ω/km"
            values = tuple(1e3 * complex(phase.z_ohm_per_m or 0).imag for phase in own)
            yield Row(f"Reactance of the phases of {name}", (template, values))
    for row in result.sequence_impedance:
        yield Row(f"Unbalance |Z21/Z11| of {row.circuit}", ("{±%}", (row.z21_over_z11, row.z21_over_z11_error)))


def _order(result: Result) -> Iterator[Row]:
    found = result.order_search
    if found is None:
        return
    best = found.best_solved
    stated = found.best[0].phases == found.today.phases
    value = f"{{±}} ({found.objective}), as stated {{}}"
    numbers = [best.value, best.value_error, found.today_solved.value]
    if found.laid and found.laid[1].p95_worst_over_limit is not None:
        value += "; worst field at the 95th percentile {} times"
        numbers.append(found.laid[1].p95_worst_over_limit)
    judged = best.within_limits is not None
    yield Row(
        "Phase order as stated, the best found" if stated else "Best phase order, not as stated",
        (value, tuple(numbers)),
        ("{} times the limits", (1.0,)),
        (f"{{}} times, at “{best.worst_at}”", (best.worst_over_limit,)),
        "within the limits" if best.within_limits else "above a limit",
        judged,
        "proved the best" if found.proved else "NOT proved the best",
    )


def _run(result: Result) -> Iterator[Row]:
    route = result.route
    if route is None:
        return
    for name in dict.fromkeys(row.receptor for row in route.fields):
        yield _along(
            first_of_most((row for row in route.fields if row.receptor == name), lambda row: row.judged_b_rms_t)
        )
    whole = told("Loss of the whole run, {m}", route.length_m)
    yield Row(whole, ("{±W}", (route.loss_w, route.loss_error_w)))
    if route.load_loss_w is not None:
        yield Row("The same at the load", ("{±W}", (route.load_loss_w, route.load_loss_error_w)))
    for circuit in route.circuits:
        load = circuit.delivered
        if load is None:
            drops = zip(map(abs, circuit.drop_v), circuit.drop_error_v, strict=True)
            drop, error = max(drops, key=lambda pair: pair[0])
            yield Row(f"Largest voltage drop of {circuit.circuit}", ("{±V}", (drop, error)))
            continue
        of = f"at the load of {circuit.circuit}"
        yield Row(f"Voltage drop {of}", ("{±%}", (load.relative_drop, load.relative_drop_error)))
        unbalance: tuple[str, tuple[Any, ...]] = ("{±%}", (load.v2_over_v1, load.v2_over_v1_error))
        if load.v2_over_v1 < load.v2_over_v1_error:
            unbalance = ("below {*} %", ())
        yield Row(f"Unbalance V2/V1 {of}", unbalance)
    layers = [line for line in route.lines if line.largest_voltage_v]
    if layers:
        most = max(layers, key=lambda line: line.largest_voltage_v or 0.0)
        volts = (most.largest_voltage_v, most.largest_voltage_error_v)
        yield Row("Largest voltage of metal along the run", (f"{{±V}}, {most.line}", volts))


def _along(row: Any) -> Row:
    at_load = row.load_b_rms_t is not None and row.judged_at == "the load"
    error = row.load_b_rms_error_t if at_load else row.b_rms_error_t
    of = f"Field along the run at “{row.receptor}”, highest beside {row.section}"
    value = ("{±T}", (row.judged_b_rms_t, error))
    near = "differs near joints and bends"
    if row.limit_t is None:
        return Row(of, value, beyond=near)
    share = row.judged_b_rms_t / row.limit_t
    margin: tuple[str, tuple[Any, ...]] = ("{} times the limit", (share,))
    if share <= 1:
        margin = ("{} %", (100 * (1 - share - error / row.limit_t),))
    word = verdict(row.limit_t, row.within_limit, share) + ("" if row.load_b_rms_t is None else f", at {row.judged_at}")
    return Row(of, value, ("{T}", (row.limit_t,)), margin, word, True, near)


def _charging(result: Result) -> Iterator[Row]:
    for name in dict.fromkeys(row.circuit for row in result.charging):
        own = [row for row in result.charging if row.circuit == name]
        beyond = "the permittivity is seldom known as well"
        of = f"Charging current of {name}, largest phase"
        if own[0].run_charging_current_a is None:
            most = max(own, key=lambda row: row.charging_current_a_per_m)
            value = (1e3 * most.charging_current_a_per_m, 1e3 * most.charging_current_error_a_per_m)
            yield Row(of, ("{±A/km}", value), beyond=beyond)
        else:
            most = max(own, key=lambda row: row.run_charging_current_a or 0.0)
            run = (most.run_charging_current_a, most.run_charging_current_error_a)
            yield Row(f"{of}, whole run", ("{±A}", run), beyond=beyond)


def _forces(result: Result) -> Iterator[Row]:
    for row in result.fault_design:
        template, values = "{±N/m}", [row.force_n_per_m, row.force_error_n_per_m]
        phases = "" if row.faulted_phases.count("-") == 2 else f", {row.faulted_phases.replace('-', '–')}"
        of = told(f"Force to design cleats for: {row.fault}{phases}, {{}} kA peak", row.peak_current_a / 1e3)
        if row.force_per_cleat_n is not None:
            template += "; {±N} per cleat"
            values += [row.force_per_cleat_n, row.force_per_cleat_error_n or 0.0]
        yield Row(of, (template, tuple(values)), beyond="straight runs, without the dynamics of cables and cleats")


def _circuits(result: Result) -> Known:
    study = result.study
    placed = result.cross_section.cables

    def first(circuit: Any) -> Any:
        return next(cable for cable in placed if cable.circuit == circuit.name)

    def currents(circuit: Any) -> Told:
        sizes = {phase: abs(current) for phase, current in phase_currents(circuit).items()}
        if len({f"{size:.6g}" for size in sizes.values()}) == 1:
            if isinstance(circuit.direct_current, float):
                return told("{A} direct, {A} each phase", circuit.direct_current, next(iter(sizes.values())))
            return told("{A} each phase", next(iter(sizes.values())))
        return told(", ".join(f"{phase} {{A}}" for phase in sizes), *sizes.values())

    return Known(
        f"Circuits as drawn, {study.frequency:g} Hz",
        study.circuits,
        (
            words("Circuit", lambda circuit: circuit.name),
            words("Cable", lambda circuit: circuit.cable),
            words("Conductor", lambda circuit: study.cables[circuit.cable].conductor.material),
            num("Area", "mm²", lambda circuit: study.cables[circuit.cable].conductor.area),
            num("Diameter over all", "mm", lambda circuit: 2 * first(circuit).layers.outer_radius),
            words(
                "Phases by position",
                lambda circuit: " ".join(cable.phase for cable in placed if cable.circuit == circuit.name),
            ),
            words("Current, rms", currents),
        ),
    )
