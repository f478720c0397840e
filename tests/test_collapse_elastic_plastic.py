"""An elastic-plastic finite-element run of our own must end between the certified bounds.

Six-node triangles in axisymmetry, von Mises with radial return and no hardening, small strains,
frictionless contact by penalty. It shares the meshes with the bounds and nothing else: other
elements, other unknowns, another theory (incremental instead of limit analysis).
"""

import numpy as np
import pytest
from scipy import sparse
from scipy.sparse import csgraph
from scipy.sparse.linalg import splu

from thread_repair.strength.collapse.bounds import boss_bounds
from thread_repair.strength.collapse.mesh import Join, Side
from thread_repair.strength.collapse.profile import Coil, Density, ThreadPair, boss_mesh

pytestmark = pytest.mark.slow

YOUNG, POISSON = 500.0, 0.3  # over the flow stress
PENALTY = 200.0  # x Young / pitch
ORIGINAL = {
    "screw_major": 8.0,
    "hole_minor": 6.647,
    "hole_pitch_diameter": 7.188,
    "hole_major": 8.0,
    "pitch": 1.25,
}
REPAIRED = {
    "screw_major": 9.624,
    "hole_minor": 8.271,
    "hole_pitch_diameter": 8.812,
    "hole_major": 9.624,
    "pitch": 1.25,
}


def wire(flow_ratio):
    return Coil(
        screw_major=8.0,
        inner=6.647,
        middle=8.0,
        outer=9.624,
        width=0.875 * 1.25,
        flow_ratio=flow_ratio,
    )


