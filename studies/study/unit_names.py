"""Units of the trade with their definitions, and other spellings of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

from geometry.sizes import CIRCULAR_MIL

UNITS: Mapping[str, str] = MappingProxyType(
    {
        "m": "metre",
        "cm": "1e-2 metre",
        "mm": "1e-3 metre",
        "um": "1e-6 metre",
        "km": "1e3 metre",
        "in": "25.4e-3 metre",
        "ft": "0.3048 metre",
        "kft": "304.8 metre",
        "mil": "25.4e-6 metre",
        "kcmil": f"{1000 * CIRCULAR_MIL!r} metre ** 2",
        "cmil": f"{CIRCULAR_MIL!r} metre ** 2",
        "A": "ampere",
        "mA": "1e-3 ampere",
        "kA": "1e3 ampere",
        "W": "ohm * ampere ** 2",
        "kW": "1e3 ohm * ampere ** 2",
        "MW": "1e6 ohm * ampere ** 2",
        "V": "ohm * ampere",
        "kV": "1e3 ohm * ampere",
        "mV": "1e-3 ohm * ampere",
        "uV": "1e-6 ohm * ampere",
        "T": "tesla",
        "mT": "1e-3 tesla",
        "uT": "1e-6 tesla",
        "nT": "1e-9 tesla",
        "G": "1e-4 tesla",
        "mG": "1e-7 tesla",
        "Hz": "1 / second",
        "kHz": "1e3 / second",
        "%": "0.01",
        "ohm": "ohm",
        "mohm": "1e-3 ohm",
        "uohm": "1e-6 ohm",
        "nohm": "1e-9 ohm",
        "S": "1 / ohm",
        "kS": "1e3 / ohm",
        "MS": "1e6 / ohm",
        "deg": f"{math.pi / 180!r} radian",
        "rad": "radian",
        "K": "kelvin",
        "degC": "kelvin; offset: 273.15",
        "degF": "5 / 9 kelvin; offset: 233.15 + 200 / 9",
    }
)
"""Every accepted unit with its definition; products, quotients and powers of them are accepted too."""


FACTORS: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "length": {
            "m": 1.0,
            "cm": 1e-2,
            "mm": 1e-3,
            "um": 1e-6,
            "km": 1e3,
            "in": 25.4e-3,
            "ft": 0.3048,
            "mil": 25.4e-6,
        },
        "area": {"mm^2": 1e-6, "cm^2": 1e-4, "m^2": 1.0, "kcmil": 1000 * CIRCULAR_MIL},
        "current": {"A": 1.0, "mA": 1e-3, "kA": 1e3},
        "voltage": {"V": 1.0, "mV": 1e-3, "kV": 1e3},
        "power": {"W": 1.0, "kW": 1e3, "MW": 1e6},
        "flux density": {"T": 1.0, "mT": 1e-3, "uT": 1e-6, "nT": 1e-9, "G": 1e-4, "mG": 1e-7},
        "temperature": {"degC": 1.0},
        "temperature difference": {"K": 1.0},
        "frequency": {"Hz": 1.0, "kHz": 1e3},
        "ratio": {"%": 0.01},
        "resistance per length": {"ohm/km": 1e-3, "ohm/m": 1.0, "mohm/m": 1e-3, "uohm/m": 1e-6},
        "conductivity": {"MS/m": 1e6, "S/m": 1.0, "kS/m": 1e3},
        "resistivity": {"uohm*m": 1e-6, "ohm*m": 1.0, "nohm*m": 1e-9},
        "temperature coefficient": {"1/K": 1.0, "%/K": 0.01},
        "angle": {"deg": math.pi / 180, "rad": 1.0},
    }
)
"""Usual units of each kind of quantity in its SI unit: pint, which is slow to load, converts the others."""


SPELLINGS: tuple[tuple[str, str], ...] = (
    ("\u00b5", "u"),  # micro sign
    ("\u03bc", "u"),  # Greek mu
    ("\u2126", "ohm"),  # ohm sign
    ("\u03a9", "ohm"),  # Greek capital omega
    ("\u00b0C", "degC"),
    ("\u00b0F", "degF"),
    ("\u00b0", "deg"),
    ("\u00b2", "^2"),
    ("\u00b7", "*"),
    ("\u2212", "-"),  # minus sign
    ("\u00a0", " "),  # no-break space
    ("\u202f", " "),  # narrow no-break space
)
"""Signs that mean the same as the plain spelling to their right."""


OTHER_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "c": "degC",
        "celsius": "degC",
        "f": "degF",
        "fahrenheit": "degF",
        "kelvin": "K",
        "mcm": "kcmil",
        "sqmm": "mm^2",
        "inch": "in",
        "inches": "in",
        "feet": "ft",
        '"': "in",
        "metre": "m",
        "ohm": "ohm",
        "ohms": "ohm",
        "amp": "A",
        "amps": "A",
        "ampere": "A",
        "amperes": "A",
        "volt": "V",
        "volts": "V",
        "watt": "W",
        "watts": "W",
        "hertz": "Hz",
        "tesla": "T",
        "microtesla": "uT",
        "nanotesla": "nT",
        "gauss": "G",
        "milligauss": "mG",
        "percent": "%",
        "degrees": "deg",
        "degree": "deg",
    }
)
"""Names people write for a unit that is spelt otherwise here; in small letters; used in messages only."""


APPARENT_POWER = ("VA", "kVA", "MVA")
"""Units that no quantity of a study has, and that are near others in spelling."""
