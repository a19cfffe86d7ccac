"""Small studies with variants and sweeps, quick to solve: two cables in air at a coarse tolerance."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

PAIR = """title = "Pair"
frequency = "50 Hz"

[cables.c50]
conductor = { material = "copper", area = "50 mm^2", temperature = "70 degC" }
insulation = "1.4 mm"

[[circuits]]
name = "F1"
cable = "c50"
arrangement = "flat"
spacing = "30 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2"]
current = "100 A"

[[receptors]]
name = "instrument"
at = ["1 m", "0.5 m"]
limit = "0.5 uT"

[accuracy]
tolerance = "5 %"
"""
TRIPLE = PAIR.replace('["L1", "L2"]', '["L1", "L2", "L3"]')
SPACINGS = ("20 mm", "24 mm", "28 mm", "32 mm", "36 mm", "40 mm", "44 mm")


def swept(values: tuple[str, ...] = SPACINGS, study: str = PAIR) -> str:
    """The study with a sweep of its spacing."""
    listed = ", ".join(f'"{value}"' for value in values)
    return f'{study}\n[sweep]\n"circuits.F1.spacing" = [{listed}]\n'


def with_variants(*variants: str, study: str = PAIR) -> str:
    """The study with variants, each given by the lines of its table."""
    return study + "".join(f"\n[[variants]]\n{variant}\n" for variant in variants)
