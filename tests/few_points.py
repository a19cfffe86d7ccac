"""Maps of few points; `python -m tests.few_points run ...` is the command with them, in a process of its own."""

from studies.answers.fields import compute as fields
from studies.answers.space import compute as space

COARSER = 60
"""Points of a map as users have it over those in tests: most look at no map, a third of a small study's time. [-]"""
FINE = {"MAP_POINTS": fields.MAP_POINTS, "MOST_AVERAGED": fields.MOST_AVERAGED}
for _name, _points in FINE.items():  # both, so that each map is computed in the way that it is for users
    setattr(fields, _name, _points // COARSER)
space.PLAN_POINTS //= COARSER // 10

if __name__ == "__main__":
    import sys

    from studies.command import main

    sys.exit(main())
