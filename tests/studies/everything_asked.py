"""A small study that asks for everything, solved once with what each of its stages gave."""

import functools
import importlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import ModuleType
from typing import Any, NoReturn

import pytest

from studies.answers.route.solved import MapsOfLevels, receptor_points
from studies.result import Result
from studies.section.cross_section import cross_section
from studies.section.spectrum import at_component, components
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.study.reading import loads
from studies.text.failures import collected

STUDY = """title = "Everything"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "2 mm"
permittivity = 2.3
screen = { material = "copper", thickness = "0.3 mm" }
jacket = "2 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "56 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "60 mm"
thickness = "3 mm"
material = "aluminium-5052"

[[receptors]]
name = "bench"
at = ["1.2 m", "0.4 m"]
limit = "0.5 uT"

[[receptors]]
name = "person"
at = ["1 m", "0 m"]
limit = "ICNIRP 2010 public"

[[zones]]
name = "desk"
window = [["0.8 m", "0.5 m"], ["1 m", "0.6 m"]]
limit = "1 uT"

[[traverses]]
name = "line"
from = ["-1 m", "0.5 m"]
to = ["1 m", "0.5 m"]
points = 5

[map]
window = [["-1 m", "-0.5 m"], ["1.5 m", "1 m"]]

[current_sweep]
factors = [1, 2]

[order_search]
objective = "field"

[[route]]
name = "hall"
length = "20 m"

[[route]]
name = "corridor"
length = "10 m"
set = { "circuits.F1.spacing" = "60 mm" }

[supply]
voltage = "400 V"

[[loads]]
power = "190 kW"
power_factor = 0.85

[[faults]]
initial_current = "10 kA"
resistance_over_reactance = 0.3
cleat_spacing = "0.5 m"

[accuracy]
tolerance = "20 %"
"""

RUN: ModuleType = importlib.import_module("studies.runner")
DECISIONS: ModuleType = importlib.import_module("studies.answers.decisions")
CHEAP = {
    "receptor_results": RUN,
    "part_results": RUN,
    "loss_results": RUN,
    "phase_results": RUN,
    "sequence_results": RUN,
    "zone_results": RUN,
    "limit_distance_results": RUN,
    "saturation_results": RUN,
    "traverse_results": RUN,
    "climb": RUN,
}
"""Stages that solve nothing, with the modules that call them."""
STAGES = {
    **CHEAP,
    "sweep_results": RUN,
    "order_search": RUN,
    "map_result": RUN,
    "route_solution": DECISIONS,
    "route_result": DECISIONS,
    "stated_faults": DECISIONS,
    "force_rows": DECISIONS,
    "pair_rows": DECISIONS,
    "design_rows": DECISIONS,
    "charging_results": DECISIONS,
}
"""Every stage after the solve."""
ANSWERS = {
    "receptor_results": "receptors",
    "part_results": "parts",
    "loss_results": "losses",
    "phase_results": "phases",
    "sequence_results": "sequence_impedance",
    "zone_results": "zones",
    "limit_distance_results": "limit_distances",
    "saturation_results": "saturation",
    "traverse_results": "traverses",
    "climb": "ladder",
    "sweep_results": "current_sweep",
    "order_search": "order_search",
    "map_result": "map",
    "route_solution": "route",
    "route_result": "route",
    "stated_faults": "faults",
    "force_rows": "faults",
    "pair_rows": "fault_pairs",
    "design_rows": "fault_design",
    "charging_results": "charging",
}
"""Field of the result that each stage fills."""


FOLLOWING = {
    **dict.fromkeys(("force_rows", "pair_rows", "design_rows"), "stated_faults"),
    "route_result": "route_solution",
}
"""Stages that tabulate what another one gives."""


@dataclass(frozen=True)
class Everything:
    """The study, its solutions, its result and what each stage gave."""

    study: Study
    solutions: tuple[Solution, ...]
    kept: MapsOfLevels
    stages: Mapping[str, object]
    result: Result

    def again(self) -> Result:
        """The answers once more, without solving the study's own cross-section."""
        with collected() as failures:
            answers: Result = RUN._answers(self.study, self.solutions, self.kept, silent)
        return replace(answers, failures=tuple(failures))

    def with_stages(self, patch: pytest.MonkeyPatch, **others: Callable[..., object]) -> Result:
        """The answers with every stage as it was, except some."""
        for name, module in STAGES.items():
            real = getattr(module, name)
            follows = name in FOLLOWING and FOLLOWING[name] in others
            patch.setattr(module, name, others.get(name, real if follows else fixed(self.stages[name])))
        return self.again()


@functools.cache
def solve_everything() -> Everything:
    study = loads(STUDY, "everything.toml")
    whole = cross_section(study)
    kept = MapsOfLevels(at_component(whole, components(study)[0]), receptor_points(study))
    solutions, _ = RUN._solutions(study, whole, silent, None, kept)
    stages: dict[str, object] = {}
    with pytest.MonkeyPatch.context() as patch:
        for name, module in STAGES.items():
            patch.setattr(module, name, recorded(name, getattr(module, name), stages))
        done = Everything(study, solutions, kept, stages, None)  # type: ignore[arg-type]
        return replace(done, result=done.again())


def recorded(name: str, stage: Callable[..., object], stages: dict[str, object]) -> Callable[..., object]:
    def call(*arguments: Any, **choices: Any) -> object:
        stages[name] = stage(*arguments, **choices)
        return stages[name]

    return call


def fixed(value: object) -> Callable[..., object]:
    return lambda *arguments, **choices: value


def failing(error: BaseException) -> Callable[..., NoReturn]:
    def fail(*arguments: Any, **choices: Any) -> NoReturn:
        raise type(error)(*error.args)  # a new one each time: an error keeps the traces of where it was raised

    return fail


def silent(message: str) -> None:
    """Nobody listens."""
