"""The commented study that a new study file starts with; it runs as it stands."""

STARTER = """\
# The question this study answers: how strong is the magnetic field of this feeder at the place of interest, what do
# cables and tray lose, and which way of laying the same cables is better at what: flat with gaps, flat touching,
# trefoil, or flat with the phases transposed? Change the numbers to yours; the data below are invented.
#
#   trayfield run THIS.toml        this arrangement, in full
#   trayfield compare THIS.toml    all arrangements: this one and the [[variants]] at the end of this file
#
# Quantities are texts with a unit: "240 mm^2", "4/0 AWG", "500 kcmil", "56 mm", "0.4 kA", "0.5 uT", "10 mG", "70 degC".
# x goes to the right, y upwards, the cables run out of the page.

title = "My feeder"
case = "flat, spaced"                   # what the study as it stands is called in the comparison; or leave it out
frequency = "50 Hz"

# ---- Cables: each construction from the inside out -----------------------------------------------------------------
[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
# in conductor, if known: diameter = "18.5 mm" (outside of the strands), dc_resistance = "0.0754 ohm/km" (at 20 degC),
#   skin_coefficient = 0.435 and proximity_coefficient = 0.37 (ks and kp of IEC 60287-1-1, for segmental conductors)
insulation = "1.7 mm"                   # radial thickness
# screen = { material = "copper", thickness = "0.2 mm" }      # a tube, with a temperature of its own if it differs
# separation = "0.5 mm"                 # between screen and sheath
# sheath = { material = "lead", thickness = "1.4 mm" }
# bedding = "1.2 mm"                    # under the armour
# armour = { material = "steel-wire-armour", thickness = "2.0 mm", fill = "90 %" }     # wires as the tube they fill
jacket = "1.8 mm"

# ---- Circuits: one block for each ----------------------------------------------------------------------------------
[[circuits]]
name = "F1"
cable = "c240"
arrangement = "flat"                    # "flat", "trefoil", "positions" or "drawing"
clear_gap = "1 diameter"                # between neighbours; or a length, "0 mm" for touching; or spacing = "56 mm",
                                        #   axis to axis
rests_at = ["0 mm", "0 mm"]             # the point under the middle of the formation, on its lowest tangent
phases = ["L1", "L2", "L3"]             # left to right; trefoil: left, right, top; repeated labels are parallel cables
current = "400 A"                       # rms per phase, balanced
# unbalanced: current = { L1 = "400 A", L2 = ["390 A", "-118 deg"], L3 = "380 A" }
#   a current without an angle takes the angle of the balanced circuit; an N without one returns the sum of the others,
#   a PE without one carries nothing
# frequency = "50 Hz"                   # of this circuit, if it is another
# harmonics = { 5 = "20 %", 7 = ["12 %", "30 deg"] }    # shares of the fundamental; order 3 needs an N to return by
# trefoil:    group_clear_gap = "2.15 diameter" between groups of three, spacing = "..." where the three do not touch
# positions:  positions = [["-56 mm", "28 mm"], ["0 mm", "28 mm"], ["56 mm", "28 mm"]] in place of spacing and rests_at
# drawing:    drawn_on = { L1 = "PHASE-1", L2 = "PHASE-2", L3 = "PHASE-3" }, layers with circles; see [drawing] below

# ---- Trays: leave the block out where there is none ----------------------------------------------------------------
[[trays]]
name = "T1"
profile = "channel"                     # "channel", "plate", "ladder", "duct" or "conduit"
rests_at = ["0 mm", "0 mm"]             # where cables rest: middle of the inside floor
inside_width = "300 mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "mild-steel"                 # a built-in material, or a [materials.NAME] of your own
# cover = "closed"                      # touches the tray; or { gap = "5 mm", edge = "20 mm" } for one that stands off
# lip = "15 mm"                         # at the top of the walls, lips = "inward" or "outward"
# dividers = ["50 mm"]                  # upright sheets, from the middle; divider_height = "60 mm" if they are lower
# open_area = "30 %"                    # of a perforated sheet
# temperature = "35 degC"
# turned = "0 deg"                      # counter-clockwise about rests_at
# plate: width in place of inside_width and inside_height; conduit: inside_diameter; ladder: rail_flange of C-rails,
#   whose rungs join its rails; rails = "insulated" where they do not

# ---- Other metal nearby: "path" (a bent sheet), "I", "L", "rectangle", "tube" or "drawing" -------------------------
# [[metalwork]]
# name = "beam"
# shape = "I"
# at = ["0 m", "0.8 m"]                 # middle of the lower flange's underside
# height = "200 mm"
# width = "100 mm"
# web = "5.6 mm"
# flange = "8.5 mm"
# material = "mild-steel"

# [drawing]   file = "section.dxf" beside this file, unit = "mm"; for arrangement or shape = "drawing"

# [materials.test-steel]
# conductivity = "6.0 MS/m"
# relative_permeability = 300           # steel that saturates: curve_file = "steel.csv" or a built-in one,
#                                         curve = "sheet-steel-dc01-curve"
# loss_angle = "15 deg"                 # hysteresis

# ---- Bonds: parts tied together at both ends of the run; what is in no bond carries no net current -----------------
# [[bonds]]
# parts = ["F1 screens", "T1"]          # also "F1 sheaths", "F1 armours", "T1.cover", "beam", conductors of PE and N
# kind = "both ends"                    # or "cross-bonded" for screens alone, in three equal sections
# impedance = ["0.1 ohm/km", "0.05 ohm/km"]     # in series with the closing path
# earth = true                          # closes through the earth as well

# [earth]
# resistivity = "100 ohm*m"
# surface = "-1 m"                      # y of the earth's surface: parts above it run in air, parts below are buried

# ---- Where the field is asked for ----------------------------------------------------------------------------------
[[receptors]]
name = "instrument"
at = ["2 m", "0.5 m"]
limit = "0.5 uT"                        # resultant rms, or a level such as "ICNIRP 2010 public"; or leave it out

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

# [order_search]                        # the phase order that is best at something; the best one is solved in full
# objective = "field"                   # or "sharing", "inequality"; or weights = { field = 1.0, sharing = 0.5 }
# receptors = ["instrument"]            # these alone count, with
# zones = ["workplace"]                 # these; without either key all receptors and zones
# circuits = ["F1"]                     # whose order may change; without it, all

# [[route]]                             # a block for each section of the run, from the supply to the load
# name = "riser"
# length = "40 m"
# phases = { F1 = ["L2", "L3", "L1"] }  # phase orders of circuits that change on the way
# set = { "circuits.F1.clear_gap" = "2 diameter", "trays.T1.material" = "aluminium-5052" }   # what is another there
# remove = ["trays.T1.cover"]           # what is not there
# cross-bonded screens go on by one phase at each joint; screens_turned says otherwise, by how many in all

# [route_screens]
# earthed_at = "20 m"                   # where screens that are bonded at one point only are earthed

# [[loads]]                             # voltage drop and unbalance at the end; without it, of the currents above
# power = "180 kW"
# power_factor = 0.85                   # leading = true if the current leads
# kind = "impedance"                    # or "current": what stays as it is when the voltage falls

# [[faults]]                            # forces of a short circuit
# peak_current = "40 kA"                # of the three-phase fault
# cleat_spacing = "0.6 m"               # for the force on each cleat as well

# [supply]                              # for drop, unbalance and charging current (permittivity = 2.5 in [cables.c240])
# voltage = "400 V"
# insulated_neutral = true              # no charging current returns by the earth

# [current_sweep]                       # the study again at multiples of its currents, for steel that saturates
# factors = [0.25, 0.5, 1, 1.5, 2]

[accuracy]
tolerance = "0.5 %"

# ---- Other arrangements to compare with: each is the study above with some keys changed -----------------------------
# Keys are joined by points and in quotes; circuits.F1 is the circuit named F1, trays.T1 the tray named T1.
[[variants]]
name = "flat, touching"
set = { "circuits.F1.clear_gap" = "0 mm" }

[[variants]]
name = "trefoil, touching"
set = { "circuits.F1.arrangement" = "trefoil" }
remove = ["circuits.F1.clear_gap"]

[[variants]]
name = "flat, spaced, transposed"
transpose = ["F1"]                      # three equal sections; L1 goes on to the place of L2, L2 to that of L3

# [sweep]                               # every combination of these values, as further cases
# "circuits.F1.clear_gap" = ["0 mm", "10 mm", "1 diameter", "2 diameter"]
# "trays.T1.material" = ["mild-steel", "aluminium"]
"""
"""Text of the starter study."""
