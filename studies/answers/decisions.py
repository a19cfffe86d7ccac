"""What a study asks beyond its own cross-section: the route, charging currents, forces of a fault."""

from __future__ import annotations

from dataclasses import dataclass

from studies.answers.charging.compute import charging_results
from studies.answers.charging.rows import ChargingResult
from studies.answers.faults.compute import design_rows, force_rows, pair_rows, stated_faults
from studies.answers.faults.forces import FaultForces
from studies.answers.faults.rows import FaultDesignResult, FaultForceResult, FaultPairResult
from studies.answers.route.compute import RouteSolution, route_result, route_solution
from studies.answers.route.rows import RouteResult
from studies.section.lines import SectionMaps
from studies.solve.accuracy import Progress
from studies.solve.solution import Solution
from studies.solve.two_meshes import Pair
from studies.study.file import Study
from studies.text.failures import guarded


@dataclass(frozen=True)
class Decisions:
    """Everything asked beyond the cross-section, with what the figures need."""

    route: RouteResult | None
    route_solution: RouteSolution | None
    charging: tuple[ChargingResult, ...]
    faults: tuple[FaultForceResult, ...]
    fault_pairs: tuple[FaultPairResult, ...]
    fault_design: tuple[FaultDesignResult, ...]
    fault_forces: tuple[FaultForces, ...]


def decisions(study: Study, solution: Solution, maps: Pair[SectionMaps] | None, tell: Progress) -> Decisions:
    """Route, charging currents and fault forces of a study, as far as it asks for them; one that fails costs no other.

    Parameters
    ----------
    study : Study
        The study.
    solution : Solution
        Of its own frequency.
    maps : Pair of SectionMaps, optional
        Of its own cross-section, where it has a route.
    tell : callable
        Told what is being done.
    """
    found = None if maps is None else guarded("route", lambda: route_solution(study, solution, maps, tell), None)
    faults = guarded("fault forces", lambda: stated_faults(study, solution, tell), ())
    return Decisions(
        None if found is None else guarded("numbers of the route", lambda: route_result(study, found), None),
        found,
        guarded("charging currents", lambda: charging_results(study, solution, tell), ()),
        guarded("table of fault forces", lambda: force_rows(solution.section, faults), ()),
        guarded("table of two-phase faults", lambda: pair_rows(faults), ()),
        guarded("table of design forces", lambda: design_rows(faults), ()),
        tuple(forces for fault in faults for forces in fault.reported()),
    )
