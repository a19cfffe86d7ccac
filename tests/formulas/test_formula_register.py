"""Every formula is registered, documented with units, refuses impossible inputs and knows its range."""

import doctest
import importlib
import inspect
import pkgutil
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import studies
import studies.formulas
from studies.formulas.formula import all_formulas, outside_range

NO_FORMULAS = {"inputs", "formula"}
UNITS = {
    *("m", "1/m", "A", "A/m", "A m^n", "T", "T/A", "V/m", "Hz", "S/m", "ohm m", "ohm/m", "H/m", "N/m", "W/m", "W/m^2"),
    *("degC", "1/K", "rad", "-", "V", "F/m", "m^2", "W", "ohm"),
}
SIGNED = {
    "position",
    "points",
    "axes",
    "holes",
    "axes_a",
    "axes_b",
    "centre",
    "x",
    "y",
    "angle",
    "temperature",
    "peak_field",
    "rails",
    "reactances",
}
COMPLEX = {"impedances", "currents", "moments", "moment", "matrix", "phase_currents", "voltages", "rail_currents"}
SHIELDS = {"cylinder_shielding_factor", "thin_cylinder_shielding_factor"}  # much wider than a conductor
FAR_APART = {"transposed_capacitance"}  # compared with a radius of 10 mm
RAILS = {"rail_loop_current", "rail_loss"}  # thin sheet
THREE = [[-0.05, 0.1], [0.0, 0.1], [0.05, 0.1]]
TYPICAL: dict[str, Any] = {
    "points": [[1.0, 0.5], [0.3, 0.2]],
    "axes": THREE,
    "axes_a": THREE,
    "axes_b": [[1.0, 0.0]],
    "currents": [1.0, -0.5, -0.5],
    "x": 0.3,
    "y": 0.2,
    "centre": [0.0, 0.1],
    "order": 1,
    "moments": [[0.0, 0.0], [1.0, 2.0]],
    "moment": [1.0, 2.0],
    "tolerance": 1e-9,
    "distance": 1.0,
    "spacing": 0.05,
    "position": "centre",
    "current": 100.0,
    "radius": 0.01,
    "strands": 19,
    "mean_radius": 0.008,
    "d12": 0.1,
    "d23": 0.1,
    "d31": 0.2,
    "diameter": 0.02,
    "internal_inductance": 5e-8,
    "mean_radii": 0.008,
    "resistances": 1e-4,
    "frequency": 50.0,
    "reference_distance": 1.0,
    "matrix": np.diag([1.0, 2.0, 3.0]),
    "phases": [0, 1, 1],
    "phase_currents": [1.0, -1.0],
    "resistance_over_reactance": 0.2,
    "limit": 1.8,
    "initial_current": 1e4,
    "factor": 0.85,
    "angle": 0.3,
    "resistance_20": 1e-4,
    "temperature_coefficient": 3.93e-3,
    "temperature": 70.0,
    "resistance": 1e-4,
    "coefficient": 1.0,
    "outer_diameter": 0.03,
    "inner_diameter": 0.01,
    "spacing_1": 0.05,
    "spacing_2": 0.06,
    "skin": 0.02,
    "proximity": 0.01,
    "conductivity": 5e7,
    "relative_permeability": 1.0,
    "inner_radius": 0.02,
    "outer_radius": 0.022,
    "mean_diameter": 0.044,
    "screen_resistance": 4e-4,
    "reactance": 1e-4,
    "mutual": 4e-5,
    "thickness": 1e-3,
    "rails": [[[-0.15, 0.0], [-0.15, 0.1]], [[0.15, 0.0], [0.15, 0.1]]],
    "rail_currents": [1.0, -1.0],
    "resistivity": 1.8e-8,
    "peak_field": 5000.0,
    "saturation": 1.5,
    "spatial_frequency": 10.0,
    "relative_permittivity": 2.5,
    "height": 0.1,
    "conductor_radii": 0.008,
    "outer_radii": 0.012,
    "capacitance": 3e-10,
    "voltage": 6350.0,
    "voltages": [230.0, -115.0 - 199.0j, -115.0 + 200.0j],
    "line_voltages": [462.0, 463.0, 455.0],
    "reactances": [1.2e-4, 1.4e-4, 1.3e-4],
    "impedances": [1e-4 + 1.2e-4j, 1e-4 + 1.4e-4j, 1.1e-4 + 1.3e-4j],
    "length": 100.0,
    "area": 2.4e-4,
    "power_factor": 0.85,
    "hole_radius": 0.02,
    "edge_radius": 0.15,
    "opening_radius": 0.13,
    "holes": THREE,
    "slot_width": 3e-3,
    "leakage": 1.0,
}


