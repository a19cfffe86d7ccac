"""Random studies with a fault, a route, a load and a supply, drawn from a seed."""

import numpy as np

from studies.study.file import Study
from studies.study.reading import loads

AREAS = (50, 120, 240, 400)
TRAYS = ("mild-steel", "stainless-304", "aluminium-6063")


def derived_study(seed: int) -> Study:
    """Three to six cables, with or without screens, bonds and a tray, at 50 Hz or 60 Hz."""
    rng = np.random.default_rng(seed)
    area = int(rng.choice(AREAS))
    radius = 1e3 * np.sqrt(area * 1e-6 / np.pi)
    screened, parallel, trefoil = rng.random() < 0.5, rng.random() < 0.3, rng.random() < 0.4
    insulation, jacket, thickness = rng.uniform(1, 5), rng.uniform(1, 3), rng.uniform(0.1, 1.0)
    diameter = 2 * (radius + insulation + jacket + (thickness if screened else 0))
    phases = rng.permutation(["L1", "L2", "L3"]).tolist()
    if parallel:
        phases += phases[::-1] if rng.random() < 0.5 else phases
    gap = float(rng.uniform(1, 1.5 * diameter))
    number = str(phases).replace("'", '"')
    lines = [
        'title = "Random layout"',
        f'frequency = "{rng.choice([50, 60])} Hz"',
        "[cables.c]",
        f'conductor = {{ material = "copper", area = "{area} mm^2", temperature = "60 degC" }}',
        f'insulation = "{insulation:.4f} mm"',
        f'jacket = "{jacket:.4f} mm"',
        f"permittivity = {rng.uniform(2.3, 5):.2f}",
    ]
    if screened:
        lines.append(f'screen = {{ material = "copper", thickness = "{thickness:.4f} mm" }}')
    lines += ["[[circuits]]", 'name = "F1"', 'cable = "c"', f"phases = {number}", 'rests_at = ["0 mm", "0 mm"]']
    lines += ['current = "300 A"', f'arrangement = "{"trefoil" if trefoil else "flat"}"']
    if not trefoil or parallel:
        lines.append(f'{"group_clear_gap" if trefoil else "clear_gap"} = "{gap:.3f} mm"')
    if screened and rng.random() < 0.6:
        lines += ["[[bonds]]", 'parts = ["F1 screens"]']
    if rng.random() < 0.7:
        width = len(phases) * (2 * diameter + gap) + rng.uniform(20, 100)
        lines += ["[[trays]]", 'name = "T"', 'profile = "channel"', 'rests_at = ["0 mm", "0 mm"]']
        lines += [f'inside_width = "{width:.3f} mm"', f'inside_height = "{2.2 * diameter + 30:.3f} mm"']
        lines += [f'thickness = "{rng.uniform(0.8, 3):.3f} mm"', f'material = "{rng.choice(TRAYS)}"']
    lines += ["[[receptors]]", 'name = "p"', f'at = ["{rng.uniform(0.5, 2):.3f} m", "{rng.uniform(-1, 1):.3f} m"]']
    first, second, third = phases[:3]
    turned = [{first: second, second: third, third: first}[label] for label in phases]
    lines += ["[[route]]", f'length = "{rng.uniform(20, 80):.2f} m"', "[[route]]"]
    lines += [f'length = "{rng.uniform(20, 80):.2f} m"', f"phases = {{ F1 = {turned} }}".replace("'", '"')]
    lines += ["[supply]", f'voltage = "{rng.choice([400, 690])} V"']
    kind = str(rng.choice(["current", "impedance"]))
    lines += ["[[loads]]", f'power = "{rng.uniform(50, 150):.1f} kW"', f"power_factor = {rng.uniform(0.7, 1):.2f}"]
    lines += [f'kind = "{kind}"', "[[faults]]", f'peak_current = "{rng.uniform(5, 50):.1f} kA"']
    return loads("\n".join(lines), f"seed {seed}")
