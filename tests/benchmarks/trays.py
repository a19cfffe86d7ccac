"""Trays of twelve cables far apart in a hall: groups on meshes of their own, and one joint mesh beside them.

Run as `python tests/benchmarks/trays.py`. Each line is one hall at fineness 1, solved in a process of its own so that
its peak memory is its own. Processor seconds of: mesh; fields, losses and the field at a receptor. Milliseconds of
moving one group by a tenth of its circle, which solves none again; peak memory; loss of all parts, which groups and one
mesh share.

Times differ from machine to machine. Set OMP_NUM_THREADS=1 for figures to compare. `--smallest` runs the first line
alone.
"""

import argparse
import json
import resource
import subprocess
import sys
import time

import numpy as np

HEAD = """title = "Hall"
frequency = "50 Hz"

[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"
"""
HALLS = (
    ("equal", 2, True),
    ("equal", 20, True),
    ("different", 4, True),
    ("different", 4, False),
    ("different", 20, True),
)
"""Whether the trays are equal, their number, and whether groups have meshes of their own."""


def hall(trays: int, equal: bool) -> str:
    """Trays 1.8 m by 1.5 m apart, each with one circuit of twelve cables in one layer."""
    random, text = np.random.default_rng(7), HEAD
    for k in range(trays):
        x0, y0 = 1800 * (k % 5), 1500 * (k // 5)
        shift = np.zeros(12) if equal else random.uniform(-6, 6, 12)
        places = ", ".join(f'["{x0 + 44 * (m - 5.5) + shift[m]:.3f} mm", "{y0 + 12.25:.3f} mm"]' for m in range(12))
        phases = ", ".join(f'"L{m % 3 + 1}"' for m in range(12))
        text += f"""
[[trays]]
name = "T{k + 1}"
profile = "channel"
rests_at = ["{x0} mm", "{y0} mm"]
inside_width = "600 mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "mild-steel"
[[circuits]]
name = "F{k + 1}"
cable = "c240"
arrangement = "positions"
positions = [{places}]
phases = [{phases}]
current = "{400 if equal else 300 + 20 * k} A"
"""
    return text


def measure(kind: str, trays: int, apart: bool) -> dict[str, float]:
    """Figures of one hall."""
    from fem.solve import with_groups_at
    from geometry.groups import GroupedMesh, moved_groups
    from studies.section.cross_section import cross_section
    from studies.solve.accuracy import solve_once
    from studies.solve.meshes import mesh_of
    from studies.study.reading import loads

    section = cross_section(loads(hall(trays, kind == "equal")))
    times = [time.process_time()]
    mesh = mesh_of(section.section(), 1.0, apart)
    times.append(time.process_time())
    solved = solve_once(section, mesh, np.array([[0.9, 0.7]]), ())
    times.append(time.process_time())
    moved = 0.0
    if isinstance(mesh, GroupedMesh):
        moves = np.zeros((len(mesh.groups), 2))
        moves[0] = -0.1 * mesh.groups[0].mesh.circle_radius
        there = moved_groups(mesh, moves)
        start = time.process_time()
        with_groups_at(solved.fields, there)
        moved = time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    seconds = np.diff(times)
    return {
        "unknowns": len(mesh.points),
        "mesh": float(seconds[0]),
        "solve": float(seconds[1]),
        "moved": 1e3 * moved,
        "peak": peak,
        "loss": float(solved.losses.total.sum()),
    }


def main() -> None:
    """Print the table, or the figures of one hall as JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smallest", action="store_true")
    parser.add_argument("--one", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.one is not None:
        print(json.dumps(measure(*HALLS[options.one])))
        return
    print("trays          meshes      unknowns  mesh (s)  solve (s)  moved (ms)  peak (MB)  loss (W/m)")
    for number, (kind, trays, apart) in enumerate(HALLS[:1] if options.smallest else HALLS):
        line = [sys.executable, __file__, "--one", str(number)]
        figures = json.loads(subprocess.run(line, capture_output=True, text=True, check=True).stdout)
        print(
            f"{trays:2d} {kind:<10}  {'of groups' if apart else 'one':<10}  "
            f"{figures['unknowns']:8d}  {figures['mesh']:8.2f}"
            f"  {figures['solve']:9.2f}  {figures['moved']:10.1f}  {figures['peak']:9.0f}  {figures['loss']:10.5f}"
        )


if __name__ == "__main__":
    main()
