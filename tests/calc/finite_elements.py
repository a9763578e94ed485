"""An axisymmetric finite-element model of a ring pressed into metal: a check from outside.

Lengths in mm, stresses in MPa. Ring and head are meshed apart with matching nodes on the joint,
where the head's radius less the ring's is pushed to half the interference, without friction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import block_diag, coo_matrix
from scipy.sparse.linalg import spsolve
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, FacetBasis, MeshQuad


@dataclass(frozen=True)
class Solid:
    """A material: modulus in MPa and Poisson's ratio."""

    e: float
    nu: float

    def stress(self, strain):
        """Radial, axial and hoop stress of those strains."""
        lame = self.e * self.nu / ((1 + self.nu) * (1 - 2 * self.nu))
        shear = self.e / (2 * (1 + self.nu))
        volume = lame * sum(strain)
        return tuple(volume + 2 * shear * one for one in strain)


@dataclass(frozen=True)
class Found:
    """Mean pressure on the joint, mean hoop stress of the head's bore and of the ring's bore."""

    pressure: float
    head_bore_hoop: float
    ring_bore_hoop: float
    unknowns: int


def stiffness(basis: Basis, solid: Solid):
    shear = solid.e / (2 * (1 + solid.nu))

    @BilinearForm
    def form(u, v, w):
        r = w.x[0]
        of_u = (u.grad[0, 0], u.grad[1, 1], u[0] / r)
        of_v = (v.grad[0, 0], v.grad[1, 1], v[0] / r)
        normal = sum(s * e for s, e in zip(solid.stress(of_u), of_v, strict=True))
        slide = (u.grad[0, 1] + u.grad[1, 0]) * (v.grad[0, 1] + v.grad[1, 0])
        return (normal + shear * slide) * r

    return form.assemble(basis)


def mean_hoop(mesh: MeshQuad, element, facets, u, solid: Solid) -> float:
    """Mean hoop stress along a boundary."""
    basis = FacetBasis(mesh, element, facets=facets, intorder=4)
    field = basis.interpolate(u)
    r = basis.global_coordinates()[0]
    strains = (field.grad[0, 0], field.grad[1, 1], field[0] / r)
    return float((solid.stress(strains)[2] * basis.dx).sum() / basis.dx.sum())


def pressed(
    *,
    ring: Solid,
    head: Solid,
    ring_id: float,
    ring_od: float,
    head_od: float,
    height: float,
    interference: float,
    block: float | None = None,
    cells: tuple[int, int, int] = (6, 24, 12),
) -> Found:
    """A ring in a head of its own height, or in a counterbore of a `block` with a port below."""
    a, b, c = ring_id / 2, ring_od / 2, head_od / 2
    across_ring, across_head, along = cells
    element = ElementVector(ElementQuad2())
    # finer toward the joint, where the stress changes
    in_head = b + (c - b) * np.linspace(0, 1, across_head + 1) ** 1.5
    up = np.linspace(0, height, along + 1)
    ring_mesh = MeshQuad.init_tensor(np.linspace(a, b, across_ring + 1), up)
    if block is None:
        head_mesh = MeshQuad.init_tensor(in_head, up)
    else:
        below = -(block - height) * np.linspace(0, 1, along + 1)[:0:-1] ** 1.5
        whole = MeshQuad.init_tensor(
            np.concatenate([np.linspace(a, b, across_ring + 1)[:-1], in_head]),
            np.concatenate([below, up]),
        )
        centre = whole.p[:, whole.t].mean(axis=1)
        head_mesh = whole.remove_elements(np.nonzero((centre[0] < b) & (centre[1] > 0))[0])

    joints, bases = [], []
    for mesh in (ring_mesh, head_mesh):
        basis = Basis(mesh, element)
        at = basis.doflocs
        on = np.nonzero((np.abs(at[0] - b) < 1e-9) & (at[1] > -1e-9))[0]
        radial = on[np.isin(on, radial_dofs(basis))]
        joints.append(radial[np.argsort(at[1, radial])])
        bases.append(basis)
    ring_basis, head_basis = bases
    n_ring, n = ring_basis.N, ring_basis.N + head_basis.N
    k = block_diag([stiffness(ring_basis, ring), stiffness(head_basis, head)]).tocsr()

    # every unknown is itself, but the head's on the joint: they are the ring's + δ/2
    source = np.arange(n)
    shift = np.zeros(n)
    source[n_ring + joints[1]] = joints[0]
    shift[n_ring + joints[1]] = interference / 2
    held = [axial_dof(ring_basis), n_ring + axial_dof(head_basis)]
    free = np.setdiff1d(np.unique(source), held)
    column = np.full(n, -1)
    column[free] = np.arange(len(free))
    rows = np.nonzero(column[source] >= 0)[0]
    t = coo_matrix((np.ones(len(rows)), (rows, column[source][rows])), (n, len(free))).tocsr()
    u = t @ spsolve((t.T @ k @ t).tocsc(), -(t.T @ (k @ shift))) + shift

    push = (k @ u)[joints[0]].sum()
    u_ring, u_head = u[:n_ring], u[n_ring:]
    return Found(
        pressure=float(-push / (b * height)),
        head_bore_hoop=mean_hoop(
            head_mesh,
            element,
            head_mesh.facets_satisfying(
                lambda x: (np.abs(x[0] - b) < 1e-9) & (x[1] > 0), boundaries_only=True
            ),
            u_head,
            head,
        ),
        ring_bore_hoop=mean_hoop(
            ring_mesh,
            element,
            ring_mesh.facets_satisfying(lambda x: np.abs(x[0] - a) < 1e-9, boundaries_only=True),
            u_ring,
            ring,
        ),
        unknowns=len(free),
    )


def radial_dofs(basis: Basis) -> np.ndarray:
    return np.concatenate(
        [basis.dofs.nodal_dofs[0], basis.dofs.facet_dofs[0], basis.dofs.interior_dofs[0]]
    )


def axial_dof(basis: Basis) -> int:
    """One axial unknown, held so that the part does not float along its axis."""
    return int(basis.dofs.nodal_dofs[1][0])