def public_functions() -> dict[str, Callable[..., Any]]:
    names = [module.name for module in pkgutil.iter_modules(studies.formulas.__path__)]
    modules = [importlib.import_module(f"studies.formulas.{name}") for name in names if name not in NO_FORMULAS]
    return {
        name: value
        for module in modules
        for name, value in vars(module).items()
        if inspect.isfunction(value) and value.__module__ == module.__name__ and not name.startswith("_")
    }


FUNCTIONS = public_functions()
FORMULAS = all_formulas()


def sections(function: Callable[..., Any]) -> dict[str, str]:
    """Sections of a docstring by their underlined headings."""
    text = inspect.getdoc(function) or ""
    parts = re.split(r"^(\w+)\n-+\n", text, flags=re.MULTILINE)
    return {"Summary": parts[0], **dict(zip(parts[1::2], parts[2::2], strict=True))}


def typical(name: str) -> dict[str, Any]:
    inputs = {key: TYPICAL[key] for key in inspect.signature(FUNCTIONS[name]).parameters}
    if name in SHIELDS:
        inputs["mean_radius"] = 0.1
    if name in FAR_APART:
        inputs["spacing"] = 0.1
    if name in RAILS:
        inputs["resistance"] = 1e-3
    return inputs


def test_the_walk_sees_the_package() -> None:
    assert len(FUNCTIONS) > 60
    assert {"line_field", "skin_factor", "plate_loss", "trefoil_force"} <= set(FUNCTIONS)


def test_the_register_holds_exactly_the_public_functions() -> None:
    assert set(FORMULAS) == set(FUNCTIONS)
    assert all(FORMULAS[name].function is FUNCTIONS[name] for name in FUNCTIONS)


def test_every_formula_is_used_by_a_study_a_check_or_another_formula() -> None:
    text = "\n".join(path.read_text(encoding="utf-8") for path in Path(studies.__path__[0]).rglob("*.py"))
    code = [line for line in text.splitlines() if not line.lstrip().startswith(("def ", ">>>"))]
    called = set(re.findall(r"\b(\w+)\(", "\n".join(code)))
    imports = re.findall(r"from studies\.formulas\.\w+ import ([\w, ]+|\([\w,\s]+)", text)
    imported = set(re.findall(r"\w+", " ".join(imports)))  # no import is without use
    assert set(FORMULAS) - called - imported == set()


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_each_parameter_is_documented_with_its_unit(name: str) -> None:
    text = sections(FUNCTIONS[name])
    entries = re.findall(r"^(\w+) : (.+)\n((?:    .+\n?)+)", text["Parameters"] + "\n", flags=re.MULTILINE)
    assert [entry[0] for entry in entries] == list(inspect.signature(FUNCTIONS[name]).parameters)
    for parameter, _, description in entries:
        unit = re.search(r"\[([^\[\]]+)\]$", description.strip())
        assert unit, f"{name}: {parameter} does not end with its unit"
        assert unit.group(1) in UNITS, f"{name}: {parameter} has the unit {unit.group(1)}"


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_each_docstring_has_its_sections_with_unit_range_and_source_of_the_register(name: str) -> None:
    text, formula = sections(FUNCTIONS[name]), FORMULAS[name]
    sections_in_order = ("Summary", "Parameters", "Returns", "Notes", "Examples", "Unit", "Validity", "References")
    assert tuple(text) == sections_in_order
    assert text["Unit"].strip() == f"[{formula.unit}]"
    assert text["Validity"].strip() == formula.valid_for
    assert text["References"].strip() == formula.source
    assert re.search(r"\[[CMDP]\]", formula.source), "a source carries its mark"
    assert formula.unit in UNITS
    assert formula.quantity
    assert formula.valid_for
    for limit in formula.limits:
        assert set(limit.inputs) <= set(inspect.signature(formula.function).parameters)


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_the_example_of_each_formula_gives_what_its_docstring_shows(name: str) -> None:
    names = vars(sys.modules[FUNCTIONS[name].__module__])
    (example,) = doctest.DocTestFinder(recurse=False).find(FUNCTIONS[name], name, globs=dict(names))
    assert example.examples
    report: list[str] = []
    assert doctest.DocTestRunner().run(example, out=report.append).failed == 0, "".join(report)


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_typical_inputs_give_finite_numbers(name: str) -> None:
    result = FUNCTIONS[name](**typical(name))
    numbers = [result.field, result.error] if hasattr(result, "field") else [result]
    numbers = [result.loss, result.error] if hasattr(result, "loss") else numbers
    assert all(np.all(np.isfinite(np.asarray(number))) for number in numbers)
    assert outside_range(FUNCTIONS[name], **typical(name)) == []


