"""Quantities as text with units, such as "56 mm" or "10 mG", turned into SI numbers.

Temperatures become degrees Celsius, the scale of the cable standards; every other quantity becomes its SI unit, per
cent becomes a ratio. The kinds of quantity and the finite range of each named quantity are the tables below, the units
those of `studies.study.unit_names`; messages, models and tests read them.
"""

import functools
import math
import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

from geometry.sizes import AREAS
from studies.study.unit_names import APPARENT_POWER, FACTORS, OTHER_NAMES, SPELLINGS, UNITS
from studies.text.printable import shortened
from studies.text.problems import WrongInput, nearest

if TYPE_CHECKING:
    from pint import UnitRegistry


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: the unit of its SI number and the units to name in a message."""

    name: str
    si: str
    units: tuple[str, ...]


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            Kind("length", "m", ("mm", "cm", "m", "in", "ft", "mil", "um", "km")),
            Kind("area", "m^2", ("mm^2", "kcmil", "AWG", "cmil", "cm^2", "m^2", "in^2")),
            Kind("current", "A", ("A", "kA", "mA")),
            Kind("voltage", "V", ("V", "kV", "mV", "uV")),
            Kind("power", "W", ("kW", "W", "MW")),
            Kind("flux density", "T", ("uT", "nT", "mT", "T", "mG", "G")),
            Kind("temperature", "degC", ("degC", "K", "degF")),
            Kind("frequency", "Hz", ("Hz", "kHz")),
            Kind("ratio", "", ("%",)),
            Kind("resistance per length", "ohm/m", ("ohm/km", "mohm/m", "ohm/m", "ohm/kft", "uohm/m")),
            Kind("conductivity", "S/m", ("MS/m", "S/m", "kS/m")),
            Kind("resistivity", "ohm*m", ("uohm*m", "ohm*m", "nohm*m")),
            Kind("temperature difference", "K", ("K",)),
            Kind("temperature coefficient", "1/K", ("1/K", "%/K")),
            Kind("angle", "rad", ("deg", "rad")),
        )
    }
)


@dataclass(frozen=True)
class Range:
    """The finite range of a named quantity, both ends allowed unless `above` excludes the lower one."""

    kind: str
    low: str
    high: str
    example: str
    above: bool = False

    def words(self) -> str:
        """The range in words."""
        return f"above {self.low} and at most {self.high}" if self.above else f"from {self.low} to {self.high}"


# Plausibility bounds are common practice, no source: wide enough for any cable installation, narrow enough to catch a
# slipped unit. Frequency stops at 20 kHz, where strand effects and displacement currents are no longer small.
RANGES: Mapping[str, Range] = MappingProxyType(
    {
        "frequency": Range("frequency", "0 Hz", "20 kHz", "50 Hz", above=True),
        "coordinate": Range("length", "-1000 m", "1000 m", "0.5 m"),
        "thickness": Range("length", "0.01 mm", "100 mm", "1.5 mm"),
        "diameter": Range("length", "0.1 mm", "300 mm", "18.5 mm"),
        "area": Range("area", "0.005 mm^2", "5000 mm^2", "240 mm^2"),
        "spacing": Range("length", "0.1 mm", "100 m", "56 mm"),
        "clear gap": Range("length", "0 mm", "100 m", "25 mm"),
        "size": Range("length", "0.1 mm", "100 m", "200 mm"),
        "inside diameter": Range("length", "5 mm", "10 m", "100 mm"),
        "lip": Range("length", "0 mm", "1 m", "15 mm"),
        "edge": Range("length", "1 mm", "1 m", "20 mm"),
        "cover gap": Range("length", "0.1 mm", "1 m", "5 mm"),
        "tray width": Range("length", "5 mm", "10 m", "300 mm"),
        "tray height": Range("length", "1 mm", "5 m", "100 mm"),
        "current": Range("current", "0 A", "100 kA", "400 A"),
        "load factor": Range("ratio", "0 %", "100 %", "60 %", above=True),
        "permitted current": Range("current", "0 A", "100 kA", "520 A", above=True),
        "power": Range("power", "0 W", "1000 MW", "180 kW", above=True),
        "voltage": Range("voltage", "0 V", "1000 kV", "400 V", above=True),
        "induced voltage": Range("voltage", "0 V", "100 kV", "10 mV", above=True),
        "lay length": Range("length", "5 mm", "100 m", "60 mm"),
        "fault current": Range("current", "0 A", "500 kA", "40 kA", above=True),
        "place on the route": Range("length", "0 m", "1000 km", "60 m"),
        "bend radius": Range("length", "1 mm", "100 m", "0.5 m"),
        "route length": Range("length", "0.1 m", "1000 km", "120 m"),
        "cleat spacing": Range("length", "10 mm", "20 m", "0.6 m"),
        "angle": Range("angle", "-360 deg", "360 deg", "-120 deg"),
        "loss angle": Range("angle", "0 deg", "80 deg", "15 deg"),
        "limit": Range("flux density", "0 uT", "10 T", "0.5 uT", above=True),
        "saturation": Range("flux density", "0.1 T", "2.5 T", "1.5 T"),
        "temperature": Range("temperature", "-100 degC", "400 degC", "70 degC"),
        "tolerance": Range("ratio", "0.01 %", "20 %", "0.5 %"),
        "fill": Range("ratio", "1 %", "100 %", "90 %"),
        "open area": Range("ratio", "0 %", "80 %", "30 %"),
        "share": Range("ratio", "100 %", "1000 %", "115 %"),
        "laying spread": Range("length", "0 mm", "100 mm", "3 mm"),
        "current spread": Range("ratio", "0 %", "20 %", "1.5 %"),
        "angle spread": Range("angle", "0 deg", "20 deg", "1 deg"),
        "material spread": Range("ratio", "0 %", "50 %", "20 %"),
        "temperature spread": Range("temperature difference", "0 K", "50 K", "10 K"),
        "harmonic share": Range("ratio", "0 %", "300 %", "12 %", above=True),
        "direct current": Range("current", "-100 kA", "100 kA", "800 A"),
        "net share": Range("ratio", "0 %", "100 %", "1 %", above=True),
        "closing impedance": Range("resistance per length", "0 ohm/km", "10000 ohm/km", "0.1 ohm/km"),
        "earth resistivity": Range("resistivity", "1 ohm*m", "100000 ohm*m", "100 ohm*m"),
        "dc resistance": Range("resistance per length", "0.0001 ohm/km", "10000 ohm/km", "0.0754 ohm/km"),
        "conductivity": Range("conductivity", "1 S/m", "100 MS/m", "6.0 MS/m"),
        "resistivity": Range("resistivity", "0.01 uohm*m", "1 ohm*m", "0.17 uohm*m"),
        "temperature coefficient": Range("temperature coefficient", "-0.02 1/K", "0.02 1/K", "0.00393 1/K"),
    }
)
"""Every named quantity of the study file."""

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_UNIT = r"[A-Za-z%]+(?:(?:\^|\*\*)?[1-4])?"
_TEXT = re.compile(rf"({_NUMBER})\s*((?:1\s*/\s*|/\s*)?{_UNIT}(?:(?:\s*[/*]\s*|\s+){_UNIT})*)?", re.ASCII)
_GAP = re.compile(rf"({_NUMBER})\s*(?:x\s*)?diameters?", re.ASCII)


class QuantityError(WrongInput):
    """A quantity that cannot be taken as it stands."""


@dataclass(frozen=True)
class Gap:
    """A clear gap: a length [m], or a multiple of the cable's overall diameter [-] if it is in diameters."""

    value: float
    in_diameters: bool = False

    def length(self, diameter: float) -> float:
        """The gap for cables of this overall diameter. [m]"""
        return self.value * diameter if self.in_diameters else self.value


