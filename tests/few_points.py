"""Maps of few points; `python -m tests.few_points run ...` is the command with them, in a process of its own."""

from studies.answers.fields import compute, readings
from studies.answers.space import compute as space

COARSER = 60
"""Points of a map as users have it over those in tests: most look at no map, a third of a small study's time. [-]"""
FINE = {
    "studies.answers.fields.compute.MAP_POINTS": compute.MAP_POINTS,
    "studies.answers.fields.compute.MOST_AVERAGED": compute.MOST_AVERAGED,
    "studies.answers.fields.readings.GRID_POINTS": readings.GRID_POINTS,
}
"""Numbers of points as users have them, by their places."""
compute.MAP_POINTS //= COARSER
compute.MOST_AVERAGED //= COARSER  # so that each map is computed in the way that it is for users
readings.GRID_POINTS //= COARSER
space.PLAN_POINTS //= COARSER // 10

if __name__ == "__main__":
    import sys

    from studies.command import main

    sys.exit(main())