class Model:
    """Quadratic elements on a mesh; the driver's displacement is what is prescribed."""

    def __init__(self, mesh, pitch):
        self.mesh, self.stiffness = mesh, PENALTY * YOUNG / pitch
        t = len(mesh.triangles)
        # A node per corner, merged where bodies are whole (also over the seam of a cell), and
        # one per edge, merged likewise.
        corner = np.arange(3 * t).reshape(t, 3)
        middle = 3 * t + np.arange(3 * t).reshape(t, 3)  # of edge i: vertices i, i + 1
        whole = mesh.joins[mesh.join_kind == Join.WHOLE]
        pairs = [
            np.stack((corner[whole[:, 0], whole[:, e]], corner[whole[:, 3], whole[:, 3 + e]]))
            for e in (1, 2)
        ]
        pairs.append(
            np.stack((self._middle(middle, whole[:, :3]), self._middle(middle, whole[:, 3:])))
        )
        a, b = np.concatenate(pairs, axis=1)
        graph = sparse.coo_matrix((np.ones(len(a)), (a, b)), shape=(6 * t, 6 * t))
        count, group = csgraph.connected_components(graph, directed=False)
        self.n = 2 * count
        self.elements = np.concatenate((group[corner], group[middle]), axis=1)
        self.middle = group[middle]
        self.corner = group[corner]
        self._integrate()
        self.plastic = np.zeros((t, 3, 4))
        self._contacts()
        self._supports()

    @staticmethod
    def _middle(middle, edges):
        i, j = edges[:, 1], edges[:, 2]
        return middle[edges[:, 0], np.where((j - i) % 3 == 1, i, j)]

    def _integrate(self):
        x = self.mesh.corners
        t = len(x)
        points = np.array([[1, 1, 4], [4, 1, 1], [1, 4, 1]]) / 6
        edge1, edge2 = x[:, 1] - x[:, 0], x[:, 2] - x[:, 0]
        double = edge1[:, 0] * edge2[:, 1] - edge1[:, 1] * edge2[:, 0]
        slope = np.empty((t, 3, 2))
        for i in range(3):
            d = x[:, (i + 2) % 3] - x[:, (i + 1) % 3]
            slope[:, i] = np.stack((-d[:, 1], d[:, 0]), axis=1) / double[:, None]
        self.strain = np.zeros((t, 3, 4, 12))
        radius = np.einsum("gv,tv->tg", points, x[..., 0])
        for g, p in enumerate(points):
            value = np.concatenate((p * (2 * p - 1), [4 * p[i] * p[(i + 1) % 3] for i in range(3)]))
            grad = np.empty((t, 6, 2))
            for i in range(3):
                k = (i + 1) % 3
                grad[:, i] = (4 * p[i] - 1) * slope[:, i]
                grad[:, 3 + i] = 4 * (p[i] * slope[:, k] + p[k] * slope[:, i])
            b = self.strain[:, g]
            b[:, 0, 0::2] = grad[..., 0]
            b[:, 1, 1::2] = grad[..., 1]
            b[:, 2, 0::2] = value / radius[:, g, None]
            b[:, 3, 0::2], b[:, 3, 1::2] = grad[..., 1], grad[..., 0]
        self.weight = 2 * np.pi * radius * double[:, None] / 6
        self.dofs = np.stack((2 * self.elements, 2 * self.elements + 1), axis=-1).reshape(t, 12)

    def _edge_nodes(self, edges):
        ends = [self.corner[edges[:, 0], edges[:, e]] for e in (1, 2)]
        return np.stack((ends[0], self._middle(self.middle, edges), ends[1]), axis=1)

    def _contacts(self):
        """Rows: normal gap at the edges' integration points = matrix u + speed x driver."""
        mesh, rows, cols, vals, speed, weight = self.mesh, [], [], [], [], []
        self.drives = []
        touching = mesh.joins[mesh.join_kind == Join.CONTACT]
        groups = [
            (mesh.sides[mesh.side_kind == Side.DRIVER], None, 1.0),
            (mesh.sides[mesh.side_kind == Side.PLATE], None, 0.0),
            (touching[:, :3], touching[:, 3:], 0.0),
        ]
        count = 0
        for edges, others, driven in groups:
            x = mesh.corners
            start, end = x[edges[:, 0], edges[:, 1]], x[edges[:, 0], edges[:, 2]]
            along = end - start
            length = np.hypot(*along.T)
            normal = np.stack((along[:, 1], -along[:, 0]), axis=1) / length[:, None]
            third = x[edges[:, 0], 3 - edges[:, 1] - edges[:, 2]]
            normal *= np.where(((third - start) * normal).sum(1) > 0, -1, 1)[:, None]
            nodes = self._edge_nodes(edges)
            for s, w in (
                (0.5 - np.sqrt(0.15), 5 / 18),
                (0.5, 8 / 18),
                (0.5 + np.sqrt(0.15), 5 / 18),
            ):
                shape = np.array([(1 - s) * (1 - 2 * s), 4 * s * (1 - s), s * (2 * s - 1)])
                row = count + np.arange(len(edges))
                for side, sign in ((nodes, 1.0), (None, -1.0)):
                    if side is None:
                        if others is None:
                            continue
                        side = self._edge_nodes(others)
                    for k in range(3):
                        for c in range(2):
                            rows.append(row)
                            cols.append(2 * side[:, k] + c)
                            vals.append(sign * shape[k] * normal[:, c])
                speed.append(-driven * normal[:, 1])  # driver moves along +z
                radius = (1 - s) * start[:, 0] + s * end[:, 0]
                weight.append(2 * np.pi * radius * length * w)
                self.drives.append(np.full(len(edges), driven) * -normal[:, 1])
                count += len(edges)
        self.gap = sparse.csr_matrix(
            (np.concatenate(vals), (np.concatenate(rows), np.concatenate(cols))),
            shape=(count, self.n),
        )
        self.speed, self.contact_weight = np.concatenate(speed), np.concatenate(weight)
        self.drives = np.concatenate(self.drives)

    def _supports(self):
        mesh = self.mesh
        fixed = np.zeros(self.n, dtype=bool)
        held = self._edge_nodes(mesh.sides[mesh.side_kind == Side.HELD])
        fixed[2 * held] = fixed[2 * held + 1] = True
        fixed[2 * self._edge_nodes(mesh.sides[mesh.side_kind == Side.ROLLER]) + 1] = True
        self.free = np.flatnonzero(~fixed)

    def stress(self, u):
        """Radial return; stress, tangent and plastic strain at the integration points."""
        shear, bulk = YOUNG / 2 / (1 + POISSON), YOUNG / 3 / (1 - 2 * POISSON)
        one = np.array([1.0, 1, 1, 0])
        elastic = np.einsum("tgik,tk->tgi", self.strain, u[self.dofs]) - self.plastic
        volume = elastic[..., :3].sum(-1)
        deviator = 2 * shear * (elastic - volume[..., None] / 3 * one)
        deviator[..., 3] /= 2
        norm = np.sqrt((deviator[..., :3] ** 2).sum(-1) + 2 * deviator[..., 3] ** 2)
        limit = np.sqrt(2 / 3) * self.mesh.flow[:, None]
        share = np.where(norm > limit, limit / np.maximum(norm, 1e-300), 1.0)
        direction = deviator / np.maximum(norm, 1e-300)[..., None]
        flow = (1 - share)[..., None] * deviator / (2 * shear)
        flow[..., 3] *= 2
        stress = share[..., None] * deviator + bulk * volume[..., None] * one
        projector = np.diag([1, 1, 1, 0.5]) - np.outer(one, one) / 3
        tangent = (
            bulk * np.outer(one, one)
            + 2 * shear * share[..., None, None] * projector
            - 2
            * shear
            * np.where(share < 1, share, 0.0)[..., None, None]
            * direction[..., :, None]
            * direction[..., None, :]
        )
        return stress, tangent, self.plastic + flow

    def step(self, u, travel):
        """Solve for a travel of the driver; return displacements and load, or None."""
        for _ in range(15):
            stress, tangent, plastic = self.stress(u)
            inner = np.einsum("tgik,tgi->tk", self.strain, self.weight[..., None] * stress)
            closing = self.gap @ u + self.speed * travel  # positive: overlap
            pressed = closing > 0
            force = self.stiffness * self.contact_weight * np.where(pressed, closing, 0.0)
            residual = self.gap.T @ force
            np.add.at(residual, self.dofs, inner)
            load = float((force * self.drives).sum())
            if np.abs(residual[self.free]).max() < 1e-7 * max(load, 1e-12):
                break
            forces = self.weight[..., None, None] * (tangent @ self.strain)
            whole = (len(forces), 12, 12)  # strains of three points, and unknowns
            element = self.strain.reshape(whole).swapaxes(1, 2) @ forces.reshape(whole)
            place = np.broadcast_to(self.dofs[:, :, None], element.shape)
            matrix = sparse.csr_matrix(
                (element.ravel(), (place.ravel(), np.swapaxes(place, 1, 2).ravel())),
                shape=(self.n, self.n),
            )
            spring = sparse.diags(self.stiffness * self.contact_weight * pressed)
            matrix = (matrix + self.gap.T @ spring @ self.gap)[self.free][:, self.free]
            matrix = matrix + 1e-9 * YOUNG * sparse.identity(len(self.free))
            u = u.copy()
            # symmetric and positive: an order for such matrices, and no search for pivots
            factor = splu(
                matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0,
                options={"SymmetricMode": True},
            )  # fmt: skip
            u[self.free] -= factor.solve(residual[self.free])
        else:
            return None
        self.plastic = plastic
        return u, load

    def limit(self, length):
        """Pull on until the stiffness has fallen to a five-hundredth; return the load then."""
        u, before = np.zeros(self.n), np.zeros(self.n)
        travel = last = 0.0
        step = advance = 0.5 * length / YOUNG
        first = None
        for _ in range(400):
            guess = u + (u - before) * step / advance if first else u
            solved = self.step(guess, travel + step)
            if solved is None:
                step /= 2
                continue
            before, (u, load) = u, solved
            travel, advance = travel + step, step
            stiffness = (load - last) / step
            first, last = first or stiffness, load
            if stiffness < first / 500:
                return load
            step = min(1.8 * step, 0.35 * travel)
        raise AssertionError("no limit load")


