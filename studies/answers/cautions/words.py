"""The texts of the cautions: the usual ones, and those that some studies call for."""

from __future__ import annotations

from studies.answers.steel.words import RULE_ACCURACY

TWO_DIMENSIONAL = (
    "The cross-section is computed as if it were the same along the whole run: ends, bends, risers, ladder rungs, "
    "perforations, joints and crossings are three-dimensional and are not in these numbers."
)
IN_SPACE = (
    "Bends, risers, ends and crossing runs are in the numbers of the run in space, as its course has them. All other "
    "numbers are those of a cross-section that is the same along the whole run. Ladder rungs, perforations and joints "
    "are three-dimensional and are in none of them."
)
RATINGS = "Current ratings are outside the scope of this study."
STATED_CURRENTS = (
    "Permitted currents are those that the study states. Whether they are right for the cables as laid is outside its "
    "scope."
)


def usual(in_space: bool = False, permitted: bool = False) -> tuple[str, ...]:
    """The cautions of every study, as they hold with a run in space and with permitted currents."""
    return (
        "This result supports, and does not replace, the judgement of a licensed engineer.",
        "Local wiring codes and the equipment maker's installation limits come first.",
        STATED_CURRENTS if permitted else RATINGS,
        IN_SPACE if in_space else TWO_DIMENSIONAL,
        "Persons with implanted devices need an assessment of their own.",
        "Measure after installation.",
    )