@pytest.mark.parametrize(
    ("name", "parameter"), [(n, p) for n in sorted(FUNCTIONS) for p in inspect.signature(FUNCTIONS[n]).parameters]
)
def test_impossible_inputs_are_refused_by_name(name: str, parameter: str) -> None:
    wrong = [np.full(np.shape(TYPICAL[parameter]), np.nan) if np.ndim(TYPICAL[parameter]) else np.nan]
    if parameter not in SIGNED | COMPLEX:
        wrong.append(-np.abs(np.asarray(TYPICAL[parameter])) - (1 if np.ndim(TYPICAL[parameter]) else 0))
    for value in wrong:
        with pytest.raises(ValueError, match=rf"\b{parameter}\b"):
            FUNCTIONS[name](**{**typical(name), parameter: value})


OUTSIDE: list[tuple[str, dict[str, Any], str]] = [
    ("flat_far_field", {"distance": 0.2}, "distance / spacing = 4, below 5: the far form"),
    ("line_impedances", {"frequency": 500.0}, "xs = 3.54, above 1.5: skin effect"),
    ("line_impedances", {"resistances": [1e-4, 1e-4, 1e-5]}, "xs = 3.54, above 1.5"),
    ("peak_factor", {"resistance_over_reactance": 1.5}, "R/X = 1.5, above 1.2: the standard"),
    ("dc_resistance", {"temperature": 400.0}, "temperature = 400 °C, above 250 °C: the linear law"),
    ("dc_resistance", {"temperature": -51.0}, "temperature = -51 °C, below -50 °C"),
    ("skin_factor", {"frequency": 1e7}, "xs = 501, above 100"),
    ("proximity_factor_three", {"frequency": 1000.0}, "xp = 5.01, above 2.8: the standard"),
    ("proximity_factor_three", {"frequency": np.array([50.0, 1000.0])}, "xp = 5.01, above 2.8"),
    ("concentric_pipe_loss", {"outer_radius": 0.020001}, "wall / skin depth = 9.93e-05, below 0.002"),
    ("rail_loss", {"resistance": 1e-4}, "mu0 f/R = 0.628, above 0.3: eddy currents in the rails damp themselves"),
    ("eddy_factor", {"position": "lagging"}, "m = w/(10^7 Rs) = 0.0785, below 0.5: a screen of high resistance"),
    ("eddy_factor", {"thickness": 0.012}, "thickness / skin depth = "),
    ("cylinder_shielding_factor", {"mean_radius": 0.02}, "thickness / radius = 0.05, above 0.04: the thin-wall form"),
    ("thin_cylinder_shielding_factor", {"mean_radius": 0.5, "thickness": 0.01}, "thickness / skin depth = "),
    ("pierced_plate_loss", {"thickness": 0.01}, "thickness / hole radius = 0.5, above 0.3: the rim of the hole"),
    ("transposed_capacitance", {"radius": 0.02}, "spacing / radius = 5, below 7: the charges"),
]


@pytest.mark.parametrize(("name", "change", "reason"), OUTSIDE)
def test_a_formula_outside_its_range_has_a_reason(name: str, change: dict[str, Any], reason: str) -> None:
    inputs = {**typical(name), **change}
    reasons = outside_range(FUNCTIONS[name], **inputs)
    assert len(reasons) == 1
    assert reason in reasons[0]
    assert np.all(np.isfinite(np.asarray(FUNCTIONS[name](**inputs))))


def test_every_limit_of_the_register_is_left_in_one_of_the_cases() -> None:
    cases = [(FUNCTIONS[name], {**typical(name), **change}) for name, change, _ in OUTSIDE]
    seen = {reason.partition(": ")[2] for function, inputs in cases for reason in outside_range(function, **inputs)}
    assert seen == {limit.reason for formula in FORMULAS.values() for limit in formula.limits}


def test_an_input_just_outside_its_range_is_told_from_the_bound() -> None:
    (reason,) = outside_range(FUNCTIONS["peak_factor"], resistance_over_reactance=[0.1, 1.20003])
    assert reason.startswith("R/X = 1.20003, above 1.2: ")
    assert outside_range(FUNCTIONS["peak_factor"], resistance_over_reactance=1.2) == []


def test_the_range_needs_its_inputs_and_a_registered_function() -> None:
    with pytest.raises(TypeError, match="frequency"):
        outside_range(FUNCTIONS["skin_factor"], resistance=1e-4)
    with pytest.raises(KeyError, match="typical"):
        outside_range(typical, name="skin_factor")
    assert outside_range(FUNCTIONS["skin_factor"], resistance=1e-4, frequency=50.0) == []
