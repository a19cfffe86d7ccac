"""Installations with zones, spectra, saturation, layers and bonds, each solved once on a coarse mesh."""

import functools

from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from tests.studies.coarse_meshes import coarse_meshes

CABLE = """
[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
LAYERS
jacket = "1.8 mm"
"""
ARMOURED = """
[cables.hv]
conductor = { material = "copper", area = "240 mm^2", temperature = "90 degC", skin_coefficient = 0.435 }
insulation = "4 mm"
screen = { material = "copper", thickness = "0.3 mm" }
separation = "0.6 mm"
sheath = { material = "lead", thickness = "2 mm" }
bedding = "1.4 mm"
armour = { material = "aluminium", thickness = "2.5 mm", fill = "88 %" }
jacket = "3 mm"
"""
SPECTRUM = (
    """title = "Covered ladder"
frequency = "50 Hz"
"""
    + ARMOURED
    + """
[[circuits]]
name = "F1"
cable = "hv"
arrangement = "flat"
clear_gap = "20 mm"
rests_at = ["-60 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "500 A"
harmonics = { 5 = "20 %", 7 = ["14 %", "30 deg"] }

[[circuits]]
name = "F2"
cable = "hv"
arrangement = "trefoil"
rests_at = ["150 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "100 A"
frequency = "400 Hz"

[[trays]]
name = "Ladder 1"
profile = "ladder"
rests_at = ["0 mm", "0 mm"]
inside_width = "480 mm"
inside_height = "100 mm"
rail_flange = "20 mm"
thickness = "2 mm"
material = "galvanised-steel"
cover = "closed"

[[bonds]]
parts = ["F1 sheaths", "F1 armours"]

[[bonds]]
parts = ["F2 armours", "Ladder 1"]
impedance = ["0.1 ohm/km", "0.05 ohm/km"]
earth = true

[earth]
resistivity = "100 ohm*m"
surface = "-2 m"

[[receptors]]
name = "desk"
at = ["1.5 m", "0.5 m"]
limit = "ICNIRP 2010 public"

[[receptors]]
name = "bench"
at = ["1.2 m", "-0.3 m"]
limit = "4 uT"

[[zones]]
name = "office"
window = [["0.5 m", "-0.4 m"], ["1.4 m", "0.4 m"]]
limit = "ICNIRP 2010 public"

[[zones]]
name = "store"
window = [["-9 m", "-0.4 m"], ["-8 m", "0.4 m"]]

[map]
window = [["-0.6 m", "-0.6 m"], ["2 m", "0.9 m"]]

[accuracy]
tolerance = "20 %"
"""
)
SATURATING = (
    """title = "Duct, beam and sheet"
frequency = "50 Hz"
"""
    + CABLE.replace("LAYERS", 'screen = { material = "copper", thickness = "0.2 mm" }')
    + """
[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
clear_gap = "0 mm"
rests_at = ["-60 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "D1"
profile = "duct"
rests_at = ["0 mm", "0 mm"]
inside_width = "240 mm"
inside_height = "90 mm"
dividers = ["10 mm"]
thickness = "2 mm"
material = "mild-steel-saturating"

[[metalwork]]
name = "beam"
shape = "I"
at = ["-250 mm", "-100 mm"]
height = "160 mm"
width = "82 mm"
web = "5 mm"
flange = "7.4 mm"
turned = "20 deg"
material = "mild-steel"

[[metalwork]]
name = "shield"
shape = "path"
path = [["200 mm", "-100 mm"], ["200 mm", "150 mm"], ["150 mm", "200 mm"]]
thickness = "3 mm"
material = "aluminium-5052"

[[metalwork]]
name = "pipe"
shape = "tube"
at = ["0 mm", "160 mm"]
outside_diameter = "60 mm"
thickness = "4 mm"
material = "copper"

[[receptors]]
name = "desk"
at = ["0.5 m", "0.3 m"]

[current_sweep]
factors = [2, 0.25, 1]

[accuracy]
tolerance = "20 %"
"""
)
CROSS = (
    """title = "Perforated tray on its side"
frequency = "60 Hz"
"""
    + CABLE.replace("LAYERS", 'screen = { material = "copper", thickness = "0.2 mm" }')
    + """
[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [["-25 mm", "-100 mm"], ["-25 mm", "0 mm"], ["-25 mm", "100 mm"]]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
turned = "90 deg"
inside_width = "300 mm"
inside_height = "60 mm"
lip = "12 mm"
dividers = ["50 mm"]
thickness = "1.5 mm"
material = "mild-steel"
open_area = "25 %"
cover = { gap = "5 mm", edge = "20 mm", material = "aluminium" }

[[bonds]]
parts = ["F1 screens"]
kind = "cross-bonded"

[accuracy]
tolerance = "20 %"
"""
)


def solved(text: str, share: float = 0.5) -> Result:
    with coarse_meshes(share):
        return run(loads(text))


@functools.cache
def with_spectrum() -> Result:
    """Harmonics, zones and limits."""
    return solved(SPECTRUM)


@functools.cache
def with_saturation() -> Result:
    """Steel that saturates."""
    return solved(SATURATING, 0.6)  # at a half a third mesh would follow


@functools.cache
def cross_bonded() -> Result:
    """No receptors, no zones, no limits."""
    return solved(CROSS)