def quantity(text: object, name: str) -> float:
    """Number of a quantity named in `RANGES`, in SI units, degC or as a ratio, checked against its range.

    What is no text with a unit, such as "56 mm", is a `QuantityError` that shows the right form.
    """
    allowed = RANGES[name]
    return in_range(convert(text, allowed.kind, allowed.example), name)


def in_range(value: float, name: str) -> float:
    """The SI number itself if it lies within the range of the named quantity, else a `QuantityError`."""
    allowed = RANGES[name]
    low, high = bounds(name)
    right = f'"{allowed.example}", {allowed.words()}'
    if not math.isfinite(value):
        raise QuantityError("is not a finite number", right)
    slack = 1e-12 * max(abs(low), abs(high)) if not allowed.above else 0.0  # conversions round in the last digits
    if value < low - slack or value > high * (1 + 1e-12) + slack or (allowed.above and value <= low):
        raise QuantityError(f"is outside what is allowed for this {name}", right)
    return value


@functools.cache
def bounds(name: str) -> tuple[float, float]:
    """Lower and upper bound of a named quantity as SI numbers."""
    allowed = RANGES[name]
    return convert(allowed.low, allowed.kind), convert(allowed.high, allowed.kind)


def gap(text: object) -> Gap:
    """A clear gap from a length such as "25 mm" or a multiple such as "1 diameter" of the cable."""
    if isinstance(text, str) and (match := _GAP.fullmatch(_plain(text))):
        count = float(match[1])
        if not 0 <= count <= MOST_DIAMETERS:
            right = f'"1 diameter", from 0 to {MOST_DIAMETERS} diameters'
            raise QuantityError("is outside what is allowed for a clear gap", right)
        return Gap(count, in_diameters=True)
    try:
        return Gap(quantity(text, "clear gap"))
    except QuantityError as error:
        raise QuantityError(error.wrong, f'{error.right}; or "1 diameter" of the cable') from None


