"""The sources of the checks: of which kind they are, and how well number and reference are known."""

from __future__ import annotations

from studies.verify.checks import Basis, NumberMark, ReferenceMark, Source

CONFIRMED = (Basis.PUBLISHED, NumberMark.CONFIRMED, ReferenceMark.SEEN)
OWN = (Basis.OWN, NumberMark.RECOMPUTED, ReferenceMark.NONE)
RECOMPUTED = (Basis.PUBLISHED, NumberMark.RECOMPUTED, ReferenceMark.NAMED)
OWN_SEEN = (Basis.OWN, NumberMark.RECOMPUTED, ReferenceMark.SEEN)
OWN_NAMED = (Basis.OWN, NumberMark.RECOMPUTED, ReferenceMark.NAMED)
RECOMPUTED_SEEN = (Basis.PUBLISHED, NumberMark.RECOMPUTED, ReferenceMark.SEEN)
"""What a number is compared with, how well it is known, and how well its reference is."""

IEC_RESISTANCE = Source(
    "IEC 60287-1-1",
    "IEC 60287-1-1, ac resistance of conductor: skin effect factor up to xs = 2.8 and proximity effect factor of three "
    "single-core cables",
    *CONFIRMED,
)
IEC_FLAT_SPACING = Source(
    "IEC 60287-1-1",
    "IEC 60287-1-1, proximity effect factor of three single-core cables in flat formation, s = sqrt(s1 s2)",
    Basis.PUBLISHED,
    NumberMark.QUOTED,
    ReferenceMark.NAMED,
    "the spacing of the proximity factor in flat formation",
)
IEC_CIRCULATING = Source(
    "IEC 60287-1-1",
    "IEC 60287-1-1, circulating current loss: trefoil, and flat formation without transposition",
    *CONFIRMED,
)
IEC_EDDY = Source("IEC 60287-1-1", "IEC 60287-1-1, effect of eddy currents", *CONFIRMED)
IEC_SCREEN_REACTANCE = Source(
    "IEC 60287-1-1 reactance",
    "IEC 60287-1-1, sheath reactance; times the current the standing voltage, method as in IEEE Std 575, which "
    "was not read",
    *CONFIRMED,
)
FLAT_STANDING_VOLTAGE = Source(
    "line formula", "I sqrt(X^2 + X Xm + Xm^2) from the line formula and IEC 60287-1-1's X and Xm", *OWN
)
NBS_TABLE = Source(
    "NBS table, x = a sqrt(w mu sigma)",
    "Skin effect of a round wire, table as in NBS Circular 74 and in Rosa and Grover; the digits are those of the "
    "exact Bessel ratio",
    *RECOMPUTED,
    "the digits of the table, here those of the exact Bessel ratio",
)
NEHER_MCGRATH = Source(
    "Neher and McGrath, table III",
    "J. H. Neher, M. H. McGrath, The calculation of the temperature rise and load capability of cable systems, AIEE "
    "Trans. 76 Pt III, 1957, table III: x = 2.14 gives 10.05 %",
    *CONFIRMED,
)
SCHELKUNOFF = Source(
    "Schelkunoff 1934",
    "S. A. Schelkunoff, The electromagnetic theory of coaxial transmission lines, Bell System Tech. J. 13, 1934: "
    "impedances of a tube",
    *RECOMPUTED_SEEN,
)
LIMITING_CURVE = Source(
    "Agarwal 1959, limiting curve",
    "P. D. Agarwal, Eddy-current losses in solid and laminated iron, AIEE Trans. 78 Pt I, 1959, derived "
    "anew: 8 H0^2/(3 pi sigma delta), delta = sqrt(2 H0/(w sigma Bs)), peak values",
    *OWN_NAMED,
    "the loss of the limiting theory",
)
ROUND_PLATE = Source(
    "round plate, exact field",
    "Field I/(2 pi r) at both faces of a round thick plate about one conductor: I^2/(pi sigma delta) ln(b/a) if it is "
    "linear, 2^4.75/(3 pi) (w Bs/(pi sigma))^0.5 I^1.5 (b^0.5 - a^0.5) by the limiting curve of Agarwal 1959",
    *OWN_NAMED,
    "the loss of the limiting theory",
)
OVER_TIME = Source(
    "solution over time",
    "The same mesh and curve stepped over time to the periodic state by implicit Runge-Kutta steps and Newton's "
    "method, 20 steps a half cycle; recomputed by tests/fem/time_domain.py",
    *OWN,
)
PIPE_LOSS = Source(
    "Schelkunoff 1934, sum",
    "Loss I^2 Re(Za + Zb - 2 Zab) of a pipe without net current, from the impedances of S. A. Schelkunoff, Bell System "
    "Tech. J. 13, 1934",
    *OWN_SEEN,
)
SERIES = Source(
    "multipole series, exact",
    "Multipole expansion about every round part with Bessel functions in the metal, cut off where nothing moves by "
    "more than 1e-8",
    *OWN,
)
SKIN_LIMIT = Source(
    "conformal map, full skin effect",
    "Classical: (mu0/pi) arccosh(D/2a) and 1/sqrt(1 - (2a/D)^2) for two round wires at full skin effect",
    *RECOMPUTED,
    "the classical forms, in any text on conformal maps",
)
STEVENSON = Source(
    "Stevenson, ch. 3",
    "W. D. Stevenson, Elements of Power System Analysis, 4th ed., 1982, ch. 3, example 3.4: inputs "
    "confirmed, result recomputed",
    *RECOMPUTED,
    "the results printed in example 3.4",
)
STEVENSON_BUNDLE = Source(
    "Stevenson, ch. 3, bundle",
    "W. D. Stevenson, Elements of Power System Analysis, 4th ed., 1982, ch. 3, example 3.5: inputs confirmed, result "
    "recomputed",
    *OWN_NAMED,
    "the results printed in example 3.5",
)
KOTHARI_NAGRATH = Source(
    "Kothari and Nagrath, ex. 2.7",
    "D. P. Kothari, I. J. Nagrath, Modern Power System Analysis, ch. 2, example 2.7",
    *CONFIRMED,
)
TWO_WIRE_EXAMPLE = Source(
    "textbook two-wire line", "Two-wire line, 2 m apart, diameter 1.2 cm: 24.23e-7 H/m of loop", *CONFIRMED
)
UNEQUAL_EXAMPLE = Source(
    "textbook unequal spacing",
    "Three-phase line of diameter 1.24 cm at 2, 2.5 and 4.5 m: inputs confirmed, result recomputed",
    *OWN_SEEN,
)
LINE_FORMULA = Source(
    "line formula of each phase",
    "u_k = R_k i_k + j w (mu0/2 pi) [i_k ln(1/r'_k) + sum i_l ln(1/D_kl)], exact for thin conductors; textbook form, "
    "W. D. Stevenson, Elements of Power System Analysis, 4th ed., 1982, ch. 3",
    *OWN_NAMED,
    "the textbook form of u_k",
)
STRANDS = Source(
    "strand coefficients",
    "Published coefficients a of X = 0.0628 ln(2 s/(a d)) mohm/m at 50 Hz, three digits",
    *CONFIRMED,
)
SHEATHS_BONDED = Source(
    "Gonen, example 5.9",
    "T. Gonen, Electric Power Transmission System Engineering, 2nd ed., example 5.9: inputs seen; the results follow "
    "from them by this project, circulating currents alone",
    *OWN_SEEN,
)
SHEATHS_OPEN = Source(
    "textbook, example 9.7",
    "Worked example 9.7 of a textbook of power systems, sheath voltage of 2 km: inputs seen; 78.54 V follows from them "
    "by this project",
    *OWN_SEEN,
)
SHEATHS_LONG = Source(
    "textbook, chapter 12 example 6",
    "Worked example 6 of chapter 12 of a textbook of power systems, lead sheaths of 85 km: inputs seen; the results "
    "follow from them by this project, circulating currents alone",
    *OWN_SEEN,
)
LINE_FIELD = Source(
    "line currents, exact",
    "Law of Biot and Savart for balanced line currents: (mu0 I s/2 pi) sqrt(3 r^2 + s^2)/(r r1 r2) in a row, "
    "(mu0 I s/2 pi) sqrt(3/2) sqrt(r^2 + a^2)/(r1 r2 r3) in trefoil; exact forms: Filippopoulos and Tsanakas, IEEE "
    "Trans. Power Delivery",
    *OWN_SEEN,
)
FLAT_FAR = Source(
    "Kaune and Zaffanella 1992",
    "W. T. Kaune, L. E. Zaffanella, Analysis of magnetic fields produced far from electric power lines, IEEE Trans. "
    "Power Delivery 7(4), 1992",
    *RECOMPUTED,
    "the far form sqrt(3) mu0 I s/(2 pi r^2) and its range",
)
TREFOIL_FAR = Source(
    "Pettersson 1996",
    "P. Pettersson, Principles in transmission line magnetic field reduction, IEEE Trans. Power Delivery 11(3), 1996",
    *RECOMPUTED,
    "the far form of trefoil and its range",
)
BIOT_SAVART = Source("Biot and Savart", "mu0 I/(2 pi r) of a line current, textbook", *CONFIRMED)
FILAMENT_BENDS = Source(
    "Biot and Savart, pieces",
    "mu0 I/(4 pi r) (sin a2 - sin a1) of a straight piece seen under a1 to a2, textbook: 1 + sin 45 deg inside a bend, "
    "sqrt(3/2) of two dipoles above it, one half at an end",
    *OWN,
)
PLATE_LOOPS = Source(
    "loops of current",
    "Thin plate as a grid of loops of current, with the inductances of flat bars by Neumann's integral",
    *OWN,
)
PLATE_CHARGES = Source(
    "charges on a grid",
    "Magnetisation along a thin plate by Galerkin's method, with the potentials of charged rectangles",
    *OWN,
)
LOOP_ON_AXIS = Source("Biot and Savart, loop", "mu0 I a^2/(2 (a^2 + z^2)^(3/2)) on the axis of a loop, textbook", *OWN)
HELICES = Source(
    "series of helices",
    "First harmonic of three helices close together, x = 2 pi r/lay length: "
    "sqrt(((x^2 K1')^2 + (x K1)^2 + (x^2 K1)^2)/2)",
    *OWN,
)
FLUX_OF_LINES = Source(
    "flux of line currents",
    "w (mu0/2 pi) I [ln(26/25) - ln(21/20)], flux of two line currents through the gap of the pair; distances of a "
    "textbook's example of a telephone line beside a single-phase line",
    *OWN,
)
SKIN_EXACT = Source("round wire, Bessel functions", "I^2 Re(Z) of a round wire alone, summed over the tones", *OWN)
SINE = Source("a sine", "2 sqrt 2 times the rms field of line currents over the limit, from peak to peak", *OWN)
ADDED_BY_HAND = Source("sum by hand", "Loss of the wires alone times the sum of hours times load squared", *OWN)
SHARING = Source(
    "Kirchhoff's law on lines", "Line field of the currents that the matrix of line impedances shares", *OWN
)
LAID_LINES = Source(
    "100 000 layings of lines",
    "Places of three line currents drawn from a lot of its own, normal to each side, and their field in closed form",
    *OWN,
)
READINGS_OF_LINES = Source(
    "readings of line currents", "Readings made from the line field of 400 A and a residual current in all three", *OWN
)
IEC_FORCE = Source("IEC 61914", "IEC 61914, trefoil formation in a three-phase short circuit: 0.17 ip^2/S", *CONFIRMED)
IEC_FLAT_FORCE = Source(
    "IEC 61914",
    "IEC 61914, flat formation in a three-phase short circuit: 0.17 ip^2/S middle, 0.16 ip^2/S outer",
    *RECOMPUTED,
    "the printed factors 0.17 and 0.16",
)
EXACT_FORCE = Source(
    "line currents, exact",
    "Greatest force between balanced sinusoidal line currents: sqrt(3)/2 and (3 + 2 sqrt(3))/8 times mu0 ip^2/(2 pi S)",
    *OWN,
)
CYLINDER = Source(
    "cylinder, exact Bessel solution",
    "First harmonic in the bore of a tube in a transverse field, continuity of A and of H at both surfaces",
    *OWN,
)
KADEN = Source(
    "Kaden 1959",
    "H. Kaden, Wirbelstroeme und Schirmung in der Nachrichtentechnik, 2nd ed., 1959; L. V. King, Phil. Mag. 15, 1933",
    *RECOMPUTED_SEEN,
)
PLATE = Source(
    "plate spectrum",
    "Spectrum of line currents over an infinite plate; as in J. R. Moser, IEEE Trans. EMC-9, 1967 and R. G. Olsen, M. "
    "Istenic, P. Zunko, IEEE Trans. EMC 45(3), 2003",
    *OWN_NAMED,
    "that the papers use the same spectrum",
)
TEAM_30A = Source(
    "TEAM problem 30A", "TEAM workshop problem 30A, three-phase exposed winding, standstill: analytic table", *CONFIRMED
)
SECOND_LIBRARY = Source(
    "second library (NGSolve 6.2.2608)",
    "Independent finite-element solution with another library, NGSolve 6.2.2608, order 7, computed by this project; "
    "its own error is estimated at 1e-8",
    *OWN,
)
IDENTITY = Source("identity", "Identity that an exact solution fulfils", *OWN)
NEC_TABLE_9 = Source(
    "NEC chapter 9 table 9",
    "NEC (NFPA 70) chapter 9 table 9, 600 V, 60 Hz, 75 degC, three single conductors in PVC conduit; dc resistance of "
    "table 8; strand circles recomputed from the areas; the row of 1000 kcmil was not read",
    *CONFIRMED,
)
LV_REACTANCE = Source(
    "UTE C 15-105 annex G",
    "UTE C 15-105 annex G, reactance lambda in the absence of other data: 0.08 mohm/m trefoil, 0.09 flat and touching, "
    "0.13 flat and spaced",
    *CONFIRMED,
)
EARTH_INTEGRALS = Source(
    "integrals, adaptive quadrature",
    "Continuity of A and its slope at the surface of the earth gives the integrals of J. R. Carson, Bell System Tech. "
    "J. 5, 1926, and F. Pollaczek, Elektrische Nachrichtentechnik 3, 1926; here by adaptive quadrature along the real "
    "axis",
    *OWN_NAMED,
    "the integrals as printed",
)
FEEDER_LINE = Source(
    "13-node feeder, configuration 601",
    "IEEE 13-node test feeder, line configuration 601: overhead line of four wires, impedance matrix per mile at 60 Hz",
    *CONFIRMED,
)
FEEDER_CABLES = Source(
    "13-node feeder, configuration 606",
    "IEEE 13-node test feeder, line configuration 606: three cables of 250 kcmil aluminium with 13 neutral wires, "
    "impedance matrix per mile at 60 Hz",
    *CONFIRMED,
)
LINE_CONSTANTS = Source(
    "configuration 601 at 50 Hz",
    "The same line at 50 Hz, from the tests of a public line-constant library; not from IEEE",
    *CONFIRMED,
)
UNTRANSPOSED = Source(
    "Gonen, ex. 9.5",
    "T. Gonen, Electric Power Transmission System Engineering, 2nd ed., examples 9.3 and 9.5: sequence impedances of "
    "an untransposed line of 40 miles, from published solution files",
    *CONFIRMED,
)
