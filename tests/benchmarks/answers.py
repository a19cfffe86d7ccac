"""What each answer that a study may ask for adds to the starter study.

Run as `OMP_NUM_THREADS=1 python tests/benchmarks/answers.py`. Each line is the starter study with the keys of one
answer, run and written with its report and figures, in one process: processor seconds, what they are
above the plain run's, and their ratio to them; of one run each, or the median of `--runs`.
`--smallest` runs the plain study once.
"""

import argparse
import statistics
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import studies

STARTER = Path(studies.__file__).parent / "study" / "starter.toml"
PLATE = """[shield_search]
metals = ["aluminium-6061", "mild-steel"]
relative_densities = [2.7, 7.85]
thicknesses = ["2 mm"]
widths = ["0.6 m", "1 m"]
middles = [["1.2 m", "0.4 m"]]
turned = "90 deg"
least = "mass"
"""
SURVEY = """x (m),y (m),field (nT),uncertainty (%)
2,0.5,300,5
2,1,250,5
-2,0.5,300,5
1,1,900,5
0,2,500,5
"""
CIRCUIT = 'current = "400 A"'
PLAIN = "as it is"
ASKED = {
    "limits as stated": '[[stated_limits]]\nname = "peak"\nreceptor = "instrument"\nlimit = "1 uT"\nvalue = "peak"\n',
    "permitted currents": 'permitted_current = "450 A"',
    "energy of a year": '[energy]\nload_factor = "60 %"\n',
    "a loop": '[[loops]]\nname = "pair"\nwires = [["1 m", "0 m"], ["1.01 m", "0 m"]]\nlength = "30 m"\n',
    "a survey": '[survey]\nfile = "survey.csv"\ncoverage_factor = 2\n',
    "shielding": "[shielding]\n",
    "three harmonics": 'harmonics = { 5 = "20 %", 7 = "10 %", 11 = "5 %" }',
    "causes": "[causes]\n",
    "laying tolerance": '[laying_tolerance]\nacross = "3 mm"\nup = "3 mm"\n',
    "phase orders": '[order_search]\nobjective = "field"\n',
    "the run, two sections": '[[route]]\nlength = "20 m"\n[[route]]\nlength = "10 m"\n'
    'set = { "circuits.F1.clear_gap" = "0 mm" }\n',
    "the run in space": '[course]\npath = [["-8 m", "0 m", "3 m"], ["0 m", "0 m", "3 m"], ["0 m", "-5 m", "3 m"]]\n'
    'bend_radius = "0.4 m"\n',
    "remedies": "[remedies]\n",
    "four shields": PLATE,
}
"""What is asked for, as keys of the circuit or as tables of the study file."""


def seconds_of(asked: str, folder: Path) -> float:
    """Processor seconds of one run with its report."""
    text = STARTER.read_text(encoding="utf-8")
    text = f"{text}\n{asked}" if asked.startswith("[") else text.replace(CIRCUIT, f"{CIRCUIT}\n{asked}", 1)
    place = folder / "study.toml"
    place.write_text(text, encoding="utf-8")
    start = time.process_time()
    studies.run(studies.load(place)).save(folder / "results")
    return time.process_time() - start


def table(cases: Sequence[tuple[str, str]], runs: int, folder: Path) -> None:
    """Print the table."""
    (folder / "survey.csv").write_text(SURVEY, encoding="utf-8")
    print(f"{'asked':24}{'processor s':>14}{'added s':>10}{'ratio':>8}")
    plain = 0.0
    for name, asked in cases:
        spent = statistics.median(seconds_of(asked, folder) for _ in range(runs))
        plain = plain or spent
        print(f"{name:24}{spent:14.2f}{spent - plain:10.2f}{spent / plain:8.2f}", flush=True)


def main() -> None:
    """Print the table of all answers."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="the plain study once")
    parser.add_argument("--runs", type=int, default=1)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        cases = [(PLAIN, ""), *ASKED.items()]
        if not given.smallest:
            seconds_of("", Path(place))  # imports
        table(cases[:1] if given.smallest else cases, given.runs, Path(place))


if __name__ == "__main__":
    main()
