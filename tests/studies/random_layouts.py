"""Random but sensible studies: cables, trays, screens and frequencies as they occur, drawn from a seed."""

import numpy as np

from studies.answers.limits.compute import outer_rectangle
from studies.answers.limits.rectangle import perimeter_rays
from studies.closed_forms.lines import formula_field, line_model
from studies.section.cross_section import cross_section
from studies.study.file import Study
from studies.study.reading import loads

AREAS = {"copper": (25, 70, 120, 240, 400, 630), "aluminium": (50, 150, 300, 500)}
TRAYS = ("mild-steel", "galvanised-steel", "stainless-304", "aluminium-6063", "aluminium-5052")


def random_study(seed: int) -> Study:
    """A study of one to three circuits, with or without tray, cover, screens and bonds, 16.7 to 2500 Hz."""
    return loads(_layout(seed), f"seed {seed}")


def random_limits_study(seed: int) -> Study:
    """The same layout with what is judged near it: points within 0.3 m, zones in air and about all, three limits.

    The limits are what line currents make 1 mm to 0.3 m, 0.3 m and 3 m from the outline of the arrangement.
    """
    text = _layout(seed)
    study = loads(text, f"seed {seed}")
    section = cross_section(study)
    outline = outer_rectangle(section)
    rng = np.random.default_rng(seed + 10_000)
    lines = [text]
    away = np.exp(rng.uniform(np.log([0.003, 0.003, 0.02]), np.log(0.3)))
    ends = np.exp(rng.uniform(np.log([0.001, 0.3, 3.0]), np.log([0.3, 3.0, 10.0])))
    rays = perimeter_rays(outline, rng.uniform(0, 8, 6))
    near, far = rays.points(np.concatenate([away, ends]))[:3], rays.points(np.concatenate([away, ends]))[3:]
    limits = np.linalg.norm(np.abs(formula_field(line_model(section), far)), axis=1)
    for k, (point, limit) in enumerate(zip(near, limits, strict=True)):
        lines += ["[[receptors]]", f'name = "near{k}"', f'at = ["{point[0]:.6f} m", "{point[1]:.6f} m"]']
        lines += [f'limit = "{1e6 * limit:.6g} uT"']
    low, high = outline.centre - outline.half, outline.centre + outline.half
    size = rng.uniform(0.05, 1.0, 2)
    beside = [high[0] + away[0], low[1] - size[1] / 2, high[0] + away[0] + size[0], low[1] + size[1] / 2]
    about = [*(low - rng.uniform(0.0, 0.2, 2)), *(high + rng.uniform(0.0, 0.2, 2))]
    for name, (x0, y0, x1, y1) in (("beside", beside), ("about", about)):
        lines += ["[[zones]]", f'name = "{name}"']
        lines += [f'window = [["{x0:.6f} m", "{y0:.6f} m"], ["{x1:.6f} m", "{y1:.6f} m"]]']
    return loads("\n".join(lines), f"seed {seed}")


def _layout(seed: int) -> str:
    rng = np.random.default_rng(seed)
    frequency = float(np.exp(rng.uniform(np.log(16.7), np.log(2500))))
    material = str(rng.choice(list(AREAS)))
    area = int(rng.choice(AREAS[material]))
    screened = rng.random() < 0.4
    radius = 1e3 * np.sqrt(area * 1e-6 / np.pi)
    insulation, jacket, thickness = rng.uniform(1, 5), rng.uniform(1, 3), rng.uniform(0.1, 1.5)
    diameter = 2 * (radius + insulation + jacket + (thickness if screened else 0))
    circuits = int(rng.integers(1, 4))
    trefoil = rng.random() < 0.4
    gap = float(rng.choice([0.0, rng.uniform(1, 2 * diameter)]))
    pitch = 2 * diameter if trefoil else 3 * diameter + 2 * gap
    pitch += rng.uniform(5, 60)
    lines = [
        'title = "Random layout"',
        f'frequency = "{frequency:.6g} Hz"',
        "[cables.c]",
        f'conductor = {{ material = "{material}", area = "{area} mm^2", temperature = "60 degC" }}',
        f'insulation = "{insulation:.4f} mm"',
        f'jacket = "{jacket:.4f} mm"',
    ]
    if screened:
        lines.append(f'screen = {{ material = "{rng.choice(["copper", "lead"])}", thickness = "{thickness:.4f} mm" }}')
    for k in range(circuits):
        x = (k - (circuits - 1) / 2) * pitch
        phases = rng.permutation(["L1", "L2", "L3"]).tolist()
        lines += ["[[circuits]]", f'name = "F{k + 1}"', 'cable = "c"', f"phases = {phases}".replace("'", '"')]
        lines += [f'rests_at = ["{x:.4f} mm", "0 mm"]', f'current = "{rng.uniform(50, 900):.1f} A"']
        lines += ['arrangement = "trefoil"'] if trefoil else ['arrangement = "flat"', f'clear_gap = "{gap:.4f} mm"']
    tray = rng.random() < 0.75
    width = circuits * pitch + rng.uniform(20, 200)
    height = 2 * diameter + rng.uniform(10, 60)
    if tray:
        lines += ["[[trays]]", 'name = "T"', 'profile = "channel"', 'rests_at = ["0 mm", "0 mm"]']
        lines += [f'inside_width = "{width:.3f} mm"', f'inside_height = "{height:.3f} mm"']
        lines += [f'thickness = "{rng.uniform(0.8, 3):.3f} mm"', f'material = "{rng.choice(TRAYS)}"']
        if rng.random() < 0.3:
            lines.append('cover = "closed"')
    if screened and rng.random() < 0.6:
        lines += ["[[bonds]]", "parts = [" + ", ".join(f'"F{k + 1} screens"' for k in range(circuits)) + "]"]
    for k in range(4):
        distance = float(np.exp(rng.uniform(np.log(0.8), np.log(8)))) * width / 1e3
        angle = rng.uniform(0, 2 * np.pi)
        at = f'["{distance * np.cos(angle):.5f} m", "{distance * np.sin(angle):.5f} m"]'
        lines += ["[[receptors]]", f'name = "p{k}"', f"at = {at}"]
    return "\n".join(lines)
