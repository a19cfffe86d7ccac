"""Tray, duct and steel profiles: the solids they make, what they refuse, and where they are placed."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.clearance import clearance, polygon
from geometry.loops import Point
from geometry.network import Network
from geometry.placing import placed
from geometry.polygons import Polygon
from geometry.profiles.channel import ChannelTray, Cover, Divider
from geometry.profiles.ducts import Conduit, Duct
from geometry.profiles.sheets import BentPlate, FlatPlate, Ladder
from geometry.profiles.solids import Profile, named_solids
from geometry.profiles.structural import ISection, LSection
from geometry.shapes import Disc, Shape, Tube, Wall, boundary_loops, wall_along
from tests.geometry.sound_mesh import section_of, sound_mesh

W, H, T = 0.3, 0.1, 1.5e-3  # inside width, inside height, thickness [m]
HALF = W / 2 + T
OPEN = W * T + 2 * (H + T) * T  # area of the plain channel [m^2]
DIVIDERS = (Divider(-0.1, 0.06, 1.5e-3), Divider(0.09, H, 1e-3))

PROFILES: dict[str, Profile] = {
    "plain": ChannelTray(W, H, T),
    "inward lips": ChannelTray(W, H, T, 0.012),
    "outward lips": ChannelTray(W, H, T, 0.012, "outward"),
    "dividers": ChannelTray(W, H, T, dividers=DIVIDERS),
    "cover": ChannelTray(W, H, T, cover=Cover(T)),
    "thicker cover": ChannelTray(W, H, T, cover=Cover(3e-3)),
    "cover on lips": ChannelTray(W, H, T, 0.012, dividers=DIVIDERS, cover=Cover(1e-3)),
    "cover on outward lips": ChannelTray(W, H, T, 0.012, "outward", cover=Cover(T)),
    "loose cover": ChannelTray(W, H, T, 0.012, dividers=DIVIDERS, cover=Cover(1e-3, clear_gap=0.5e-3)),
    "loose cover with edges": ChannelTray(W, H, T, cover=Cover(1e-3, 0.5e-3, edge=0.02, edge_gap=1e-3)),
    "edges over outward lips": ChannelTray(W, H, T, 0.012, "outward", cover=Cover(1e-3, 0.0, 0.02, 1e-3)),
    "edges in contact": ChannelTray(W, H, T, cover=Cover(1e-3, edge=0.02)),
    "plate": FlatPlate(W, T),
    "bent plate": BentPlate(((-0.1, 0.1), (0.0, 0.0), (0.1, 0.0)), T, "left"),
    "ladder": Ladder(W, H, T, rung_height=0.02),
    "ladder, flanges out": Ladder(W, H, T, 0.02, 0.025),
    "ladder, flanges in": Ladder(W, H, T, 0.02, 0.025, "inward"),
    "conduit": Conduit(0.1, 2e-3),
    "duct": Duct((W,), (H,), T),
    "compartments": Duct((0.05, 0.1, 0.05), (0.05, 0.03), T),
    "I": ISection(0.2, 0.1, 5.6e-3, 8.5e-3),
    "L": LSection(0.1, 0.08, 8e-3, 10e-3),
}


@pytest.mark.parametrize(
    ("name", "suffix", "kind", "expected"),
    [
        ("plain", "", Wall, OPEN),
        ("inward lips", "", Wall, OPEN + 2 * 0.012 * T),
        ("outward lips", "", Wall, OPEN + 2 * 0.012 * T),
        ("dividers", "", Network, OPEN + 0.06 * 1.5e-3 + H * 1e-3),
        ("cover", "", Wall, OPEN + 2 * HALF * T),
        ("thicker cover", "", Network, OPEN + 2 * HALF * 3e-3),
        ("cover on lips", "", Network, OPEN + 2 * 0.012 * T + 0.06 * 1.5e-3 + H * 1e-3 + 2 * HALF * 1e-3),
        ("cover on outward lips", "", Network, OPEN + 2 * 0.012 * T + 2 * (HALF + 0.012) * T),
        ("loose cover", "", Network, OPEN + 2 * 0.012 * T + 0.06 * 1.5e-3 + H * 1e-3),
        ("loose cover", "cover", Wall, 2 * HALF * 1e-3),
        ("loose cover with edges", "cover", Wall, 2 * (HALF + 2e-3) * 1e-3 + 2 * 0.02 * 1e-3),
        ("edges in contact", "", Network, OPEN + 2 * (HALF + 1e-3) * 1e-3 + 2 * 0.02 * 1e-3),
        ("plate", "", Wall, W * T),
        ("ladder", "left", Wall, H * T),
        ("ladder, flanges out", "right", Wall, (H + 2 * 0.025) * T),
        ("ladder, flanges in", "left", Wall, (H + 2 * 0.025) * T),
        ("duct", "", Wall, 2 * (W + H + 2 * T) * T),
        ("compartments", "", Network, (0.2 + 4 * T) * (0.08 + 3 * T) - 0.2 * 0.08),
        ("I", "", Network, 2 * 0.1 * 8.5e-3 + (0.2 - 17e-3) * 5.6e-3),
        ("L", "", Network, 0.08 * 10e-3 + 0.09 * 8e-3),
    ],
)
def test_solids_have_the_area_of_their_sheets(name: str, suffix: str, kind: type, expected: float):
    solid = PROFILES[name].solids()[suffix]
    assert isinstance(solid, kind)
    assert polygon(solid).area == pytest.approx(expected, rel=1e-11)


@pytest.mark.parametrize(
    ("name", "bounds"),
    [
        ("plain", (-HALF, -T, HALF, H)),
        ("inward lips", (-HALF, -T, HALF, H)),
        ("outward lips", (-HALF - 0.012, -T, HALF + 0.012, H)),
        ("cover", (-HALF, -T, HALF, H + T)),
        ("cover on outward lips", (-HALF - 0.012, -T, HALF + 0.012, H + T)),
        ("edges over outward lips", (-HALF - 0.014, -T, HALF + 0.014, H + 1e-3)),
        ("plate", (-W / 2, -T, W / 2, 0.0)),
        ("conduit", (-0.05, -2e-3, 0.05, 0.098)),
        ("duct", (-HALF, -T, HALF, H + T)),
        ("compartments", (-0.1 - 2 * T, -T, 0.1 + 2 * T, 0.08 + 2 * T)),
        ("I", (-0.05, 0.0, 0.05, 0.2)),
        ("L", (-0.04, 0.0, 0.04, 0.1)),
    ],
)
def test_the_origin_is_where_cables_rest_or_the_foot_of_the_section(name: str, bounds: tuple[float, ...]):
    assert polygon(PROFILES[name].solids()[""]).bounds == pytest.approx(bounds, abs=1e-12)


def test_rails_of_a_ladder_stand_beside_the_cables_about_the_rungs():
    for name, outside, inside in (
        ("ladder", HALF, W / 2),
        ("ladder, flanges out", HALF + 0.025, W / 2),
        ("ladder, flanges in", HALF, W / 2 - 0.025),
    ):
        solids = named_solids(PROFILES[name], "T1")
        assert list(solids) == ["T1.left", "T1.right"]
        assert polygon(solids["T1.left"]).bounds == pytest.approx((-outside, -0.02, -inside, 0.08), abs=1e-12)
        assert polygon(solids["T1.right"]).bounds == pytest.approx((inside, -0.02, outside, 0.08), abs=1e-12)
        # an upright plate beside the cables, whichever way the flanges point
        cable = Disc((W / 2 - 0.011, 0.03), 0.01)
        assert clearance(solids["T1.right"], cable) == pytest.approx(1e-3, abs=1e-12)


def test_a_plain_channel_is_one_mitred_wall():
    for covered in (False, True):
        cover = Cover(T) if covered else None
        inside = [(-W / 2, H), (-W / 2, 0.0), (W / 2, 0.0), (W / 2, H)]
        mitred = wall_along(inside, T, side="right", closed=covered)
        assert ChannelTray(W, H, T, cover=cover).solids() == {"": mitred}


def test_a_loose_cover_keeps_its_gaps():
    for name, gap in (("loose cover", 0.5e-3), ("loose cover with edges", 0.5e-3)):
        solids = PROFILES[name].solids()
        assert clearance(solids[""], solids["cover"]) == pytest.approx(gap, abs=1e-12)
    wide = ChannelTray(W, H, T, cover=Cover(1e-3, 5e-3, 0.02, 2e-3)).solids()
    assert clearance(wide[""], wide["cover"]) == pytest.approx(2e-3, abs=1e-12)
    assert polygon(wide["cover"]).bounds == pytest.approx((-HALF - 3e-3, H - 0.015, HALF + 3e-3, H + 6e-3), abs=1e-12)


@pytest.mark.parametrize(
    ("name", "pockets"),
    [
        ("plain", 0),
        ("dividers", 0),
        ("I", 0),
        ("cover", 1),
        ("cover on lips", 2),
        ("cover on outward lips", 1),
        ("edges over outward lips", 1),
        ("edges in contact", 1),
        ("duct", 1),
        ("compartments", 6),
    ],
)
def test_covers_and_full_dividers_close_as_many_pockets_as_they_should(name: str, pockets: int):
    # in "cover on lips" one divider reaches the cover and one does not
    assert len(boundary_loops(PROFILES[name].solids()[""])[1]) == pockets


@pytest.mark.parametrize("name", PROFILES)
@pytest.mark.parametrize("angle", [0.0, math.pi / 2, 0.4])
def test_every_profile_is_meshed_soundly_wherever_it_is_turned(name: str, angle: float):
    solids = named_solids(PROFILES[name], "T1", (0.2, -0.3), angle)
    assert all(part == "T1" or part.startswith("T1.") for part in solids)
    sound_mesh(section_of(solids))


def test_a_lipped_channel_with_dividers_and_cover_has_a_sensible_mesh():
    cables = {f"c{k}": Disc((0.06 * (k - 1), 0.0145), 0.00874) for k in range(3)}
    for name in ("cover on lips", "loose cover"):
        mesh = sound_mesh(section_of({**cables, **named_solids(PROFILES[name], "T1")}), 1.5)
        assert len(mesh.points) < 60_000


CHANNEL = "of a channel tray must be"


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: ChannelTray(0.0, H, T), f"inside_width {CHANNEL} a finite length above 0 m: 0.0"),
        (lambda: ChannelTray(W, math.inf, T), f"inside_height {CHANNEL} a finite length above 0 m: inf"),
        (lambda: ChannelTray(W, H, -T), f"thickness {CHANNEL} a finite length above 0 m: -0.0015"),
        (lambda: ChannelTray(W, H, T, -0.01), f"lip {CHANNEL} a finite length of 0 m or above: -0.01"),
        (lambda: ChannelTray(W, H, T, 0.15), f"lip {CHANNEL} below 0.15 m, half its inside_width: 0.15"),
        (lambda: ChannelTray(W, 1e-3, T, 0.01), f"thickness {CHANNEL} below 0.001 m, its inside_height"),
        (lambda: ChannelTray(W, H, T, 0.01, "up"), f"lip_side {CHANNEL} 'inward' or 'outward': 'up'"),
        (lambda: Divider(0.0, 0.0, T), "height of a divider must be a finite length above 0 m: 0.0"),
        (
            lambda: ChannelTray(W, H, T, dividers=(Divider(0.15, 0.05, T),)),
            "position of a divider must lie between -0.149",
        ),
        (lambda: ChannelTray(W, H, T, dividers=(Divider(math.nan, 0.05, T),)), "position of a divider .* nan"),
        (lambda: ChannelTray(W, H, T, dividers=(Divider(0, 0.2, T),)), "height of a divider must be at most 0.1 m"),
        (
            lambda: ChannelTray(W, H, T, 0.02, dividers=(Divider(0.14, H, T),)),
            "height of a divider must be at most 0.0985 m, where the tray's lip",
        ),
        (
            lambda: ChannelTray(W, H, T, dividers=(Divider(0.0, 0.05, T), Divider(1e-3, 0.05, T))),
            "positions of neighbouring dividers must differ by more than their thickness, 0.0015 m",
        ),
        (lambda: Cover(0.0), "thickness of a cover must be a finite length above 0 m"),
        (lambda: Cover(T, edge_gap=1e-3), "edge_gap of a cover must be 0 m if edge is 0 m"),
        (lambda: Cover(T, 1e-3, 0.02), "edge_gap of a cover must be above 0 m if clear_gap is"),
        (
            lambda: ChannelTray(W, H, T, cover=Cover(T, 0.0, 0.2, 1e-3)),
            "edge of a cover must be at most 0.1015 m, the height of the tray: 0.2",
        ),
        (lambda: FlatPlate(W, 0.0), "thickness of a flat plate must be"),
        (lambda: BentPlate(((0.0, 0.0),), T), "path of a bent plate must be two points"),
        (
            lambda: BentPlate(((0.0, 0.0), (1.0, 0.0)), T, "up"),
            "side of a bent plate must be 'middle' or",
        ),
        (lambda: BentPlate(((0.0, 0.0), (1.0, 0.0), (0.0, 0.0)), T), "turns back on itself"),
        (lambda: Ladder(W, H, T, 0.2), "rung_height of a ladder must be below 0.1 m, its rail_height: 0.2"),
        (lambda: Ladder(W, 2e-3, T, 0.0, 0.01), "thickness of a ladder must be below 0.001 m, half its rail_height"),
        (lambda: Ladder(W, H, T, 0.0, 0.2, "inward"), "flange of a ladder must be below 0.15 m, half its inside_width"),
        (lambda: Conduit(0.1, 0.05), "thickness of a conduit must be below 0.05 m, half its outside_diameter"),
        (lambda: Duct((), (H,), T), "inside_widths of a duct must be one finite length above 0 m or more"),
        (lambda: Duct((W,), (H, 0.0), T), "inside_heights of a duct must be"),
        (lambda: ISection(0.2, 0.1, 0.1, 0.01), "web of an I section must be below 0.1 m, its width: 0.1"),
        (lambda: ISection(0.2, 0.1, 0.01, 0.1), "flange of an I section must be below 0.1 m"),
        (lambda: LSection(0.1, 0.1, 0.01, 0.1), "flange of an L section must be below 0.1 m"),
    ],
)
def test_wrong_dimensions_are_named_with_what_would_be_right(make, words: str):
    with pytest.raises(ValueError, match=words):
        make()


SHAPES: list[Shape] = [
    Disc((0.1, 0.2), 0.05),
    Tube((0.1, -0.2), 0.05, 0.06),
    wall_along([(0, 0), (0.1, 0), (0.1, 0.1)], 0.01),
    PROFILES["compartments"].solids()[""],
    Polygon(((0, 0), (0.1, 0), (0, 0.1)), (((0.02, 0.02), (0.04, 0.02), (0.02, 0.04)),)),
]


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: type(shape).__name__)
@pytest.mark.parametrize(
    ("quarters", "x_axis"), [(0, (1, 0)), (1, (0, 1)), (2, (-1, 0)), (3, (0, -1)), (-3, (0, 1)), (4, (1, 0))]
)
def test_quarter_turns_are_exact(shape: Shape, quarters: int, x_axis: Point):
    turned = placed(shape, angle=quarters * math.pi / 2)
    assert type(turned) is type(shape)
    turn = np.array([[x_axis[0], -x_axis[1]], [x_axis[1], x_axis[0]]])
    if isinstance(shape, Disc | Tube):
        assert isinstance(turned, Disc | Tube)
        assert np.array_equal(turned.centre, turn @ shape.centre)
    else:
        assert np.array_equal(boundary_loops(turned)[0], boundary_loops(shape)[0] @ turn.T)


@given(st.sampled_from(SHAPES), st.floats(-10, 10), st.floats(-1, 1), st.floats(-1, 1))
def test_placing_keeps_area_and_distances(shape: Shape, angle: float, x: float, y: float):
    moved = placed(shape, (x, y), angle)
    assert polygon(moved).area == pytest.approx(polygon(shape).area, rel=1e-9)
    probe = Disc((0.5, 0.5), 0.01)
    assert clearance(moved, placed(probe, (x, y), angle)) == pytest.approx(clearance(shape, probe), abs=1e-12)
    there_and_back = placed(placed(moved, (-x, -y)), angle=-angle)
    centre, back = (np.array(polygon(s).centroid.coords[0]) for s in (shape, there_and_back))
    assert back == pytest.approx(centre, abs=1e-12)


def test_an_angle_or_origin_that_is_not_finite_is_refused():
    with pytest.raises(ValueError, match="must be finite"):
        placed(SHAPES[0], angle=math.nan)
    with pytest.raises(ValueError, match="must be finite"):
        placed(SHAPES[0], (math.inf, 0.0))
