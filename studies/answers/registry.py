"""Every answer there is, in the order of the report."""

from __future__ import annotations

from studies.answers.answer import Answer
from studies.answers.causes.answer import DIFFERENCE_CAUSES
from studies.answers.cautions.answer import CAUTIONS
from studies.answers.charging.answer import CHARGING
from studies.answers.direct_currents.answer import DIRECT_CURRENTS
from studies.answers.energy.answer import ENERGY
from studies.answers.faults.answer import FAULT_DESIGN, FAULT_FORCES, FAULT_PAIRS, FAULTS
from studies.answers.fields.answer import MAP, READINGS, RECEPTORS, TRAVERSES
from studies.answers.formulas_beside.answer import FORMULAS_BESIDE
from studies.answers.laying.answer import LAYING
from studies.answers.limits.answer import LIMIT_DISTANCES, ZONES
from studies.answers.loops.answer import LOOPS
from studies.answers.losses.answer import LOSSES, PARTS
from studies.answers.net_currents.answer import NET_CURRENTS
from studies.answers.orders.answer import ORDER_SEARCH
from studies.answers.permitted.answer import PERMITTED
from studies.answers.phases.answer import PHASES, SEQUENCE_IMPEDANCE
from studies.answers.plates.answer import PLATES
from studies.answers.remedies.answer import REMEDIES
from studies.answers.reservations.answer import RESERVATIONS
from studies.answers.route.answer import ROUTE, ROUTE_SOLUTION
from studies.answers.shielding.answer import SHIELDING
from studies.answers.shields.answer import SHIELDS
from studies.answers.space.answer import SPACE
from studies.answers.stated_limits.answer import STATED_LIMITS
from studies.answers.steel.answer import CURRENT_SWEEP, OTHER_STEEL, SATURATION
from studies.answers.survey.answer import SURVEY

ANSWERS: tuple[Answer, ...] = (
    CAUTIONS,
    *(RECEPTORS, ZONES, RESERVATIONS, LIMIT_DISTANCES, TRAVERSES, MAP, READINGS),
    *(LOSSES, SATURATION, OTHER_STEEL, CURRENT_SWEEP, PARTS),
    *(PHASES, SEQUENCE_IMPEDANCE, FORMULAS_BESIDE, ORDER_SEARCH),
    *(ROUTE_SOLUTION, ROUTE, CHARGING),
    *(FAULT_FORCES, FAULTS, FAULT_PAIRS, FAULT_DESIGN),
    *(SHIELDING, SHIELDS, REMEDIES, DIFFERENCE_CAUSES),
    NET_CURRENTS,
    DIRECT_CURRENTS,
    LAYING,
    LOOPS,
    SPACE,
    STATED_LIMITS,
    PERMITTED,
    PLATES,
    SURVEY,
    ENERGY,
)
