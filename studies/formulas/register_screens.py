"""Register of the formulas of cable screens."""

import numpy as np
from scipy.constants import mu_0

from studies.formulas.formula import Formula, Limit
from studies.formulas.screen_eddy import (
    flat_centre_eddy_factor,
    flat_eddy_reduction,
    flat_lagging_eddy_factor,
    flat_leading_eddy_factor,
    screen_thickness_factor,
    trefoil_eddy_factor,
    trefoil_eddy_reduction,
)
from studies.formulas.screens import (
    circulating_factor,
    flat_centre_circulating_factor,
    flat_lagging_circulating_factor,
    flat_leading_circulating_factor,
    flat_mutual_reactance,
    flat_outer_open_screen_voltage,
    screen_reactance,
    screen_reactance_transposed,
    trefoil_open_screen_voltage,
)

_FLAT_CIRCULATING = "IEC 60287-1-1, circulating current loss, flat formation without transposition [C]"
_EDDY = "IEC 60287-1-1, effect of eddy currents [C]"
_EDDY_BONDED = "IEC 60287-1-1, eddy currents with sheaths bonded at both ends [C]; where it applies [M]"

_THIN_SCREEN = Limit(
    ("thickness", "resistivity", "frequency"),
    lambda thickness, resistivity, frequency: thickness**2 * np.pi * frequency * mu_0 <= resistivity,
    "screen thicker than its skin depth, for which the standard's eddy terms are not meant",
)
_LAGGING_LOW = Limit(
    ("screen_resistance", "mean_diameter", "spacing", "frequency"),
    lambda screen_resistance, mean_diameter, spacing, frequency: (
        (2e-7 * np.pi * frequency >= 0.5 * screen_resistance) | (mean_diameter <= 0.2 * spacing)
    ),
    "screen of high resistance, m = w/(10^7 Rs) below 0.5, near its neighbours: for the cable with the lagging phase "
    "the standard's fit is low, by up to 9 % (exact series of three thin screens)",
)

SCREEN_FORMULAS: tuple[Formula, ...] = (
    Formula(
        screen_reactance,
        "reactance of a screen",
        "ohm/m",
        "IEC 60287-1-1, sheath reactance [C]",
        "thin screens, balanced currents, no tray or other metal nearby",
    ),
    Formula(
        screen_reactance_transposed,
        "reactance of a screen",
        "ohm/m",
        "IEC 60287-1-1, sheath reactance, flat formation with transposition [M]",
        "thin screens, balanced currents, no tray or other metal nearby, regularly transposed",
    ),
    Formula(
        flat_mutual_reactance,
        "mutual reactance",
        "ohm/m",
        "IEC 60287-1-1, flat formation without transposition [C]",
        "thin screens, balanced currents, no tray or other metal nearby, equal spacings",
    ),
    Formula(
        circulating_factor,
        "circulating loss over conductor loss",
        "-",
        "IEC 60287-1-1, circulating current loss: trefoil [C], flat with transposition [M]",
        (
            "thin screens, balanced currents, no tray or other metal nearby, bonded at both ends, no current in "
            "earth; in flat formation regularly transposed"
        ),
    ),
    Formula(
        flat_centre_circulating_factor,
        "circulating loss over conductor loss",
        "-",
        _FLAT_CIRCULATING,
        (
            "thin screens, balanced currents, no tray or other metal nearby, bonded at both ends, no current in "
            "earth; equal spacings, not transposed"
        ),
    ),
    Formula(
        flat_lagging_circulating_factor,
        "circulating loss over conductor loss",
        "-",
        _FLAT_CIRCULATING,
        (
            "thin screens, balanced currents, no tray or other metal nearby, bonded at both ends, no current in "
            "earth; equal spacings, not transposed"
        ),
    ),
    Formula(
        flat_leading_circulating_factor,
        "circulating loss over conductor loss",
        "-",
        _FLAT_CIRCULATING,
        (
            "thin screens, balanced currents, no tray or other metal nearby, bonded at both ends, no current in "
            "earth; equal spacings, not transposed"
        ),
    ),
    Formula(
        trefoil_open_screen_voltage,
        "standing screen voltage",
        "V/m",
        "IEC 60287-1-1 reactance [C]; method as in IEEE Std 575 [M]",
        "thin screens, balanced currents, no tray or other metal nearby, all screens open",
    ),
    Formula(
        flat_outer_open_screen_voltage,
        "standing screen voltage",
        "V/m",
        "Derived from the line formula [D]; method as in IEEE Std 575 [M]",
        "thin screens, balanced currents, no tray or other metal nearby, all screens open, equal spacings",
    ),
    Formula(
        screen_thickness_factor,
        "factor for the thickness of a screen",
        "-",
        "IEC 60287-1-1, effect of eddy currents [C]; gs = 1 for lead [M]",
        "screen thinner than its skin depth; 1 for lead",
        (_THIN_SCREEN,),
    ),
    Formula(
        trefoil_eddy_factor,
        "eddy loss over conductor loss",
        "-",
        _EDDY,
        "screen thinner than its skin depth, balanced currents, single-point bonded, no other metal nearby",
        (_THIN_SCREEN,),
    ),
    Formula(
        flat_centre_eddy_factor,
        "eddy loss over conductor loss",
        "-",
        _EDDY,
        (
            "screen thinner than its skin depth, balanced currents, single-point bonded, no other metal nearby, equal "
            "spacings"
        ),
        (_THIN_SCREEN,),
    ),
    Formula(
        flat_leading_eddy_factor,
        "eddy loss over conductor loss",
        "-",
        _EDDY,
        (
            "screen thinner than its skin depth, balanced currents, single-point bonded, no other metal nearby, equal "
            "spacings"
        ),
        (_THIN_SCREEN,),
    ),
    Formula(
        flat_lagging_eddy_factor,
        "eddy loss over conductor loss",
        "-",
        _EDDY,
        (
            "screen thinner than its skin depth, balanced currents, single-point bonded, no other metal nearby, equal "
            "spacings"
        ),
        (_THIN_SCREEN, _LAGGING_LOW),
    ),
    Formula(
        trefoil_eddy_reduction,
        "factor on the eddy loss",
        "-",
        _EDDY_BONDED,
        "screens bonded at both ends, segmental conductors",
    ),
    Formula(
        flat_eddy_reduction,
        "factor on the eddy loss",
        "-",
        _EDDY_BONDED,
        "screens bonded at both ends, segmental conductors, equal spacings",
    ),
)
