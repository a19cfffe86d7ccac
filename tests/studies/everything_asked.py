"""A small study that asks for everything, solved once with what each of its stages gave."""

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, NoReturn

import pytest

from studies.answers.answer import Asked
from studies.answers.registry import ANSWERS
from studies.answers.route.solved import MapsOfLevels, receptor_points
from studies.answers.solutions import solved
from studies.result import Result
from studies.runner import answered
from studies.section.cross_section import cross_section
from studies.section.lines import SectionMaps
from studies.section.spectrum import at_component, components
from studies.solve.solution import Solution
from studies.solve.two_meshes import Pair
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

INSTALLED = """
[[loops]]
name = "pair"
wires = [["0.8 m", "0 m"], ["0.81 m", "0 m"]]

[[stated_limits]]
name = "wave"
receptor = "bench"
limit = "1 uT"
value = "peak"

[energy]
load_factor = "60 %"

[laying_tolerance]
across = "3 mm"
samples = 200
solves = 5

[causes]
of = ["losses"]
"""
"""Answers on the installed run, which cost a second."""
FOLLOWING: Mapping[str, frozenset[str]] = {
    "fault_forces": frozenset({"faults", "fault_pairs", "fault_design"}),
    "route_solution": frozenset({"route"}),
}
"""Answers that tabulate another one and are empty without it."""
CHEAP = (
    *("receptors", "zones", "limit_distances", "traverses", "losses", "parts", "phases", "sequence_impedance"),
    *("saturation", "ladder", "cautions"),
)
"""Answers that solve nothing."""


@dataclass(frozen=True)
class Everything:
    """The study, its solutions, its result and the rows of each answer."""

    study: Study
    solutions: tuple[Solution, ...]
    maps: Pair[SectionMaps]
    rows: Mapping[str, object]
    result: Result

    def with_answers(self, patch: pytest.MonkeyPatch, **others: Callable[..., object]) -> Result:
        """The answers with every row as it was, except those computed otherwise, and those that tabulate them."""
        following = {key for other in others for key in FOLLOWING.get(other, ())}
        kept = {answer.key: fixed({} if answer.amends else self.rows[answer.key]) for answer in ANSWERS}
        patch.setattr(
            "studies.runner.ANSWERS",
            tuple(
                answer
                if answer.key in following - others.keys()
                else replace(answer, compute=others.get(answer.key, kept[answer.key]))
                for answer in ANSWERS
            ),
        )
        with collected() as failures:
            answers = answered(Asked(self.study, self.solutions, silent, self.maps))
        return replace(answers, failures=tuple(failures))


@functools.cache
def solve_everything() -> Everything:
    permitted = STUDY.replace('current = "400 A"', 'current = "400 A"\npermitted_current = "450 A"')
    study = loads(permitted + INSTALLED, "everything.toml")
    whole = cross_section(study)
    kept = MapsOfLevels(at_component(whole, components(study)[0]), receptor_points(study))
    with collected() as failures:
        solutions, _ = solved(study, whole, silent, None, kept)
        asked = Asked(study, solutions, silent, kept.pair())
        result = answered(asked)
    return Everything(study, solutions, kept.pair(), asked.done, replace(result, failures=tuple(failures)))


def fixed(value: object) -> Callable[..., object]:
    return lambda *arguments, **choices: value


def failing(error: BaseException) -> Callable[..., NoReturn]:
    def fail(*arguments: Any, **choices: Any) -> NoReturn:
        raise type(error)(*error.args)  # a new one each time: an error keeps the traces of where it was raised

    return fail


def silent(message: str) -> None:
    """Nobody listens."""