def assert_between(load, found, above):
    # Continuous elements meet the limit load from above, by as much as the mesh beside the shear
    # cylinder is coarse.
    assert found.lower <= load <= (1 + above) * found.upper, (
        found.lower / found.formula, load / found.formula, found.upper / found.formula,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("sizes", "coil", "support", "pitches"),
    [
        (ORIGINAL, None, "base", 4),  # the closest: sees an upper bound that is 2 % low
        (REPAIRED, wire(4.0), "face", 2),
        (REPAIRED, wire(2.0), "base", 2),
    ],
    ids=["original-base", "wire-face", "soft wire-base"],
)
def test_thin_boss(sizes, coil, support, pitches):
    """A boss of 13 mm; in a thick wall test_finite_elements.py pulls both holes."""
    density = Density(ridge_rows=4, ridge_columns=4, wall_columns=9, growth=1.5)
    mesh = boss_mesh(
        ThreadPair(**sizes),
        13.0,
        pitches,
        density,
        base=Side.ROLLER if support == "base" else Side.FREE,
        face=Side.PLATE if support == "face" else Side.FREE,
        coil=coil,
    )
    found = boss_bounds(**sizes, n_pitches=pitches, boss_diameter=13.0, support=support, coil=coil)
    assert_between(Model(mesh, 1.25).limit(pitches * 1.25), found, above=0.005)
