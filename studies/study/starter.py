"""The commented study that `trayfield new` writes; it runs unchanged."""

STARTER = """\
# The question: how strong is the magnetic field of this feeder at the place of interest, and what are the losses of
# cables and tray? How do the ways of laying the same cables compare: flat with gaps, flat touching, trefoil, and flat
# with the phases transposed? Change the numbers to yours; the data below are invented.
#
#   trayfield run THIS.toml        this arrangement, in full
#   trayfield compare THIS.toml    all arrangements: this one and the [[variants]] at the end of this file
#
# Quantities are texts with a unit: "240 mm^2", "4/0 AWG", "500 kcmil", "56 mm", "0.4 kA", "0.5 uT", "10 mG", "70 degC".
# x points to the right, y upwards; the cables run out of the page.

title = "My feeder"
case = "flat, spaced"                   # name of this arrangement in the comparison; optional
frequency = "50 Hz"

# ---- Cables: each construction from the inside out ------------------------------------------------------------------
[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
# also in conductor, if known: diameter = "18.5 mm" (over the strands), dc_resistance = "0.0754 ohm/km" (at 20 degC),
#   skin_coefficient = 0.435 and proximity_coefficient = 0.37 (ks and kp of IEC 60287-1-1, for segmental conductors)
insulation = "1.7 mm"                   # radial thickness
# screen = { material = "copper", thickness = "0.2 mm" }      # a tube; add temperature if it differs
# separation = "0.5 mm"                 # between screen and sheath
# sheath = { material = "lead", thickness = "1.4 mm" }
# bedding = "1.2 mm"                    # under the armour
# armour = { material = "steel-wire-armour", thickness = "2.0 mm", fill = "90 %" }     # the wires fill 90 % of a tube
jacket = "1.8 mm"

# ---- Circuits: one block for each -----------------------------------------------------------------------------------
[[circuits]]
name = "F1"
cable = "c240"
arrangement = "flat"                    # "flat", "trefoil", "positions" or "drawing"
clear_gap = "1 diameter"                # between neighbours; a length also works, "0 mm" for touching cables;
                                        #   or state the distance of the axes: spacing = "56 mm"
rests_at = ["0 mm", "0 mm"]             # below the middle of the formation, level with its lowest point
phases = ["L1", "L2", "L3"]             # left to right; trefoil: left, right, top; repeated labels are parallel cables
current = "400 A"                       # rms per phase, balanced
# unbalanced: current = { L1 = "400 A", L2 = ["390 A", "-118 deg"], L3 = "380 A" }
#   A current without an angle has the angle of the balanced circuit. An N without a current returns the sum of the
#   others; a PE without a current carries nothing.
# frequency = "50 Hz"                   # of this circuit, if it differs
# harmonics = { 5 = "20 %", 7 = ["12 %", "30 deg"] }    # shares of the fundamental; order 3 returns through an N
# trefoil:    group_clear_gap = "2.15 diameter" between groups of three, spacing = "..." if the three do not touch
# positions:  positions = [["-56 mm", "28 mm"], ["0 mm", "28 mm"], ["56 mm", "28 mm"]] instead of spacing and rests_at
# drawing:    drawn_on = { L1 = "PHASE-1", L2 = "PHASE-2", L3 = "PHASE-3" }, layers with circles; see [drawing] below

# ---- Trays: delete the block if there is no tray --------------------------------------------------------------------
[[trays]]
name = "T1"
profile = "channel"                     # "channel", "plate", "ladder", "duct" or "conduit"
rests_at = ["0 mm", "0 mm"]             # middle of the inside floor, on which cables rest
inside_width = "300 mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "mild-steel"                 # a built-in material, or one from a [materials.NAME] block
# cover = "closed"                      # in contact; or { gap = "5 mm", edge = "20 mm" } for a cover at a distance
# lip = "15 mm"                         # at the top of the walls, lips = "inward" or "outward"
# dividers = ["50 mm"]                  # upright sheets, x from the middle; divider_height = "60 mm" if lower
# open_area = "30 %"                    # of a perforated sheet
# temperature = "35 degC"
# turned = "0 deg"                      # counter-clockwise about rests_at
# plate: width instead of inside_width and inside_height; conduit: inside_diameter; ladder: rail_flange of the C-rails,
#   and rails = "insulated" if its rungs do not join the rails

# ---- Other metal nearby: "path" (a bent sheet), "I", "L", "rectangle", "tube" or "drawing" --------------------------
# [[metalwork]]
# name = "beam"
# shape = "I"
# at = ["0 m", "0.8 m"]                 # middle of the lower flange's underside
# height = "200 mm"
# width = "100 mm"
# web = "5.6 mm"
# flange = "8.5 mm"
# material = "mild-steel"

# [drawing]   file = "section.dxf" (in the folder of this file), unit = "mm"; for arrangement or shape = "drawing"

# [materials.test-steel]
# conductivity = "6.0 MS/m"
# relative_permeability = 300           # for steel that saturates: curve_file = "steel.csv", or a built-in
#                                         curve = "sheet-steel-dc01-curve"
# loss_angle = "15 deg"                 # hysteresis

# ---- Bonds: parts joined at both ends of the run; a part in no bond carries no net current --------------------------
# [[bonds]]
# parts = ["F1 screens", "T1"]          # also "F1 sheaths", "F1 armours", "T1.cover", "beam", PE and N conductors
# kind = "both ends"                    # or "cross-bonded", for screens only, in three equal sections
# impedance = ["0.1 ohm/km", "0.05 ohm/km"]     # in series with the closing path
# earth = true                          # the bond also closes through the earth

# [earth]
# resistivity = "100 ohm*m"
# surface = "-1 m"                      # y of the earth's surface: parts above it are in air, parts below are buried

# ---- Places where the field is computed -----------------------------------------------------------------------------
[[receptors]]
name = "instrument"
at = ["2 m", "0.5 m"]
limit = "0.5 uT"                        # resultant rms, or a level such as "ICNIRP 2010 public"; optional

# [[zones]]                             # the highest field in a rectangle
# name = "workplace"
# window = [["0.5 m", "-1 m"], ["2 m", "1 m"]]
# limit = "ICNIRP 2010 public"

[[traverses]]
name = "line beside the tray"
from = ["-3 m", "1 m"]
to = ["3 m", "1 m"]
points = 121

[map]
window = [["-2 m", "-1 m"], ["2 m", "2 m"]]      # lower left and upper right corner

# [order_search]                        # find the best phase order by an objective, and solve it in full
# objective = "field"                   # or "sharing", "inequality"; or weights = { field = 1.0, sharing = 0.5 }
# receptors = ["instrument"]            # the field counts only at these receptors
# zones = ["workplace"]                 #   and in these zones; without both keys, at all receptors and in all zones
# circuits = ["F1"]                     # circuits whose order may change; without this key, all

# [[route]]                             # one block for each section of the run, from the supply to the load
# name = "riser"
# length = "40 m"
# phases = { F1 = ["L2", "L3", "L1"] }  # phase orders in this section, if they differ
# set = { "circuits.F1.clear_gap" = "2 diameter", "trays.T1.material" = "aluminium-5052" }   # changed keys
# remove = ["trays.T1.cover"]           # keys removed in this section
# Cross-bonded screens move on by one phase at each joint. If not, screens_turned states by how many phases in all.

# [route_screens]
# earthed_at = "20 m"                   # earthing point of screens that are bonded at one point only

# [[loads]]                             # voltage drop and unbalance at the end; without it, at the currents above
# power = "180 kW"
# power_factor = 0.85                   # leading = true if the current leads
# kind = "impedance"                    # or "current": the quantity that stays constant when the voltage falls

# [[faults]]                            # forces of a short circuit
# peak_current = "40 kA"                # of the three-phase fault
# cleat_spacing = "0.6 m"               # optional, for the force on each cleat

# [supply]                              # for drop, unbalance and charging current (permittivity = 2.5 in [cables.c240])
# voltage = "400 V"
# insulated_neutral = true              # no charging current returns through the earth

# [current_sweep]                       # solve again at multiples of the currents, for steel that saturates
# factors = [0.25, 0.5, 1, 1.5, 2]

[accuracy]
tolerance = "0.5 %"

# ---- Other arrangements to compare: each is the study above with some keys changed ----------------------------------
# Join keys by points and put them in quotes: circuits.F1 is the circuit named F1, trays.T1 the tray named T1.
[[variants]]
name = "flat, touching"
set = { "circuits.F1.clear_gap" = "0 mm" }

[[variants]]
name = "trefoil, touching"
set = { "circuits.F1.arrangement" = "trefoil" }
remove = ["circuits.F1.clear_gap"]

[[variants]]
name = "flat, spaced, transposed"
transpose = ["F1"]                      # three equal sections; at each joint L1 moves to the place of L2, and so on

# [sweep]                               # every combination of these values is a further case
# "circuits.F1.clear_gap" = ["0 mm", "10 mm", "1 diameter", "2 diameter"]
# "trays.T1.material" = ["mild-steel", "aluminium"]
"""
"""Text of the starter study."""
