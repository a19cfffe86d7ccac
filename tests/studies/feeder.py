"""The text of one feeder and of a tray for it; what a test is about comes on top."""

HEAD = """title = "Feeder"
frequency = "50 Hz"

[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"
"""
CIRCUIT = """
[[circuits]]
name = "F1"
cable = "c240"
arrangement = "flat"
spacing = "56 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"
"""
TRAY = """
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "mild-steel"
"""
FEEDER = HEAD + CIRCUIT
TREFOIL = FEEDER.replace('arrangement = "flat"\nspacing = "56 mm"', 'arrangement = "trefoil"')
FLOOR_LINE = """
[[traverses]]
name = "floor line"
from = ["-3 m", "1 m"]
to = ["3 m", "1 m"]
points = 5
"""


def accuracy(tolerance: str) -> str:
    return f'\n[accuracy]\ntolerance = "{tolerance}"\n'


def replaced(text: str, *pairs: tuple[str, str]) -> str:
    """The text with something else in the place of what it must hold."""
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text
