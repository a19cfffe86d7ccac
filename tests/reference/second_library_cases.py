"""Cross-sections that are solved a second time with another library, as plain data that needs no library itself."""

import cmath
import math
from dataclasses import dataclass

Point = tuple[float, float]  # x, y [m]


@dataclass(frozen=True)
class Round:
    """Round solid conductor, or a round tube when `inner_radius` is above 0."""

    name: str
    centre: Point  # [m]
    radius: float  # outside [m]
    conductivity: float  # [S/m]
    inner_radius: float = 0.0  # [m]
    relative_permeability: float = 1.0  # [-]


@dataclass(frozen=True)
class Tray:
    """Channel of linear sheet; `origin` is the middle of the inside floor. A closed cover is one part with it."""

    name: str
    inside_width: float  # [m]
    inside_height: float  # [m]
    thickness: float  # [m]
    conductivity: float  # [S/m]
    relative_permeability: float  # [-]
    closed_cover: bool = False
    origin: Point = (0.0, 0.0)  # [m]


@dataclass(frozen=True)
class Group:
    """Parts that share one voltage drop per metre: a phase, parallel cables (total current given) or a bond (zero)."""

    parts: tuple[str, ...]
    current: complex = 0j  # total, rms [A]


@dataclass(frozen=True)
class Layout:
    """Cross-section and its circuits. A part in no group is open: net current zero. Parts must not touch."""

    rounds: tuple[Round, ...]
    groups: tuple[Group, ...]
    trays: tuple[Tray, ...] = ()

    @property
    def parts(self) -> tuple[Round | Tray, ...]:
        """All parts, in the order in which results list them."""
        return self.rounds + self.trays


@dataclass(frozen=True)
class Cable:
    """Single-core cable from the inside out: homogeneous conductor of its nominal area, insulation, screen, jacket."""

    conductor_area: float = 240e-6  # [m^2]
    dc_resistance_20: float = 0.0754e-3  # at 20 degC, IEC 60228 class 2 copper 240 mm2 [ohm/m]
    temperature: float = 70.0  # of the conductor [degC]
    temperature_coefficient: float = 3.93e-3  # copper at 20 degC, IEC 60287-1-1 [1/K]
    insulation: float = 1.7e-3  # radial [m]
    screen: float = 0.0  # radial thickness; 0: none [m]
    screen_conductivity: float = 5.8e7  # [S/m]
    jacket: float = 1.8e-3  # radial [m]

    @property
    def conductor_radius(self) -> float:
        """Radius of the circle with the nominal area. [m]"""
        return math.sqrt(self.conductor_area / math.pi)

    @property
    def radius(self) -> float:
        """Radius over the jacket. [m]"""
        return self.conductor_radius + self.insulation + self.screen + self.jacket

    @property
    def conductivity(self) -> float:
        """Conductivity that gives the dc resistance over the nominal area at the temperature. [S/m]"""
        warm = 1 + self.temperature_coefficient * (self.temperature - 20)
        return 1 / (self.dc_resistance_20 * warm * self.conductor_area)


@dataclass(frozen=True)
class Case:
    """One cross-section with all its inputs; `axes` are the cable axes in the order of `phases`."""

    title: str
    cable: Cable
    axes: tuple[Point, ...]  # [m]
    phases: tuple[str, ...]
    current: float  # per phase, balanced positive sequence, rms [A]
    frequency: float  # [Hz]
    trays: tuple[Tray, ...] = ()

    @property
    def layout(self) -> Layout:
        """Parts and circuits: cables of one phase in parallel, screens bonded together, trays open."""
        cable = self.cable
        rounds, screens = [], []
        members: dict[str, list[str]] = {}
        inner = cable.conductor_radius + cable.insulation
        for number, (phase, axis) in enumerate(zip(self.phases, self.axes, strict=True), start=1):
            rounds.append(Round(f"{number}.conductor", axis, cable.conductor_radius, cable.conductivity))
            members.setdefault(phase, []).append(rounds[-1].name)
            if cable.screen > 0:
                tube = Round(f"{number}.screen", axis, inner + cable.screen, cable.screen_conductivity, inner)
                screens.append(tube)
        groups = [Group(tuple(parts), self.current * SEQUENCE[phase]) for phase, parts in members.items()]
        bond = (Group(tuple(screen.name for screen in screens)),) if screens else ()
        return Layout((*rounds, *screens), (*groups, *bond), self.trays)


