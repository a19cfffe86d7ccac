"""The units of the study file, with their products, quotients and powers, and numbers turned into SI."""

import functools
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from geometry.sizes import CIRCULAR_MIL

BASE = ("m", "kg", "s", "A", "K", "rad")
"""Units that the powers of a unit count; an angle is none of the SI's, but is told apart from a ratio here."""


class NotConvertibleError(ValueError):
    """A number whose unit is of another kind than the one it is to have."""


@dataclass(frozen=True)
class StudyUnit:
    """A unit of the study file, or a product of some."""

    size: float
    """Of one, in the base units."""
    powers: tuple[int, ...]
    """Of the units of `BASE`."""
    offset: float = 0.0
    """Where the zero of a scale of temperature lies. [K]"""
    interval: bool = False
    """A product with a scale of temperature, of which only the interval counts: it has no zero to start from."""


def _unit(size: float, offset: float = 0.0, **powers: int) -> StudyUnit:
    return StudyUnit(size, tuple(powers.get(base, 0) for base in BASE), offset)


def _ohm(size: float, power: int = 1, current: int = 0) -> StudyUnit:
    """Power of an ohm, kg m^2/(s^3 A^2), times a power of an ampere."""
    return _unit(size, kg=power, m=2 * power, s=-3 * power, A=current - 2 * power)


def _tesla(size: float) -> StudyUnit:
    return _unit(size, kg=1, A=-1, s=-2)


UNITS: Mapping[str, StudyUnit] = MappingProxyType(
    {
        "m": _unit(1.0, m=1),
        "cm": _unit(1e-2, m=1),
        "mm": _unit(1e-3, m=1),
        "um": _unit(1e-6, m=1),
        "km": _unit(1e3, m=1),
        "in": _unit(25.4e-3, m=1),
        "ft": _unit(0.3048, m=1),
        "kft": _unit(304.8, m=1),
        "mil": _unit(25.4e-6, m=1),
        "kcmil": _unit(1000 * CIRCULAR_MIL, m=2),
        "cmil": _unit(CIRCULAR_MIL, m=2),
        "A": _unit(1.0, A=1),
        "mA": _unit(1e-3, A=1),
        "kA": _unit(1e3, A=1),
        "W": _ohm(1.0, current=2),
        "kW": _ohm(1e3, current=2),
        "MW": _ohm(1e6, current=2),
        "V": _ohm(1.0, current=1),
        "kV": _ohm(1e3, current=1),
        "T": _tesla(1.0),
        "mT": _tesla(1e-3),
        "uT": _tesla(1e-6),
        "nT": _tesla(1e-9),
        "G": _tesla(1e-4),
        "mG": _tesla(1e-7),
        "Hz": _unit(1.0, s=-1),
        "kHz": _unit(1e3, s=-1),
        "%": _unit(0.01),
        "ohm": _ohm(1.0),
        "mohm": _ohm(1e-3),
        "uohm": _ohm(1e-6),
        "nohm": _ohm(1e-9),
        "S": _ohm(1.0, -1),
        "kS": _ohm(1e3, -1),
        "MS": _ohm(1e6, -1),
        "deg": _unit(math.pi / 180, rad=1),
        "rad": _unit(1.0, rad=1),
        "K": _unit(1.0, K=1),
        "degC": _unit(1.0, offset=273.15, K=1),
        "degF": _unit(5 / 9, offset=233.15 + 200 / 9, K=1),
    }
)
"""Every accepted unit; products, quotients and powers of them are accepted too."""

_FACTOR = re.compile(r"([/*]?)([A-Za-z%]+)(?:(?:\^|\*\*)([1-4]))?")


@functools.cache
def unit_of(text: str) -> StudyUnit:
    """The unit of a text such as "mm^2", "1/K" or "uohm*m", read from left to right; a KeyError for an unknown one.

    In a product a scale of temperature is its interval: 1/degC is 1/K.
    """
    count: dict[str, int] = {}
    for sign, name, power in _FACTOR.findall(text.removeprefix("1")):
        count[name] = count.get(name, 0) + (-1 if sign == "/" else 1) * int(power or 1)
    kept = {name: power for name, power in count.items() if power}
    if len(kept) == 1 and set(kept.values()) == {1}:
        return UNITS[next(iter(kept))]
    size, powers, interval = 1.0, [0] * len(BASE), False
    for name, power in kept.items():
        unit = UNITS[name]
        size *= unit.size**power
        interval |= unit.offset != 0
        powers = [so_far + power * own for so_far, own in zip(powers, unit.powers, strict=True)]
    return StudyUnit(size, tuple(powers), interval=interval)


def converted(number: float, unit: StudyUnit, wanted: StudyUnit) -> float:
    """A number of one unit in another of the same powers; a `NotConvertibleError` where they differ."""
    if unit.powers != wanted.powers or (unit.interval and wanted.offset):
        raise NotConvertibleError(f"{unit.powers} and {wanted.powers} are different kinds")
    if unit == wanted:
        return number
    if unit.offset or wanted.offset:
        return (number * unit.size + unit.offset) / wanted.size - wanted.offset
    return number * (unit.size / wanted.size)
