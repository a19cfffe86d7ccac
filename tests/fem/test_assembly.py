"""The matrices of a mesh beside those that a finite-element library assembles on the same curved triangles."""

import numpy as np
import pytest
import skfem
from scipy import sparse
from skfem.helpers import dot, grad

from fem.assembly import Assembly, assemble
from fem.mesh import RegionMesh
from geometry.meshing import mesh_section
from geometry.shapes import Disc, Region, Section, Tube
from geometry.sizing import MeshSizes

RANDOM = np.random.default_rng(3)


@pytest.fixture(scope="module")
def made() -> Assembly:
    """Of a disc within a tube, conducting both."""
    solids = Section((Region("core", Disc((0.0, 0.0), 0.01)), Region("pipe", Tube((0.005, 0.0), 0.02, 0.022))))
    mesh = mesh_section(solids, MeshSizes(fineness=0.5))
    return assemble(mesh, np.array([0.0, 5e7, 7e6]), ((1,), (2,)), (), 100.0)


@pytest.fixture(scope="module")
def library(made: Assembly) -> tuple[skfem.CellBasis, sparse.csr_matrix]:
    """The library's basis, and the matrix from its unknowns to the nodes of the mesh."""
    mesh: RegionMesh = made.mesh
    used, corners = np.unique(mesh.triangles[:, :3], return_inverse=True)
    straight = skfem.MeshTri1(mesh.points[used].T, corners.reshape(-1, 3).T, sort_t=False)
    node_of = np.concatenate([used, np.zeros(straight.nfacets, dtype=np.int64)])
    node_of[len(used) + straight.t2f.T] = mesh.triangles[:, 3:]
    basis = skfem.CellBasis(skfem.MeshTri2(mesh.points[node_of].T, straight.t), skfem.ElementTriP2(), intorder=4)
    size = len(node_of)
    return basis, sparse.csr_matrix((np.ones(size), (node_of, np.arange(size))), shape=(size, size))


def same(ours: sparse.csr_matrix, theirs: sparse.csr_matrix) -> bool:
    """Equal up to rounding."""
    return bool(abs(ours - theirs).max() < 1e-12 * abs(theirs).max())


@pytest.mark.parametrize("complex_part", [0.0, 0.3])
@pytest.mark.parametrize("points", [1, 6])
def test_stiffness_is_that_of_the_library(made, library, complex_part, points):
    basis, numbering = library
    nu = RANDOM.uniform(1, 3, (len(made.mesh.triangles), points)) * (1 + 1j * complex_part)
    form = skfem.BilinearForm(lambda a, v, w: w["nu"] * dot(grad(a), grad(v)), dtype=np.complex128)
    theirs = form.assemble(basis, nu=np.broadcast_to(nu, basis.dx.shape))
    assert same(made.stiffness(nu[:, 0] if points == 1 else nu), numbering @ theirs @ numbering.T)


def test_mass_and_weights_are_those_of_the_library(made, library):
    basis, numbering = library
    sigma = np.broadcast_to(np.array([0.0, 5e7, 7e6])[made.mesh.regions][:, None], basis.dx.shape)
    theirs = skfem.BilinearForm(lambda a, v, w: w["sigma"] * a * v).assemble(basis, sigma=sigma)
    assert same(made.mass, numbering @ theirs @ numbering.T)
    np.testing.assert_allclose(made.weights, basis.dx, rtol=1e-12)
    np.testing.assert_allclose(made.abscissae, basis.X.T)
    np.testing.assert_allclose(
        made.part_vectors.sum(axis=0), [5e7 * np.pi * 1e-4, 7e6 * np.pi * 8.4e-5], rtol=1e-3
    )  # arcs of few parabolas
