"""field.vtu: the mesh with A, B, J and loss density, for general-purpose viewers.

The XML format of unstructured grids, which is published with the Visualization Toolkit (vtk.org) [C]: arrays in blocks
of zlib, in base64, each with the number of its blocks, their size, that of the last and their sizes when packed before.
"""

from __future__ import annotations

import zlib
from base64 import b64encode
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Complexes, Floats
from fem.polarisation import resultant
from studies.answers.answers import Answers

Array = NDArray[np.float64] | NDArray[np.integer]
BLOCK = 1 << 15
"""Size of a block before it is packed. [byte]"""
COMPRESSION = 1
"""Level of zlib: half the time of its default, and the file one per cent larger."""
TYPES = {"f8": "Float64", "i4": "Int32", "i8": "Int64", "u1": "UInt8"}
"""Names of NumPy's types in the format."""
CURVED_TRIANGLE = 22
"""The format's number of a triangle with six nodes."""


def write_field(result: Answers, path: Path) -> None:
    """Write the finest mesh with its fields; phasors as real and imaginary part, rms, SI units in the names."""
    mesh, elements = result.fields.mesh, result.element_fields
    field, current = elements.flux_density, elements.current_density
    count = len(mesh.triangles)
    of_cells: dict[str, Array] = {
        "region": mesh.regions.astype(np.int32),
        "b_rms_t": resultant(field),
        **_parts("bx", "t", field[:, 0]),
        **_parts("by", "t", field[:, 1]),
        **_parts("j", "a_per_m2", current),
        "loss_density_w_per_m3": elements.loss_density,
    }
    groups: Mapping[str, Mapping[str, Array]] = {
        "Points": {"Points": np.column_stack([mesh.points, np.zeros(len(mesh.points))])},
        "Cells": {
            "connectivity": mesh.triangles.ravel(),
            "offsets": 6 * np.arange(1, count + 1),
            "types": np.full(count, CURVED_TRIANGLE, dtype=np.uint8),
        },
        "PointData": _parts("a", "wb_per_m", result.fields.potential(result.drive.voltages)),
        "CellData": of_cells,
    }
    with path.open("w", encoding="ascii") as file:
        file.write(
            '<?xml version="1.0"?>\n<VTKFile type="UnstructuredGrid" version="0.1" byte_order="LittleEndian" '
            'header_type="UInt32" compressor="vtkZLibDataCompressor">\n<UnstructuredGrid>\n'
            f'<Piece NumberOfPoints="{len(mesh.points)}" NumberOfCells="{count}">\n'
        )
        for group, arrays in groups.items():
            file.write(f"<{group}>\n{''.join(_array(*pair) for pair in arrays.items())}</{group}>\n")
        file.write("</Piece>\n</UnstructuredGrid>\n</VTKFile>\n")


def _parts(name: str, unit: str, phasors: Complexes) -> dict[str, Floats]:
    """Real and imaginary part of phasors, with their names."""
    return {f"{name}_re_{unit}": phasors.real, f"{name}_im_{unit}": phasors.imag}


def _array(name: str, values: Array) -> str:
    """One array of the file."""
    data = values.astype(values.dtype.newbyteorder("<"), copy=False).tobytes()
    blocks = [data[k : k + BLOCK] for k in range(0, len(data), BLOCK)]
    packed = [zlib.compress(block, COMPRESSION) for block in blocks]
    head = np.array([len(blocks), BLOCK, len(blocks[-1]), *(len(block) for block in packed)], dtype="<u4")
    components = f' NumberOfComponents="{values.shape[1]}"' if values.ndim == 2 else ""
    text = (b64encode(head.tobytes()) + b64encode(b"".join(packed))).decode("ascii")
    kind = TYPES[values.dtype.str[1:]]
    return f'<DataArray type="{kind}" Name="{name}"{components} format="binary">\n{text}\n</DataArray>\n'
