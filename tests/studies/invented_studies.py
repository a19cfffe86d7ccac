"""Studies whose results are invented: what no example states, and enough of everything for tables of several rows."""

from pathlib import Path

import studies
from studies.study.file import Study
from studies.study.reading import load, loads
from tests.studies.everything_asked import STUDY
from tests.studies.installation import changed
from tests.studies.whole_installations import CROSS, SATURATING, SPECTRUM

EXAMPLES = Path(studies.__file__).parent / "examples"
MORE = """
[supply]
voltage = "20.06 kV"

[[metalwork]]
name = "ring"
shape = "path"
path = [["8 m", "0 m"], ["9 m", "0 m"], ["9 m", "1 m"], ["8 m", "1 m"]]
closed = true
thickness = "3 mm"
material = "aluminium-5052"

[[metalwork]]
name = "sheet"
shape = "path"
path = [["8 m", "2 m"], ["9 m", "2 m"]]
thickness = "3 mm"
material = "aluminium-5052"

[[receptors]]
name = "bench"
at = ["-4 m", "0.5 m"]

[[receptors]]
name = "door"
at = ["-0.2 m", "-0.3 m"]
limit = "5 uT"

[[zones]]
name = "store"
window = [["5 m", "2 m"], ["6 m", "3 m"]]

[[zones]]
name = "beside the pipe"
window = [["-0.5 m", "5 m"], ["0.5 m", "7 m"]]
limit = "ICNIRP 2010 public"

[[traverses]]
name = "aisle"
from = ["-1 m", "0.5 m"]
to = ["1 m", "0.5 m"]
points = 5
"""


def invented_studies() -> dict[str, Study]:
    """The studies by name."""
    own = {
        "plant": changed(('rests_at = ["0 mm", "0 mm"]\nturned', 'rests_at = ["-2 m", "0 mm"]\nturned')) + MORE,
        "spectrum": SPECTRUM,
        "saturating": SATURATING,
        "cross-bonded": CROSS,
        "everything": STUDY,
    }
    text = (EXAMPLES / "twelve_cables_order.toml").read_text(encoding="utf-8")
    own["parallel"] = text.replace("\ncurrent =", '\nharmonics = { 5 = "20 %" }\ncurrent =')
    drawn = {name: load(EXAMPLES / f"{name}.toml") for name in ("drawn_section", "armoured_cables")}
    return {name: loads(text, f"{name}.toml") for name, text in own.items()} | drawn
