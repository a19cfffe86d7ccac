"""How many phase orders are judged in a second on one core, with receptors alone and with a zone.

Run as `python tests/benchmarks/orders.py`, with OMP_NUM_THREADS=1 for one core. Each line is one layout with maps drawn
at random, which cost what those of a solve cost: orders that are possible, judged, processor seconds, orders a second;
whether it is proved; and orders a second without looking at some points first. `--smallest` runs the first line alone.
"""

import argparse
import time
from collections.abc import Callable

import numpy as np

from fem.arrays import Floats
from studies.answers.orders.objectives import Question, objective, worst_field
from studies.answers.orders.places import JudgedPlace
from studies.answers.orders.search import search
from studies.answers.orders.symmetry import symmetry
from studies.answers.orders.transfer import Labels, Transfer

BALANCED = np.exp(2j * np.pi / 3) ** np.array([0, 2, 1])
LAYOUTS: dict[str, list[tuple[int, ...]]] = {
    "12 cables": [(0, 1, 2) * 4],
    "15 cables": [(0, 1, 2) * 5],
    "18 cables": [(0, 1, 2) * 6],
    "24 cables": [(0, 1, 2) * 8],
    "3 circuits of 6": [(3 * k, 3 * k + 1, 3 * k + 2) * 2 for k in range(3)],
    "8 circuits of 3": [(3 * k, 3 * k + 1, 3 * k + 2) for k in range(8)],
}
POINTS = {"2 receptors": 2, "and a zone": 102}


def question(groups: list[tuple[int, ...]], points: int) -> Question:
    """Random maps that decay from conductor to conductor as real ones do."""
    rng = np.random.default_rng(1)
    n = sum(map(len, groups))
    matrix = rng.normal(size=(n, n)) + 1j * rng.normal(size=(n, n))
    admittance = (matrix + matrix.T + 20 * np.eye(n)).astype(np.complex128)
    along = np.linspace(0, 1, points)[:, None, None]
    ends = rng.normal(size=(2, 1, 2, n)) + 1j * rng.normal(size=(2, 1, 2, n))
    field = (1 - along) * ends[0] + along * ends[1]  # neighbouring points have like fields
    impedance = np.linalg.inv(admittance).astype(np.complex128)
    maps = Transfer(tuple(map(str, range(n))), impedance, admittance, field)
    place = JudgedPlace("zone", True, np.zeros((points, 2)), 1.0, counts=True)
    return Question(maps, (place,), tuple(groups), np.tile(BALANCED, len(groups)))


def measured(asked: Question, judge: Callable[[Labels, Floats | float], Floats]) -> tuple[int, int, float, bool]:
    """Orders possible and judged, processor seconds, and whether the best is proved."""
    start = time.process_time()
    found = search(asked.groups, judge, symmetry(asked.groups, asked.currents))
    return found.possible, found.tried, time.process_time() - start, found.proved


def at_all_points(asked: Question) -> Callable[[Labels, Floats | float], Floats]:
    """The worst field of orders, every point of every order evaluated."""
    return lambda labels, _: worst_field(asked, asked.judged(labels))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="the first line alone")
    smallest = parser.parse_args().smallest
    heads = ("possible", "judged", "cpu s", "orders/s", "proved", "all points")
    print(f"{'layout':18}{'points':14}" + "".join(f"{head:>15}" for head in heads))
    for layout, groups in LAYOUTS.items():
        for name, points in POINTS.items():
            asked = question(groups, points)
            possible, tried, seconds, proved = measured(asked, objective(asked, {"field": 1.0}))
            plain = ""
            if points > 2 and tried < 1_000_000:
                _, again, longer, _ = measured(asked, at_all_points(asked))
                plain = f"{again / longer:.0f}"
            print(
                f"{layout:18}{name:14}{possible:15,}{tried:15,}{seconds:15.2f}{tried / seconds:15.0f}"
                f"{'yes' if proved else 'no':>15}{plain:>15}",
                flush=True,
            )
            if smallest:
                return


if __name__ == "__main__":
    main()