MOST_DIAMETERS = 1000
"""Largest clear gap in cable diameters, common practice, no source. [-]"""


def convert(text: object, kind_name: str, example: str | None = None) -> float:
    """Number of a quantity of this kind in SI units, without a range; see `quantity`."""
    kind = KINDS[kind_name]
    shown = example or f"1 {kind.units[0]}"
    right = f'"{shown}"' if len(kind.units) == 1 else f'"{shown}", with one of {", ".join(kind.units)}'
    if isinstance(text, bool) or not isinstance(text, str):
        raise QuantityError(*_not_text(text, shown, right))
    plain = _plain(text)
    if not plain:
        raise QuantityError("is empty", right)
    if kind_name == "area" and "AWG" in plain.upper():
        return _gauge_area(plain)
    match = _TEXT.fullmatch(plain)
    if kind_name == "area" and f"{plain} AWG" in AREAS and "/" in plain:
        raise QuantityError("is a number without a unit", f'"{plain} AWG"')
    if match is None:
        raise QuantityError(_why_not(plain), _with_point(plain, kind_name) or right)
    number, unit = float(match[1]), match[2] or ""
    if not math.isfinite(number):
        raise QuantityError("is not a finite number", right)
    if not unit:
        share = _unit_of(shown) == "%" and 0 < number <= 1
        form = _with_unit(number, shown) if share else f'"{plain} {_unit_of(shown)}", {_one_of(kind)}'
        raise QuantityError("is a number without a unit", form)
    value = _si_number(number, unit, kind, right)
    if not math.isfinite(value):
        raise QuantityError("is not a finite number", right)
    return value


LARGEST_SHOWN = 1e15
"""Largest bare number that a message repeats with a unit."""


def _plain(text: str) -> str:
    for sign, spelling in SPELLINGS:
        text = text.replace(sign, spelling)
    return text.strip()


def _unit_of(example: str) -> str:
    return example.partition(" ")[2]


def _one_of(kind: Kind) -> str:
    return f"with one of {', '.join(kind.units)}" if len(kind.units) > 1 else "with its unit"


def _not_text(value: object, example: str, right: str) -> tuple[str, str]:
    if isinstance(value, int | float) and not isinstance(value, bool):
        if isinstance(value, float) and not math.isfinite(value):
            return "is not a finite number", right
        if abs(value) > LARGEST_SHOWN:
            return "is a bare number, its unit is missing", right
        return "is a bare number, its unit is missing", _with_unit(value, example)
    kinds = {bool: "true or false", list: "a list", tuple: "a list", dict: "a table"}
    what = kinds.get(type(value), f"a {type(value).__name__}")
    return f"is {what}, not one text with a number and a unit", right


def _with_unit(value: float, example: str) -> str:
    """A bare number with the unit that it may have: a share may be meant as such, a very small number in SI."""
    unit = _unit_of(example)
    if unit == "%" and 0 < value <= 1:
        return f'"{100 * value:g} %" if it is a share of 1, "{value:g} %" if it is in per cent'
    if unit == "uT" and 0 < abs(value) < 1e-3:
        return f'"{1e6 * value:g} uT" if it is in T, "{value} uT" if that is the unit meant'
    return f'"{value} {unit}" if that is the unit meant'


