"""Currents of a short circuit: which phases, how large, and the dc offset that decays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Floats
from studies.formulas.forces import peak_current, peak_factor
from studies.section.parts import CrossSection
from studies.study.phases import LINES

CYCLES = 1.5
"""Cycles of the supply searched for the greatest value; the first peak comes within one. [-]"""
STEPS = 360
"""Steps a cycle, and inception angles a half-turn: the crest of a double-frequency force is caught to 8e-5. [-]"""


@dataclass(frozen=True)
class ShortCircuit:
    """A short circuit at the far end of one circuit, all other circuits without current."""

    circuit: str
    phases: tuple[str, ...]
    """L1, L2 and L3, or the two between which it is."""
    peak_current: float
    """Largest instantaneous current ip that any phase can have, above 0. [A]"""
    resistance_over_reactance: float
    """R/X of the path of the fault, 0 or above; an offset without resistance does not decay. [-]"""

    def __post_init__(self) -> None:
        """Refuse what is no such fault."""
        if len(set(self.phases)) not in (2, 3) or not set(self.phases) <= set(LINES):
            raise ValueError(f"a fault is between all three or two of L1, L2, L3: {self.phases}")
        if not (np.isfinite(self.peak_current) and self.peak_current > 0):
            raise ValueError(f"peak_current must be finite and above 0: {self.peak_current}")
        ratio = self.resistance_over_reactance
        if not (np.isfinite(ratio) and ratio >= 0):
            raise ValueError(f"resistance_over_reactance must be finite and 0 or above: {ratio}")

    @property
    def is_three_phase(self) -> bool:
        """Whether all three phases take part."""
        return len(self.phases) == 3

    def phasors(self) -> dict[tuple[str, str], complex]:
        """Phasor of each phase's current with an amplitude of 1 A. [A]"""
        if self.is_three_phase:
            return {(self.circuit, phase): complex(np.exp(-2j * np.pi * k / 3)) for k, phase in enumerate(LINES)}
        first, second = self.phases
        return {(self.circuit, first): 1 + 0j, (self.circuit, second): -1 + 0j}

    def tie_currents(self, section: CrossSection) -> dict[int, complex]:
        """Current of each tie that is a phase, with an amplitude of 1 A; zero outside of the fault. [A]"""
        own = self.phasors()
        present = {(phase.circuit, phase.phase) for phase in section.phases}
        missing = sorted(set(own) - present)
        if missing:
            raise ValueError(f"there is no {', '.join(' '.join(one) for one in missing)} in the cross-section")
        return {phase.tie: own.get((phase.circuit, phase.phase), 0j) for phase in section.phases}

    def largest_factor(self) -> float:
        """Largest instantaneous current over the amplitude of the alternating part, over all inception angles. [-]

        The exact value of what kappa of IEC 60909 approximates.
        """
        angle = 2 * np.pi * CYCLES * np.linspace(0.0, 1.0, int(CYCLES * STEPS) + 1)
        inception = np.pi * np.arange(STEPS) / STEPS
        decay = np.exp(-self.resistance_over_reactance * angle)
        current: Floats = np.cos(angle[:, None] + inception) - np.cos(inception) * decay[:, None]
        return float(np.abs(current).max())


def fault_of(
    circuit: str, initial_current: float, resistance_over_reactance: float, phases: tuple[str, ...] = LINES
) -> ShortCircuit:
    """Fault of a stated initial short-circuit current Ik'' [A] of its phases, its peak by IEC 60909."""
    factor = peak_factor(resistance_over_reactance)
    return ShortCircuit(circuit, phases, float(peak_current(initial_current, factor)), resistance_over_reactance)
