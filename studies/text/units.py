"""Units of convenient size: one for a column, a group of columns or a whole result."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

ROOM = 3.0
"""Least mean of values in a unit, over one of it. [-]"""


@dataclass(frozen=True)
class Unit:
    """A unit of a quantity."""

    symbol: str
    size: float
    """One of it in the SI base unit of the quantity. [SI unit]"""
    si_suffix: str = ""
    """Ending of a column name in a file with the quantity in SI, such as "ohm_per_m"."""
    most_decimals: int | None = None
    """Decimals that anyone could measure; more are not shown."""

    def of(self, value: float) -> float:
        """A value in SI as a number of this unit."""
        return value / self.size


Family = tuple[Unit, ...]
"""Units of one quantity, the smallest first; a table uses the one that suits its numbers."""


def _family(si_suffix: str, *units: tuple[str, float]) -> Family:
    return tuple(Unit(symbol, size, si_suffix) for symbol, size in units)


FLUX_DENSITY = _family("t", ("nT", 1e-9), ("µT", 1e-6), ("mT", 1e-3), ("T", 1.0))
LOSS_PER_LENGTH = _family("w_per_m", ("mW/m", 1e-3), ("W/m", 1.0))
LOSS_PER_AREA = _family("w_per_m2", ("mW/m²", 1e-3), ("W/m²", 1.0), ("kW/m²", 1e3))
LOSS_PER_VOLUME = _family("w_per_m3", ("W/m³", 1.0), ("kW/m³", 1e3), ("MW/m³", 1e6))
LOSS = _family("w", ("mW", 1e-3), ("W", 1.0), ("kW", 1e3), ("MW", 1e6))
LENGTH = (Unit("mm", 1e-3, "m"), Unit("m", 1.0, "m", most_decimals=4))
CURRENT = _family("a", ("mA", 1e-3), ("A", 1.0), ("kA", 1e3))
VOLTAGE = _family("v", ("µV", 1e-6), ("mV", 1e-3), ("V", 1.0), ("kV", 1e3))
VOLTAGE_PER_LENGTH = _family("v_per_m", ("µV/m", 1e-6), ("mV/m", 1e-3), ("V/m", 1.0))
RESISTANCE = _family("ohm", ("mΩ", 1e-3), ("Ω", 1.0))
FORCE = _family("n", ("mN", 1e-3), ("N", 1.0), ("kN", 1e3))
FORCE_PER_LENGTH = _family("n_per_m", ("mN/m", 1e-3), ("N/m", 1.0), ("kN/m", 1e3))

CURRENT_DENSITY = Unit("A/mm²", 1e6, "a_per_m2")
OHM_PER_KM = Unit("Ω/km", 1e-3, "ohm_per_m")
MILLIHENRY_PER_KM = Unit("mH/km", 1e-6, "h_per_m")
VOLT_PER_KM = Unit("V/km", 1e-3, "v_per_m")
PICOFARAD_PER_METRE = Unit("pF/m", 1e-12, "f_per_m")
MILLIAMPERE_PER_KM = Unit("mA/km", 1e-6, "a_per_m")
MILLIAMPERE, AMPERE, KILOAMPERE = CURRENT
MILLIMETRE, METRE = LENGTH
VOLT = VOLTAGE[2]
MILLIOHM, OHM = RESISTANCE
WATT = LOSS[1]
NEWTON = FORCE[1]
NEWTON_PER_METRE = FORCE_PER_LENGTH[1]
HERTZ = Unit("Hz", 1.0, "hz")
KILOWATT_HOUR_PER_METRE = Unit("kWh/m", 3.6e6, "j_per_m")
MEGASIEMENS_PER_METRE = Unit("MS/m", 1e6, "s_per_m")
CELSIUS = Unit("°C", 1.0, "degc")
SQUARE_MILLIMETRE = Unit("mm²", 1e-6, "m2")
DEGREE = Unit("°", math.pi / 180, "rad")
PER_CENT = Unit("%", 0.01)
NUMBER = Unit("–", 1.0)
"""For numbers without a unit."""


def unit_for(value: float, units: Family) -> Unit:
    """The largest unit not above a value; the smallest if all are above it; SI for zero."""
    if value == 0:
        return next((unit for unit in units if unit.size == 1.0), units[0])
    fitting = [unit for unit in units if abs(value) >= unit.size * (1 - 1e-9)]
    return fitting[-1] if fitting else units[0]


def common_unit(values: Iterable[float], units: Family, room: float = ROOM) -> Unit:
    """One unit for several values: that of their geometric mean, a factor `room` [-] below one allowed."""
    positive = [abs(value) for value in values if math.isfinite(value) and value != 0]
    if not positive:
        return units[0]
    mean = math.exp(sum(math.log(value) for value in positive) / len(positive))
    return unit_for(room * mean, units)


@dataclass(frozen=True)
class Units:
    """Units of a whole result, chosen once and used by each of its tables and sentences."""

    chosen: Mapping[Family, Unit] = field(default_factory=dict)

    @classmethod
    def that_suit(cls, values: Mapping[Family, Iterable[float | None]]) -> Units:
        """One unit of each family, for all its values in SI; a family without values is left open."""
        known = {family: [value for value in own if value is not None] for family, own in values.items()}
        return cls({family: common_unit(own, family) for family, own in known.items() if any(own)})

    def of(self, unit: Unit | Family, values: Iterable[float] = ()) -> Unit:
        """The unit itself; of a family, the chosen one or, without a choice, the one that suits some values."""
        if isinstance(unit, Unit):
            return unit
        return self.chosen.get(unit) or common_unit(values, unit)