def _why_not(plain: str) -> str:
    if re.match(r"[+-]?(nan|inf)", plain, re.IGNORECASE):
        return "is not a finite number"
    if re.match(r"[+-]?\d+,\d", plain):
        return "has a comma in its number; the decimal sign is a point, and thousands are not separated"
    if not re.match(_NUMBER, plain):
        return "does not begin with a number"
    return "is not one number followed by one unit"


def _with_point(plain: str, kind_name: str) -> str:
    """A quantity with a comma as it is meant, or in both meanings if it may part thousands; empty if there is none."""
    if not re.match(r"[+-]?\d+,\d+", plain):
        return ""
    meanings = [plain.replace(",", ".", 1)]
    if re.match(r"[+-]?[1-9]\d{0,2}(,\d{3})+(?![\d,])", plain):
        meanings.append(plain.replace(",", ""))
    sound = []
    for text in meanings:
        with suppress(QuantityError):
            convert(text, kind_name)
            sound.append(f'"{text}"')
    return " or ".join(sound)


def _gauge_area(plain: str) -> float:
    area = AREAS.get(plain)
    if area is None:
        spelled = re.sub(r"^(?:AWG)?\s*(\S+?)\s*(?:AWG)?$", r"\1 AWG", plain, flags=re.IGNORECASE)
        meant = f'"{spelled}"; ' if spelled in AREAS else ""
        raise QuantityError("is no size of the American wire gauge", f'{meant}sizes go from "4/0 AWG" to "40 AWG"')
    return area


def _si_number(number: float, unit: str, kind: Kind, right: str) -> float:
    plain = re.sub(r"(?<=[A-Za-z])(?=[1-4])", "^", re.sub(r"\s*([/*])\s*", r"\1", unit))
    factor = FACTORS[kind.name].get(plain)
    return number * factor if factor is not None else _converted(number, plain, unit, kind, right)


def _converted(number: float, plain: str, unit: str, kind: Kind, right: str) -> float:
    """SI number of a product, quotient or power of any units, by pint."""
    from pint import DimensionalityError  # only here and in _registry: heavy

    registry = _registry()
    plain = "1" + plain if plain.startswith("/") else plain
    plain = re.sub(r"\s+", "*", plain)
    names = re.findall(r"[A-Za-z%]+", plain)
    for name in names:
        if name not in UNITS:
            raise QuantityError(f'has the unknown unit "{shortened(name)}"', _known_unit(name, kind, right))
    if kind.name == "temperature difference" and set(names) & {"degC", "degF"}:
        raise QuantityError(f'has the unit "{shortened(unit)}" of a temperature, not of a difference of two', right)
    spelled = re.sub(r"[A-Za-z%]+", lambda match: _symbol(match[0]), plain)
    target = re.sub(r"[A-Za-z%]+", lambda match: _symbol(match[0]), kind.si) or "dimensionless"
    try:
        value = registry.Quantity(number, registry.parse_units(spelled)).to(registry.parse_units(target)).magnitude
    except (DimensionalityError, ArithmeticError):
        raise QuantityError(f'has the unit "{shortened(unit)}", which is no unit of {kind.name}', right) from None
    return float(value)


def _known_unit(name: str, kind: Kind, right: str) -> str:
    if name in APPARENT_POWER:
        return right
    other = OTHER_NAMES.get(name.casefold())
    same = [unit for unit in (*kind.units, *UNITS) if unit.casefold() == name.casefold()]
    near = other or (same[0] if same else nearest(name, [unit for unit in kind.units if unit in UNITS]))
    return f'"{near}" in place of "{name}"; {right}' if near else right


def _symbol(name: str) -> str:
    # one spelling of its own for each unit, so that nothing is read as a prefix and a unit
    return "u_percent" if name == "%" else f"u_{name}"


@functools.cache
def _registry() -> "UnitRegistry[float]":
    from pint import UnitRegistry  # heavy

    registry: UnitRegistry[float] = UnitRegistry(None, cache_folder=None)
    for base, dimension in (("metre", "length"), ("second", "time"), ("kilogram", "mass"), ("ampere", "current")):
        registry.define(f"{base} = [{dimension}]")
    registry.define("kelvin = [temperature]")
    registry.define("radian = [angle]")
    registry.define("tesla = kilogram / ampere / second ** 2")
    registry.define("ohm = kilogram * metre ** 2 / ampere ** 2 / second ** 3")
    for name, definition in UNITS.items():
        registry.define(f"{_symbol(name)} = {definition}")
    return registry
