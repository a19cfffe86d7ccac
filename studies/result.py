"""The result of a study: its answers, printed, drawn, as arrays, in files, and the field anywhere."""

from __future__ import annotations

import warnings
from base64 import b64encode
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import ArrayLike

from fem.arrays import Complexes, Floats
from fem.polarisation import resultant
from studies.answers.answers import Answers
from studies.answers.fields.compute import formula_magnitude
from studies.output.arrays import Form, table_in, table_names
from studies.solve.solution import Solution, combined_error, root_sum_square
from studies.text.failures import collected, guarded


@dataclass(frozen=True)
class FieldAt:
    """Flux density at q points, from the finest solution of each of f frequencies."""

    points_m: Floats
    """Shape (q, 2)."""
    frequencies_hz: Floats
    """Shape (f,)."""
    b_t: Complexes
    """(Bx, By) as rms phasors, shape (f, q, 2)."""
    b_rms_t: Floats
    """Resultant of all frequencies, shape (q,)."""
    b_rms_error_t: Floats
    """Estimate of its numerical error, shape (q,)."""
    line_formula_b_rms_t: Floats
    """The same by line currents at the axes of the conductors, shape (q,)."""


@dataclass(frozen=True, repr=False)
class Result(Answers):
    """Everything computed for a study."""

    solutions: tuple[Solution, ...] = field(default=(), compare=False)
    """One for each frequency, for the field at any point."""

    def __repr__(self) -> str:
        """Title, verdicts and accuracy in a few lines."""
        above = ", ".join(dict.fromkeys(entry.name for entry in (*self.exceeded(), *self.exceeded_elsewhere())))
        laid = [f"{row.place} as laid" for row in self.exceeded_as_laid()]
        laid += [f"{row.place} with net currents" for row in self.exceeded_with_net_currents()]
        above = ", ".join((*filter(None, (above,)), *laid))
        verdicts = [receptor.within_limit for receptor in self.receptors] + [zone.within_limit for zone in self.zones]
        verdicts += [entry.within_limit for entry in self.judged_elsewhere()]
        limits = "no limits stated" if all(verdict is None for verdict in verdicts) else "within all limits"
        met, worst, asked = self.accuracy.met, self.accuracy.worst_error, self.accuracy.tolerance
        lines = [
            f"<Result of “{self.study.title}”, {self.study.frequency:g} Hz",
            f"above its limit: {above}" if above else limits,
            f"accuracy {'met' if met else 'NOT met'}: largest error {100 * worst:.2g} %, asked {100 * asked:g} %",
            *([f"NOT COMPLETE: {len(self.failures)} failed, see failures"] if self.failures else []),
        ]
        return "\n  ".join(lines) + ">"

    def __str__(self) -> str:
        """The main numbers as tables for a terminal."""
        from studies.report.terminal import summary

        return summary(self)

    def _repr_html_(self) -> str:
        """The same for a notebook, with the field map or else the cross-section; a picture that fails is left out."""
        from studies.answers import figure_names as names
        from studies.report.figures import figure_set, png
        from studies.report.terminal import summary_html

        drawn = figure_set(self)
        name = names.FIELD_MAP if names.FIELD_MAP in drawn else names.CROSS_SECTION
        with collected():
            picture = guarded(f"figure {name}", lambda: b64encode(png(drawn[name]())).decode("ascii"), None)
        label = name.replace("_", " ").capitalize()
        image = f'<img alt="{label}" style="max-width: 50rem" src="data:image/png;base64,{picture}">' if picture else ""
        return f"{summary_html(self)}{image}"

    def figures(self) -> dict[str, Figure]:
        """Every figure by the name of its file, drawn anew: yours to restyle, show and save.

        One that cannot be drawn is missing, and a warning says so.

        >>> import studies
        >>> result = studies.run(studies.load("feeder.toml"))
        >>> result.figures()["field_map"].savefig("map.pdf")
        """
        from studies.report.figures import figure_set, png

        with collected() as failures:
            drawn = {name: guarded(f"figure {name}", draw, None) for name, draw in figure_set(self).items()}
        for failure in failures:
            warnings.warn(str(failure), stacklevel=2)
        kept = {name: figure for name, figure in drawn.items() if figure is not None}
        for figure in kept.values():  # a notebook shows it, whether or not pyplot was imported
            figure.__dict__["_repr_png_"] = partial(png, figure)
        return kept

    def field_at(self, points: ArrayLike) -> FieldAt:
        """Flux density at any points (q, 2) [m], with its error and beside the formula; one point may be a pair.

        >>> import studies
        >>> result = studies.run(studies.load("feeder.toml"))
        >>> field = result.field_at([[1.5, -1.0], [3.0, -1.0]])
        >>> bool(field.b_rms_t[0] > field.b_rms_t[1])
        True
        """
        where = np.asarray(points, dtype=np.float64)
        if where.shape[-1:] != (2,) or not np.all(np.isfinite(where)):
            raise ValueError(f"points must be finite and of shape (q, 2), in metres: shape {where.shape}")
        where = where.reshape(-1, 2)
        fields = [solution.solved.probe.flux_density(solution.solved.nodal, where) for solution in self.solutions]
        magnitudes = [resultant(own) for own in fields]
        errors = [
            solution.estimate.of_field_at(where, own) for solution, own in zip(self.solutions, fields, strict=True)
        ]
        return FieldAt(
            points_m=where,
            frequencies_hz=np.array([solution.frequency for solution in self.solutions]),
            b_t=np.array(fields),
            b_rms_t=root_sum_square(magnitudes),
            b_rms_error_t=combined_error(magnitudes, errors),
            line_formula_b_rms_t=formula_magnitude(self.solutions, where),
        )

    def table_names(self) -> tuple[str, ...]:
        """Names of all tables, such as receptors, losses, phases."""
        return table_names(self)

    def table(self, name: str, form: Form = "arrays") -> Any:
        """A table as arrays by column name, or as a DataFrame of pandas or polars if that is installed.

        The columns are those of the file `tables/NAME.csv`: SI units, a phasor as two columns. TableError names the
        tables that there are.

        >>> import studies
        >>> result = studies.run(studies.load("feeder.toml"))
        >>> receptors = result.table("receptors")
        >>> str(receptors["name"][0]), float(receptors["limit_t"][0])
        ('instrument', 5e-07)
        """
        return table_in(self, name, form)

    def save(self, folder: str | Path, progress: Callable[[str], None] | None = None) -> Path:
        """Write the results folder that `trayfield run` writes; what of it failed is a warning and in failures.txt.

        >>> import studies
        >>> result = studies.run(studies.load("feeder.toml"))
        >>> sorted(path.name for path in result.save("results/feeder").glob("*.html"))
        ['report.html']
        """
        from studies.output.folder import held_folder
        from studies.output.write import write_results

        target = Path(folder)
        with held_folder(target):
            failures = write_results(self, target, progress or (lambda message: None))
        for failure in failures:
            warnings.warn(str(failure), stacklevel=2)
        return target

    def report(self, path: str | Path) -> Path:
        """Write the report alone, one HTML file that opens without a network.

        >>> import studies
        >>> result = studies.run(studies.load("feeder.toml"))
        >>> result.report("feeder.html").read_text(encoding="utf-8")[:15]
        '<!DOCTYPE html>'
        """
        from studies.output.numbers import software_versions
        from studies.report.contents import write_report
        from studies.report.figures import png

        with collected() as failures:
            pictures = {name: png(figure) for name, figure in self.figures().items()}
            text = write_report(self, pictures, software_versions())
        for failure in failures:
            warnings.warn(str(failure), stacklevel=2)
        target = Path(path)
        target.write_text(text, encoding="utf-8", errors="backslashreplace")
        return target
