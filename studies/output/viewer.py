"""field.vtu: the mesh with A, B, J and loss density, for general-purpose viewers."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from fem.polarisation import resultant
from studies.answers.answers import Answers


def write_field(result: Answers, path: Path) -> None:
    """Write the finest mesh with its fields; phasors as real and imaginary part, rms, SI units in the names."""
    import meshio

    mesh, elements = result.fields.mesh, result.element_fields
    potential = result.fields.potential(result.drive.voltages)
    field = elements.flux_density
    cell_data = {
        "region": mesh.regions.astype(np.int32),
        "b_rms_t": resultant(field),
        "bx_re_t": field[:, 0].real,
        "bx_im_t": field[:, 0].imag,
        "by_re_t": field[:, 1].real,
        "by_im_t": field[:, 1].imag,
        "j_re_a_per_m2": elements.current_density.real,
        "j_im_a_per_m2": elements.current_density.imag,
        "loss_density_w_per_m3": elements.loss_density,
    }
    meshio.Mesh(
        np.column_stack([mesh.points, np.zeros(len(mesh.points))]),
        [("triangle6", mesh.triangles)],
        point_data={"a_re_wb_per_m": potential.real, "a_im_wb_per_m": potential.imag},
        cell_data={name: [np.ascontiguousarray(values)] for name, values in cell_data.items()},
    ).write(path, file_format="vtu", binary=True, compression="zlib")