ALWAYS = usual()
USUAL = frozenset((*ALWAYS, IN_SPACE, STATED_CURRENTS))
"""All that any study has among its usual ones."""
ABOVE_PERMITTED = (
    "Cables carry more than their permitted current: {listing}. They may be hotter than their insulation bears, and "
    "protection set for the sum of parallel cables does not see it. Change the load, the cables or their order."
)
STEEL = (
    "Steel with constant permeability ({parts}): the permeability of real sheet varies from batch to batch, and sheet "
    "near conductors at hundreds of amperes saturates. Take its loss and its shielding as estimates, compare several "
    "permeabilities, or state a magnetisation curve."
)
SATURATING = (
    "Saturating steel ({parts}) has one effective permeability at each point, by the rule “{rule}” ({meaning}). "
    f"{RULE_ACCURACY}. The curve is that of one sample, {{hysteresis}} Batches of sheet differ by "
    "more: see the results with another steel."
)
HARMONICS = (
    "The steel is magnetised by the {frequency:g} Hz field alone. Fields of other frequencies are computed with the "
    "effective permeability at {frequency:g} Hz and do not change it."
)
WEAK_FIRST = (
    "The largest currents flow at {largest:g} Hz, but the effective permeability of the steel is computed from the "
    "{first:g} Hz field alone, so the steel is magnetised too little. State {largest:g} Hz as the frequency of the "
    "study."
)
PERFORATED = (
    "Perforated sheet ({parts}) is modelled as homogeneous sheet, with the conductivity and permeability reduced as by "
    "round holes of the stated open area. The holes must be small compared with the skin depth and with the distance "
    "to the cables. Slots have a different effect along and across their length, and the field close to the holes is "
    "not in these numbers."
)
OPEN_SCREENS = (
    "Screens, sheaths or armour bonded at one point only carry a standing voltage at their open end, and a far higher "
    "one in a short circuit. It can be dangerous to touch. The table of parts gives it for each 100 m of run."
)
CROSS_BONDED = (
    "Cross-bonded screens are computed for three minor sections of exactly equal length and formation. Their currents, "
    "fields and losses are shown for the first minor section. Unequal lengths leave more current."
)
OPEN_TRAY = "A tray that is not bonded along its run can carry a dangerous voltage; bond it as the local code asks."
RUNGS = (
    "The rungs of a ladder ({trays}) are not in the cross-section: these numbers leave out the eddy currents in the "
    "rungs and the loss of a current that crosses them from rail to rail."
)
ROUTE = (
    "The run is computed as long, uniform sections: the fields, losses and forces near its transpositions, joints, "
    "bends, risers and changes of cross-section are three-dimensional and are not in {numbers}."
)
UNDER_COVER = (
    "The cables keep clear gaps ({kept}), but lie under a cover or in closed metal ({parts}). The rule for clear gaps "
    "is for open trays without a cover and lapses here: use the local code's rule for covered trays."
)
ENCIRCLED = (
    "Steel closed around the cables of one phase, or around unbalanced currents, heats: keep all phases together."
)
PLATES = (
    "Magnetic plates closed around single cables ({listing}) heat, and fittings around them too. Codes forbid it: all "
    "conductors of a circuit through one opening (IEC 60364-5-52, 521.5.1 [named]), or slots between the holes or a "
    "plate that is not magnetic (NEC 300.20(B) [seen as quoted]). Follow the local code."
)
SINGLE_PHASE = (
    "Closed metal around a net current: {listing}. Closed steel is magnetised all the way round by the net current "
    "inside it, loses much more than an open tray, and heats. Other metal carries a circulating current if it is "
    "bonded. Put all conductors of a circuit through the same opening (common practice, no source)."
)
STEEL_LAYER = (
    "Magnetic metal around each single-core cable ({circuits}): the whole current of one phase magnetises it, and its "
    "loss is high. Armour that is not magnetic avoids this (common practice, no source)."
)
NET_CURRENT = (
    "The currents do not sum to zero: {net:.3g} A remain. The model returns this current {radius:g} m away. "
    "Impedances and voltages depend on that distance, and the far field falls only as 1/r."
)
BOND_WITHOUT_EARTH = (
    "A bond closes through an impedance, but the study states no earth: the model returns the net current of the "
    "bonded parts {radius:g} m away. State [earth], or read the currents of this bond as those of a distant return."
)
EARTH = (
    "The earth is modelled as flat and homogeneous with {resistivity:g} ohm m. Its resistivity changes with layers and "
    "season, and no stated error covers that. Twice the resistivity adds {change:.3g} mohm/km to the reactance of "
    "every loop through the earth at {frequency:g} Hz, and half of it takes as much away. The current in the earth and "
    "its field change as well: compare the results with both."
)
UNEQUAL_SHARE = (
    "Parallel cables do not share equally: {listing}. A cable above its share runs hotter than the load of the circuit "
    "suggests. The usual remedy is a symmetrical order or grouping of the phases, such as L1 L2 L3 L3 L2 L1, or one "
    "trefoil of all phases for each set (common practice, no source)."
)
SEGMENTAL = (
    "The skin and proximity coefficients of segmental conductors ({cables}) are used in the formulas only: the finite "
    "elements model each conductor as one homogeneous circle with its full skin and proximity effect."
)
IN_METAL = (
    "Inside a cable or metal: {places}. The field given there is the field in the material. The mesh is not refined "
    "for such a place, and its error estimate means little where the material is thin. A verdict there judges the "
    "field in the material, which no person or instrument meets; it does not cover the air beside it."
)
ZONES_WITH_METAL = (
    "Zones that hold cables or metal ({zones}): the limit is judged in their air, a few millimetres away from cables "
    "and metal. The field in the metal is given separately and is not judged."
)
CANCELLING = (
    "The fields of circuits cancel at {places}: less than a hundredth of the sum of their separate fields is left. On "
    "site, small differences of position, length and current decide what is left. The asked accuracy there is relative "
    "to that hundredth."
)
IGNORED = (
    "The layers of the drawing that the study uses contain more than circles and closed outlines. The rest was left "
    "out: {listing}."
)
UNCHECKED = "The check for cautions of {concern} failed: judge {concern} without the program."
NOT_MET = (
    "The asked accuracy of {asked:.2g} % was not reached everywhere: the largest error estimate is {reached:.2g} %. "
    "The numbers concerned are marked."
)