SEQUENCE = {"L1": 1 + 0j, "L2": cmath.rect(1, -2 * math.pi / 3), "L3": cmath.rect(1, 2 * math.pi / 3)}
POINTS: tuple[Point, ...] = (
    (1.5, 0.5),
    (0.6, 0.05),
    (-0.4, 0.3),
    (0.0, 1.2),
    (3.0, 1.0),
    (5.0, 0.0),
    (0.0, -5.0),
    (20.0, 0.0),
    (0.0, 20.0),
    (0.0, 0.08),
)  # [m]


def _flat(cable: Cable, spacing: float, count: int = 3) -> tuple[Point, ...]:
    """Axes of cables side by side on y = 0, centred on x = 0. [m]"""
    return tuple(((k - (count - 1) / 2) * spacing, cable.radius) for k in range(count))


def _trefoil(cable: Cable) -> tuple[Point, ...]:
    """Axes of three touching cables on y = 0: left, right, top. [m]"""
    r = cable.radius
    return (-r, r), (r, r), (0.0, r + math.sqrt(3) * r)


_PLAIN = Cable()
_SCREENED = Cable(screen=0.2e-3)
_STEEL = Tray("tray", 0.3, 0.1, 1.5e-3, 6.0e6, 300.0)
_COVERED = Tray("tray", 0.3, 0.1, 1.5e-3, 6.0e6, 300.0, closed_cover=True)
_ALUMINIUM = Tray("tray", 0.3, 0.1, 2.0e-3, 3.2e7, 1.0)
_THREE = ("L1", "L2", "L3")
_SPACED = _flat(_PLAIN, 56e-3)

CASES = {
    "flat_steel_channel": Case("Flat in a steel channel", _PLAIN, _SPACED, _THREE, 400.0, 50.0, (_STEEL,)),
    "trefoil_steel_channel": Case(
        "Touching trefoil in a steel channel", _PLAIN, _trefoil(_PLAIN), _THREE, 400.0, 50.0, (_STEEL,)
    ),
    "flat_covered_steel_channel": Case(
        "Flat in a steel channel with a closed cover", _PLAIN, _SPACED, _THREE, 400.0, 50.0, (_COVERED,)
    ),
    "flat_aluminium_channel": Case("Flat in an aluminium channel", _PLAIN, _SPACED, _THREE, 400.0, 50.0, (_ALUMINIUM,)),
    "parallel_flat_touching": Case(
        "Two cables a phase, flat and touching, no tray",
        _PLAIN,
        _flat(_PLAIN, 2 * _PLAIN.radius, 6),
        _THREE * 2,
        800.0,
        50.0,
    ),
    "flat_bonded_screens_400_hz": Case(
        "Flat with copper screens bonded at both ends, 400 Hz, no tray",
        _SCREENED,
        _flat(_SCREENED, 56e-3),
        _THREE,
        400.0,
        400.0,
    ),
}


def case_inputs(case: Case) -> dict[str, object]:
    """All inputs of a case as plain data, the unit in each key."""
    cable, layout = case.cable, case.layout
    return {
        "frequency_hz": case.frequency,
        "phase_current_a": case.current,
        "phases": case.phases,
        "axes_m": case.axes,
        "cable": {
            "conductor_area_m2": cable.conductor_area,
            "dc_resistance_20_degc_ohm_per_m": cable.dc_resistance_20,
            "temperature_degc": cable.temperature,
            "temperature_coefficient_per_k": cable.temperature_coefficient,
            "insulation_m": cable.insulation,
            "screen_m": cable.screen,
            "jacket_m": cable.jacket,
        },
        "rounds": [
            {
                "name": part.name,
                "centre_m": part.centre,
                "radius_m": part.radius,
                "inner_radius_m": part.inner_radius,
                "conductivity_s_per_m": part.conductivity,
                "relative_permeability": part.relative_permeability,
            }
            for part in layout.rounds
        ],
        "trays": [
            {
                "name": part.name,
                "origin_m": part.origin,
                "inside_width_m": part.inside_width,
                "inside_height_m": part.inside_height,
                "thickness_m": part.thickness,
                "closed_cover": part.closed_cover,
                "conductivity_s_per_m": part.conductivity,
                "relative_permeability": part.relative_permeability,
            }
            for part in layout.trays
        ],
        "groups": [
            {"parts": group.parts, "current_a": [group.current.real, group.current.imag]} for group in layout.groups
        ],
    }
