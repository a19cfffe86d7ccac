"""Where the time of one solve goes, and how it grows from three cables to 48.

Run as `python tests/benchmarks/solving.py`. Each line is one layout at one fineness of the mesh, solved in a process
of its own so that its peak memory is its own. Seconds of: mesh; assembly; factorisation with the solution for every
part; losses and checks; field along 121 points by averaging; map of 60 000 points; the same map by line currents. Then
microseconds per unknown of all but the maps, its ratio to three cables at the same fineness, and peak memory.

Times differ from machine to machine; the ratios say whether the cost per unknown grows with the number of parts. Set
OMP_NUM_THREADS=1 for figures to compare. `--smallest` runs the first line alone.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

HEAD = """title = "Benchmark"
frequency = "50 Hz"

[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"
"""
FINENESSES = (0.7, 1.0, 1.5, 2.25)
MAP_SIDE = 245  # squared, about as many points as the map of a study
COLUMNS = ("mesh", "assembly", "factors", "losses", "line", "map", "formula")


def _tray(width: float) -> str:
    return f"""
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "{width} mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "mild-steel"
"""


def _circuit(name: str, positions: list[tuple[float, float]]) -> str:
    phases = [("L1", "L2", "L3")[k % 3] for k in range(len(positions))]
    if len(positions) % 3:
        phases[-1] = "N"
    places = ", ".join(f'["{x:.4f} mm", "{y:.4f} mm"]' for x, y in positions)
    labels = ", ".join(f'"{phase}"' for phase in phases)
    return f"""
[[circuits]]
name = "{name}"
cable = "c240"
arrangement = "positions"
positions = [{places}]
phases = [{labels}]
current = "400 A"
"""


def three_cables() -> str:
    """Three cables 56 mm apart in a steel tray."""
    return HEAD + _circuit("F1", [(-56, 12.25), (0, 12.25), (56, 12.25)]) + _tray(300)


def one_layer() -> str:
    """Three circuits of 16 cables, five a phase and a neutral, side by side at 30 mm in a wide steel tray."""
    x = 30 * (np.arange(48) - 23.5)
    rows = [[(float(p), 12.25) for p in x[16 * k : 16 * k + 16]] for k in range(3)]
    return HEAD + "".join(_circuit(f"F{k + 1}", row) for k, row in enumerate(rows)) + _tray(1500)


def two_layers() -> str:
    """Three circuits of 16 cables, touching, in two layers of 24 in a steel tray."""
    x = 24.5 * (np.arange(24) - 11.5)
    rows = [[(float(p), y) for y in (12.25, 36.75) for p in x[8 * k : 8 * k + 8]] for k in range(3)]
    return HEAD + "".join(_circuit(f"F{k + 1}", row) for k, row in enumerate(rows)) + _tray(600)


LAYOUTS: dict[str, Callable[[], str]] = {
    "three cables": three_cables,
    "48 in one layer": one_layer,
    "48 touching": two_layers,
}


def measure(layout: str, fineness: float) -> dict[str, float]:
    """Solve a layout on one mesh, in this process."""
    import fem.solve
    from fem.checks import check_solution
    from fem.field import FieldProbe
    from fem.losses import losses
    from fem.ties import drive
    from geometry.meshing import mesh_section
    from geometry.sizing import MeshSizes
    from studies.closed_forms.lines import formula_field, line_model
    from studies.section.cross_section import cross_section
    from studies.study.reading import loads

    seconds: dict[str, float] = {}

    def timed(column: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def run(*arguments: Any, **choices: Any) -> Any:
            start = time.perf_counter()
            result = work(*arguments, **choices)
            seconds[column] = seconds.get(column, 0.0) + time.perf_counter() - start
            return result

        return run

    section = cross_section(loads(LAYOUTS[layout]()))
    mesh = timed("mesh", mesh_section)(section.section(), MeshSizes(fineness=fineness))
    vars(fem.solve)["solve_symmetric"] = timed("factors", vars(fem.solve)["solve_symmetric"])
    parts = {part.name: (part.name,) for part in section.parts}
    fields = timed("assembly", fem.solve.solve_unit_voltages)(mesh, section.materials(), section.frequency, parts)
    seconds["assembly"] -= seconds["factors"]
    state = drive(fields.admittance, fields.part_names, section.ties)
    loss, _ = timed("losses", losses)(fields, state.voltages)
    timed("losses", check_solution)(fields, state, loss)
    probe, nodal = FieldProbe(fields), fields.potential(state.voltages)
    line = np.column_stack([np.linspace(-1, 1, 121), np.full(121, 0.15)])
    timed("line", probe.flux_density)(nodal, line)
    grid = np.stack(np.meshgrid(np.linspace(-1, 1, MAP_SIDE), np.linspace(-0.5, 1, MAP_SIDE)), axis=-1).reshape(-1, 2)
    timed("map", probe.flux_density_raw)(nodal, grid)
    timed("formula", formula_field)(line_model(section), grid)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # Linux counts in kB
    return {"parts": len(section.parts), "unknowns": len(mesh.points), **seconds, "peak": peak}


def in_own_process(layout: str, fineness: float) -> dict[str, float]:
    """The same in a process of its own."""
    line = [sys.executable, __file__, "--measure", layout, str(fineness)]
    root = str(Path(__file__).resolve().parents[2])
    paths = os.pathsep.join([root, *filter(None, [os.environ.get("PYTHONPATH")])])
    environment = {**os.environ, "PYTHONPATH": paths}
    done = subprocess.run(line, env=environment, stdout=subprocess.PIPE, text=True, check=True)
    measured: dict[str, float] = json.loads(done.stdout)
    return measured


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="the first line alone")
    parser.add_argument("--measure", nargs=2, metavar=("LAYOUT", "FINENESS"), help="one line as JSON, in this process")
    choices = parser.parse_args()
    if choices.measure:
        print(json.dumps(measure(choices.measure[0], float(choices.measure[1]))))
        return
    heads = (*COLUMNS, "µs each", "ratio", "peak MB")
    print(f"{'layout':18}{'fineness':>9}{'parts':>6}{'unknowns':>9}" + "".join(f"{head:>9}" for head in heads))
    reference: dict[float, float] = {}
    for layout in LAYOUTS:
        for fineness in FINENESSES:
            found = in_own_process(layout, fineness)
            each = 1e6 * sum(found[column] for column in COLUMNS[:5]) / found["unknowns"]
            ratio = each / reference.setdefault(fineness, each)
            print(
                f"{layout:18}{fineness:9g}{found['parts']:6.0f}{found['unknowns']:9.0f}"
                + "".join(f"{found[column]:9.3f}" for column in COLUMNS)
                + f"{each:9.1f}{ratio:9.2f}{found['peak']:9.0f}",
                flush=True,
            )
            if choices.smallest:
                return


if __name__ == "__main__":
    main()
