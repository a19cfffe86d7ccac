"""The commented study that a new study file starts with; it runs as it stands."""

STARTER = """\
# The question this study answers: how strong is the magnetic field of this feeder at the place of interest,
# and what do cables and tray lose? Change the numbers to yours; the data below are invented.
#
# Quantities are texts with a unit: "240 mm^2", "4/0 AWG", "500 kcmil", "56 mm", "0.4 kA", "0.5 uT", "10 mG", "70 degC".
# x goes to the right, y upwards, the cables run out of the page.

title = "My feeder"
frequency = "50 Hz"

# ---- Cables: each construction from the inside out -----------------------------------------------------------------
[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
# in conductor, if known: diameter = "18.5 mm" (outside of the strands), dc_resistance = "0.0754 ohm/km" (at 20 degC)
insulation = "1.7 mm"                   # radial thickness
# screen = { material = "copper", thickness = "0.2 mm" }      # a tube, with a temperature of its own if it differs
jacket = "1.8 mm"

# ---- Circuits: one block for each ----------------------------------------------------------------------------------
[[circuits]]
name = "F1"
cable = "c240"
arrangement = "flat"                    # "flat", "trefoil" or "positions"
spacing = "56 mm"                       # axis to axis; or clear_gap = "1 diameter" or a length, "0 mm" for touching
rests_at = ["0 mm", "0 mm"]             # the point under the middle of the formation, on its lowest tangent
phases = ["L1", "L2", "L3"]             # left to right; trefoil: left, right, top; repeated labels are parallel cables
current = "400 A"                       # rms per phase, balanced
# unbalanced: current = { L1 = "400 A", L2 = ["390 A", "-118 deg"], L3 = "380 A" }
#   a current without an angle takes the angle of the balanced circuit; N and PE carry nothing unless stated
# trefoil:    group_clear_gap = "2.15 diameter" between groups of three, spacing = "..." where the three do not touch
# positions:  positions = [["-56 mm", "28 mm"], ["0 mm", "28 mm"], ["56 mm", "28 mm"]] in place of spacing and rests_at

# ---- Trays: leave the block out where there is none ----------------------------------------------------------------
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]             # middle of the inside floor
inside_width = "300 mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "mild-steel"                 # a built-in material, or a [materials.NAME] of your own
# cover = "closed"

# [materials.test-steel]
# conductivity = "6.0 MS/m"
# relative_permeability = 300

# ---- Bonds: parts tied together at both ends of the run; what is in no bond carries no net current -----------------
# [[bonds]]
# parts = ["F1 screens", "T1"]

# ---- Where the field is asked for ----------------------------------------------------------------------------------
[[receptors]]
name = "instrument"
at = ["1.5 m", "0.5 m"]
limit = "0.5 uT"                        # resultant rms; leave it out where there is none

[[traverses]]
name = "line beside the tray"
from = ["-3 m", "1 m"]
to = ["3 m", "1 m"]
points = 121

[map]
window = [["-2 m", "-1 m"], ["2 m", "2 m"]]      # lower left and upper right corner

[accuracy]
tolerance = "0.5 %"
"""
"""Text of the starter study."""
