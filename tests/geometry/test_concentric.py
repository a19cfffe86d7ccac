"""Concentric meshes: bands and sectors have the areas that they should."""

import numpy as np
import pytest

from geometry.concentric import Band, concentric_mesh


def test_thin_band_keeps_its_area():
    # eight layers of 0.06 mm at 25 mm with 64 vertices: the sagitta of an edge is thicker than a layer
    bands = [Band(0.025, 6, "steel"), Band(0.0255, 8, "wall"), Band(0.05, 6, "air")]
    areas = concentric_mesh(bands, 64).region_areas()
    theta = 2 * np.pi / 64
    assert areas["wall"] == pytest.approx(np.pi * (0.0255**2 - 0.025**2), rel=theta**4 / 480)
    assert areas["steel"] == pytest.approx(np.pi * 0.025**2, rel=theta**4 / 480)


def test_sectors_share_a_band():
    sectors = ((0.0, np.pi / 4, "east"), (np.pi, 1.25 * np.pi, "west"))
    areas = concentric_mesh([Band(0.01, 3, "core"), Band(0.02, 4, "slots", sectors), Band(0.03, 3, "air")], 32)
    eighth = np.pi * (0.02**2 - 0.01**2) / 8
    for name in ("east", "west"):
        assert areas.region_areas()[name] == pytest.approx(eighth, rel=1e-4)  # theta^4/480 of the arcs is 3e-6


def test_radii_must_rise_and_end_in_air():
    with pytest.raises(ValueError, match="must rise"):
        concentric_mesh([Band(0.02, 3, "a"), Band(0.01, 3, "air")], 32)
    with pytest.raises(ValueError, match="must be air"):
        concentric_mesh([Band(0.02, 3, "a")], 32)
