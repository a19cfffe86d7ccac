"""What answers on the installed run say on the sheet to sign."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from studies.answers.causes.rows import splits
from studies.result import Result
from tests.studies.cells_of_fields import share_of, verdict
from tests.studies.sheet_rows import Row, told


def installed_rows(result: Result) -> Iterator[Row]:
    """In the order of the sheet."""
    yield from _shielding(result)
    yield from _shields(result)
    yield from _remedies(result)
    yield from _causes(result)
    yield from _net_currents(result)
    yield from _direct(result)
    yield from _laying(result)
    yield from _loops(result)
    yield from _space(result)
    yield from _stated_limits(result)
    yield from _permitted(result)
    yield from _plates(result)
    yield from _survey(result)
    yield from _energy(result)


def _shielding(result: Result) -> Iterator[Row]:
    for metal in dict.fromkeys(row.metal for row in result.shielding if row.shielding_factor is not None):
        own = [row for row in result.shielding if row.metal == metal and row.shielding_factor is not None]
        most = max(own, key=lambda row: row.shielding_factor or 0.0)
        value = (most.shielding_factor, most.shielding_factor_error)
        yield Row(f"Largest shielding factor of {metal}", (f"{{±}}, “{most.place}”", value))


def _shields(result: Result) -> Iterator[Row]:
    for one in (row for row in result.shields if row.chosen):
        least = result.study.shield_search.least if result.study.shield_search else ""
        text = (
            f"{one.metal}, {{}} mm by {{}} mm, middle at x = {{}} m, y = {{}} m: {{±T}} at “{one.receptor}”; its{{*}}"
        )
        values = (1e3 * one.width_m, 1e3 * one.thickness_m, one.x_m, one.y_m, one.b_rms_t, one.b_rms_error_t)
        yield Row(f"Shield of least {least} that meets all limits", (text, values), beyond="joints")


def _remedies(result: Result) -> Iterator[Row]:
    for place in dict.fromkeys(row.place for row in result.remedies):
        solved = [row for row in result.remedies if row.place == place]
        meet = [row for row in solved if row.within_limit]
        value: tuple[str, tuple[Any, ...]] = ("none of the {} remedies that were considered", (len(solved),))
        if meet:
            least = min(meet, key=lambda row: row.loss_w_per_m or 0.0)
            text = f"{', '.join(row.remedy for row in meet)}; of least losses: {least.remedy}, {{±T}}, by the line "
            value = (text + " ".join("; ".join(least.lines).split()), (least.b_rms_t, least.b_rms_error_t))
        yield Row(f"What would meet the limit at “{place}”", value, beyond="permitted current")


def _causes(result: Result) -> Iterator[Row]:
    units = {"fields": "{T}", "losses": "{W/m}", "inductances": "{} mH/km"}
    for of, unit in units.items():
        rows = [row for row in splits(result.causes) if row.of == of]
        if rows:
            most = max(rows, key=lambda row: abs(row.computed - row.formula) / row.formula)
            values = [most.computed, most.formula, max(most.parts(), key=abs)]
            text = f"{most.place}: {unit} computed, {unit} by formula; largest part: {{*}}, {unit}"
            scale = 1e6 if of == "inductances" else 1.0
            yield Row(f"Largest difference of {of} from the formula", (text, tuple(scale * one for one in values)))


def _net_currents(result: Result) -> Iterator[Row]:
    if result.net_currents is None:
        return
    for row in result.net_currents.fields:
        highest = {"zone": "Highest field in", "traverse": "Highest field along"}.get(row.kind, "Field at")
        if row.limit_t is None:
            field = ("{±T}", (row.b_rms_t, row.b_rms_error_t))
            yield Row(f"{highest} “{row.place}” with net currents", field, beyond="the net current")
            continue
        share, worst = row.b_rms_t / row.limit_t, (row.b_rms_t + row.b_rms_error_t) / row.limit_t
        margin = ("{} %", (100 * (1 - worst),)) if worst <= 1 else ("{} times the limit", (share,))
        of, value = f"{highest} “{row.place}” with net currents", ("{±T}", (row.b_rms_t, row.b_rms_error_t))
        word = verdict(row.limit_t, row.within_limit, share)
        yield Row(of, value, ("{T}", (row.limit_t,)), margin, word, is_judged=True, beyond="the net current")
    for reach in result.net_currents.distances:
        limit = told("Distance beyond which {T} is met with net currents", reach.limit_t)
        yield Row(limit, ("{±m} from the outline", (reach.from_outline_m, reach.error_m)), beyond="the net current")
    total = result.net_currents.losses[-1]
    value = ("{±W/m}", (total.loss_w_per_m, total.loss_error_w_per_m))
    yield Row("Loss of all parts with net currents", value, beyond="the net current")


def _direct(result: Result) -> Iterator[Row]:
    if result.direct_currents is None:
        return
    for row in result.direct_currents.fields:
        of = f"{'Highest static field in' if row.kind == 'zone' else 'Static field at'} “{row.name}”"
        assert row.limit_t is not None
        share, worst = row.b_t / row.limit_t, (row.b_t + row.b_error_t) / row.limit_t
        margin = ("{} %", (100 * (1 - worst),)) if worst <= 1 else ("{} times the limit", (share,))
        limit = ("{T}" + (f", {row.limit_name}" if row.limit_name else ""), (row.limit_t,))
        word = verdict(row.limit_t, row.within_limit, share)
        yield Row(of, ("{±T}", (row.b_t, row.b_error_t)), limit, margin, word, is_judged=True, beyond="the earth's")
    total = result.direct_currents.conductors[-1]
    value = ("{±W/m}", (total.total_loss_w_per_m, total.total_loss_error_w_per_m))
    yield Row("Loss of all parts with direct currents", value)


def _laying(result: Result) -> Iterator[Row]:
    for row in () if result.laying_tolerance is None else result.laying_tolerance.fields:
        highest = "Highest field in" if row.kind == "zone" else "Field at"
        value = (row.p95_b_rms_t, row.p95_b_rms_error_t, row.b_rms_t, row.b_rms_error_t)
        of, text = f"{highest} “{row.place}” as laid, 95th percentile", "{±T}; as drawn {±T}"
        if row.limit_t is None:
            yield Row(of, (text, value))
            continue
        share = (row.p95_b_rms_t + row.p95_b_rms_error_t) / row.limit_t
        margin = ("{} %", (100 * (1 - share),)) if share <= 1 else ("{} times the limit", (share,))
        word = "within the limit" if row.p95_within_limit else "above the limit"
        yield Row(of, (text, value), ("{T}", (row.limit_t,)), margin, word, is_judged=True)


def _loops(result: Result) -> Iterator[Row]:
    for row in result.loops:
        if row.voltage_v is None:
            value = ("{±V/m}", (row.u_v_per_m, row.u_error_v_per_m))
            yield Row(f"Induced voltage per metre of “{row.name}”", value)
            continue
        template, values = "{±V}", [row.voltage_v, row.voltage_error_v]
        if row.untwisted_voltage_v is not None:
            template += " with an ideal twist, {V} without"
            values.append(row.untwisted_voltage_v)
        beyond = "bends" if row.untwisted_voltage_v is None else "uneven twist"
        limit: tuple[str, tuple[Any, ...]] = ("–", ())
        margin, word = limit, ""
        if row.limit_v is not None and row.voltage_error_v is not None:
            share, worst = row.voltage_v / row.limit_v, (row.voltage_v + row.voltage_error_v) / row.limit_v
            limit = ("{V}", (row.limit_v,))
            margin = ("{} %", (100 * (1 - worst),)) if worst <= 1 else ("{} times the limit", (share,))
            above = "above the limit" if share > 1 else "limit within the error"
            word = "within the limit" if row.within_limit else above
        judged = row.limit_v is not None
        of = f"Induced voltage of “{row.name}”"
        yield Row(of, (template, tuple(values)), limit, margin, word, is_judged=judged, beyond=beyond)


def _survey(result: Result) -> Iterator[Row]:
    found = result.survey
    if found is None:
        return
    text, values = "χ² = {} of {} readings as drawn", [found.chi_square, len(found.readings)]
    if found.fits:
        text += ", {} of {} fitted"
        values += [found.fits[0].chi_square, found.degrees_of_freedom]
    word = "agrees with the study" if found.probability >= 0.05 else "does not agree with the study"
    yield Row(f"Survey “{found.file}”", (text, tuple(values)), verdict=word, is_judged=True, beyond="sources")


def _space(result: Result) -> Iterator[Row]:
    if result.space is not None:
        yield from (_in_space("Run in space at", entry) for entry in result.space.receptors)
        yield from (_in_space("Highest along the course at", entry) for entry in result.space.along)


def _in_space(at: str, entry: Any) -> Row:
    of, value = f"{at} “{entry.name}”", ("{±T}", (entry.b_rms_t, entry.b_rms_error_t))
    if entry.limit_t is None:
        return Row(of, value, beyond="laying")
    share, error = share_of(entry)
    left = 1 - share - error
    margin = ("{} %", (100 * left,)) if left >= 0 else ("{} times the limit", (share,))
    word = verdict(entry.limit_t, entry.within_limit, share)
    return Row(of, value, ("{T}", (entry.limit_t,)), margin, word, is_judged=True, beyond="laying")


def _stated_limits(result: Result) -> Iterator[Row]:
    for row in result.stated_limits:
        worst = row.index + row.index_error
        value: tuple[str, tuple[Any, ...]] = ("{±}", (row.index, row.index_error))
        limit: tuple[str, tuple[Any, ...]] = ("{}", (1.0,))
        if row.b_t is not None:
            value, limit = ("{±T}", (row.b_t, row.b_error_t)), ("{T}", (row.limit_t,))
        margin = ("{} %", (100 * (1 - worst),)) if worst <= 1 else ("{} times the limit", (row.index,))
        above = "above the limit" if row.index > 1 else "limit within the error"
        word = "within the limit" if row.within_limit else above
        of = told(f"“{row.name}” at “{row.receptor}”: {row.value}{{*}}")
        yield Row(of, value, limit, margin, word, is_judged=True, beyond="bends")


def _permitted(result: Result) -> Iterator[Row]:
    found = result.permitted
    if found is None:
        return
    most = max(found.cables, key=lambda row: row.current_ratio + row.current_ratio_error)
    share, spread = most.current_ratio, most.current_ratio_error
    left = 1 - share - spread
    margin = ("{} %", (100 * left,)) if left >= 0 else ("{} times the limit", (share,))
    verdict = "within the permitted current" if found.within_permitted_current else "permitted current within the error"
    verdict = "above the permitted current" if share > 1 else verdict
    own = ("{±}", (share, spread)) if spread > 1e-9 * share else ("{}", (share,))
    value = (f"{own[0]}, {most.cable}", own[1])
    of = "Largest current over permitted current"
    yield Row(of, value, ("1, as stated by the user", ()), margin, verdict, is_judged=True, beyond="the permitted")
    assert found.equal_heat_factor is not None
    assert found.equal_heat_factor_error is not None
    value = (f"{{±}}, {found.decided_by}", (found.equal_heat_factor, found.equal_heat_factor_error))
    verdict = "no cable hotter than alone" if found.within_equal_heat else "a cable hotter than alone"
    of = "Equal-heat factor on all currents, no rating"
    yield Row(of, value, ("1 or above", ()), verdict=verdict, is_judged=True, beyond="air warmed by neighbours")


def _plates(result: Result) -> Iterator[Row]:
    for plate in result.plates:
        own = plate.ways[0]
        text, values = "{W}", [own.loss_w]
        if own.saturated_loss_w is not None:
            values = [own.saturated_loss_w, own.loss_w]
            text = f"{'up to ' if values[0] > values[1] else ''}{{W}} saturated, {{W}} at constant permeability"
        for way in plate.ways[1:]:
            slots = way.way == "slotted"
            text += "; slots of {m} {W}" if slots else "; {*} {W}"
            values += [plate.slot_width_m or 0.0, way.loss_w] if slots else [way.loss_w]
        more = f", {plate.count} plates" if plate.count > 1 else ""
        yield Row(f"Loss of “{plate.name}”{more}", (text + " (closed forms)", tuple(values)), beyond="the whole number")


def _energy(result: Result) -> Iterator[Row]:
    found = result.energy
    if found is None:
        return
    total = found.rows[-1]
    text, values = "{±Wh/m}", [total.energy_j_per_m / 3600, total.energy_error_j_per_m / 3600]
    if found.length_m is not None:
        text += "; {} kWh along {m}"
        values += [(total.energy_j or 0.0) / 3.6e6, found.length_m]
    if total.cost is not None:
        text += f"; cost {{}} {found.currency}"
        values.append(total.cost)
    yield Row("Energy of all losses over a year", (text, tuple(values)), beyond="the load as stated")
