"""The field at receptors in the terms of each stated limit, beside that of line currents."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from fem.arrays import Complexes, Floats
from studies.answers.net_currents.superposed import Superposed
from studies.answers.net_currents.with_net import field_with_net, superposed_of
from studies.answers.stated_limits.rows import StatedLimitResult
from studies.answers.stated_limits.waveform import BETWEEN, Tone, field_value, worst_tones
from studies.closed_forms.lines import formula_field
from studies.data.reference_levels import level_set
from studies.formulas.line_field import line_field
from studies.section.spectrum import components, fundamental
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.study.stated_limits import AS_STATED, PEAK, PEAK_TO_PEAK, RESULTANT, RMS, StatedLimit, in_band
from studies.text.failures import guarded

CRESTS = {RMS: 1.0, PEAK: math.sqrt(2), PEAK_TO_PEAK: 2 * math.sqrt(2)}
"""Value of a single tone over its rms. [-]"""
WHOLE = 1e-9
"""Frequencies this close are one. [-]"""


def stated_limit_results(study: Study, solutions: tuple[Solution, ...]) -> tuple[StatedLimitResult, ...]:
    """The field in the terms of every stated limit; one that fails costs only itself."""
    bases = _bases(study)
    superposed = superposed_of(field_with_net(study, solutions)) if study.stated_limits else ()
    net = {own.solution.frequency: own for own in superposed if own is not None}
    found = (
        guarded(f"stated limit {stated.name}", partial(_judged, study, stated, solutions, bases, net), None)
        for stated in study.stated_limits
    )
    return tuple(row for row in found if row is not None)


def _bases(study: Study) -> dict[float, float]:
    """Fundamental of each frequency of the study: that of the first circuit that has it as a harmonic. [Hz]

    Further currents of a circuit are in step with nothing.
    """
    bases = {}
    for component in components(study):
        steps = [
            (fundamental(study, circuit), order) for circuit in study.circuits for order in (1, *circuit.harmonics)
        ]
        known = (base for base, order in steps if math.isclose(base * order, component.frequency, rel_tol=WHOLE))
        bases[component.frequency] = next(known, component.frequency)
    return bases


def _judged(
    study: Study,
    stated: StatedLimit,
    solutions: tuple[Solution, ...],
    bases: Mapping[float, float],
    net: Mapping[float, Superposed],
) -> StatedLimitResult:
    number = next(k for k, receptor in enumerate(study.receptors) if receptor.name == stated.receptor)
    own = [solution for solution in solutions if in_band(solution.frequency, stated.band)]
    in_step = stated.phases == AS_STATED
    point = np.array([study.receptors[number].at])
    frequencies = [solution.frequency for solution in own]
    measure = partial(_value, stated)
    found = [_vectors(solution, net.get(solution.frequency), number, point) for solution in own]
    tones, lines = (
        worst_tones(
            [Tone(f, bases[f] if in_step else f, fixed) for f, (fixed, _) in zip(frequencies, fields, strict=True)],
            [free for _, free in fields],
            measure,
        )
        for fields in ([one[0] for one in found], [one[1] for one in found])
    )
    errors = [one[2] for one in found]
    low, high = stated.band or (None, None)
    common = StatedLimitResult(
        name=stated.name,
        receptor=stated.receptor,
        value=stated.value,
        component=stated.component,
        low_hz=low,
        high_hz=high,
        phases=stated.phases,
        b_t=None,
        b_error_t=None,
        formula_b_t=None,
        limit_t=None,
        index=0.0,
        index_error=0.0,
        formula_index=0.0,
        limit_name=None,
        within_limit=True,
    )
    if isinstance(stated.limit, str):
        return _weighted(common, stated.limit, tones, lines, errors)
    return _plain(common, stated, stated.limit, tones, lines, errors)


Vectors = tuple[Complexes, Complexes]
"""Field of known phase, shape (2,), and those of unknown phase, shape (k, 2). [T]"""


def _vectors(solution: Solution, net: Superposed | None, number: int, point: Floats) -> tuple[Vectors, Vectors, float]:
    """At the receptor of a number, by the solution and of line currents, with net currents, and the error. [T]"""
    formula = formula_field(solution.model, point)
    if net is None:
        nothing = np.zeros((0, 2), dtype=np.complex128)
        error = float(solution.estimate.of_vector(lambda r: r.receptors)[number])
        return (solution.estimate.now.receptors[number], nothing), (formula[0], nothing), error
    lines = np.stack([formula, *(line_field(point, *net.lines(term)) for term in net.terms)])
    computed, of_lines = (net.split(vectors[:, 0]) for vectors in (net.now.vectors(point), lines))
    return computed, of_lines, float(net.magnitude_and_error(point)[1][0])


def _value(stated: StatedLimit, tones: Sequence[Tone]) -> float:
    """In the terms of a limit. [T] or [-]"""
    if isinstance(stated.limit, str):
        return field_value(_weights(stated.limit, tones), PEAK, RESULTANT)
    return field_value(tones, stated.value, stated.component)


def _weights(name: str, tones: Sequence[Tone]) -> list[Tone]:
    return [replace(tone, field=tone.field * weight(name, tone.frequency)) for tone in tones]


def _plain(
    common: StatedLimitResult,
    stated: StatedLimit,
    limit: float,
    tones: Sequence[Tone],
    lines: Sequence[Tone],
    errors: Sequence[float],
) -> StatedLimitResult:
    field = field_value(tones, stated.value, stated.component)
    formula = field_value(lines, stated.value, stated.component)
    # a value changes by no more than its crest factor times the sum of the changes of the vectors
    error = CRESTS[stated.value] * (math.sqrt(sum(e**2 for e in errors)) if stated.value == RMS else sum(errors))
    error += _between(tones, stated.value, field)
    return replace(
        common,
        b_t=field,
        b_error_t=error,
        formula_b_t=formula,
        limit_t=limit,
        index=field / limit,
        index_error=error / limit,
        formula_index=formula / limit,
        within_limit=field + error <= limit,
    )


def _weighted(
    common: StatedLimitResult, name: str, tones: Sequence[Tone], lines: Sequence[Tone], errors: Sequence[float]
) -> StatedLimitResult:
    index, formula = (field_value(_weights(name, own), PEAK, RESULTANT) for own in (tones, lines))
    error = math.sqrt(2) * sum(e * abs(weight(name, t.frequency)) for e, t in zip(errors, tones, strict=True))
    error += _between(tones, PEAK, index)
    return replace(
        common,
        index=index,
        index_error=error,
        formula_index=formula,
        limit_name=name,
        within_limit=index + error <= 1,
    )


def weight(name: str, frequency: float) -> complex:
    """Weight of a field [T] of a frequency [Hz] in the weighted peak against a named set of levels. [1/T]

    1/(sqrt 2 level), turned by a quarter turn for each power of the frequency with which the level falls: the phase of
    a filter whose gain is the inverse of the level. ICNIRP 2010, Health Physics 99(6), non-sinusoidal exposure: at each
    instant |sum A_i/EL_i cos(2 pi f_i t + theta_i + phi_i)| <= 1, A_i amplitude, EL_i crest of the level. [M]
    """
    piece = level_set(name).piece(frequency)
    if piece is None:
        raise ValueError(f'"{name}" says nothing at {frequency:g} Hz')
    return complex(1j**piece.power / (math.sqrt(2) * piece.value(frequency)))


def _between(tones: Sequence[Tone], value: str, found: float) -> float:
    """What a crest between two instants may add to a value of tones in step; none if each is alone. [T] or [-]"""
    alone = len({tone.base for tone in tones}) == len(tones)
    return 0.0 if value == RMS or alone else BETWEEN * found
