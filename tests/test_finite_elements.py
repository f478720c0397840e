"""A pulled thread by a general finite-element library, against bounds, sharing and load-slip curve.

scikit-fem 12 (BSD; T. Gustafsson and G. D. McBain, J. Open Source Softw. 5 (52), 2020, 2369; known
from memory) gives the element, its shape functions and quadrature. Nothing here is shared with the
package: other meshes (quadrilaterals), other elements (8 nodes, 2 x 2 points, which do not lock in
plastic flow), another theory (total strains: a nonlinear elastic body with the stress-strain curve
of the parent, small strains, which has the same limit load as plastic flow).
"""

from functools import cache

import numpy as np
import pytest
import skfem
from scipy import sparse
from scipy.sparse.linalg import splu

from thread_repair.strength.collapse.bounds import boss_bounds, cell_bounds
from thread_repair.strength.sharing.compliance import line_compliance, thread_compliance
from thread_repair.strength.sharing.distribution import share
from thread_repair.strength.sharing.load_slip import ThreadCurve, band_width, load_slip

pytestmark = pytest.mark.slow

#: M8 x 1.25, basic sizes, tapped and as an insert hole; mm.
ORIGINAL = {"crest": 7.76, "minor": 6.912, "pitch_diameter": 7.348, "major": 8.0, "pitch": 1.25}
REPAIRED = {"crest": 9.384, "minor": 8.536, "pitch_diameter": 8.972, "major": 9.624, "pitch": 1.25}
SLOPE = np.tan(np.radians(30))
POISSON = 0.3


def bounded(sizes):
    return {
        "screw_major": sizes["crest"], "hole_minor": sizes["minor"], "hole_major": sizes["major"],
        "hole_pitch_diameter": sizes["pitch_diameter"], "pitch": sizes["pitch"],
    }  # fmt: skip


def grid(radii, low, high, parts):
    """Quadrilaterals between two lines over the radii."""
    z = low[:, None] + (high - low)[:, None] * parts
    r = np.broadcast_to(radii[:, None], z.shape)
    at = np.arange(z.size).reshape(z.shape)
    quads = np.stack([at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]]).reshape(4, -1)
    return np.stack([r.ravel(), z.ravel()]), quads


def joined(pieces, *, merge=True):
    """One mesh of several; nodes at one place are one, unless bodies shall only touch."""
    shift = np.cumsum([0, *(p.shape[1] for p, _ in pieces)])
    p = np.concatenate([p for p, _ in pieces], axis=1)
    t = np.concatenate([t + s for (_, t), s in zip(pieces, shift[:-1], strict=True)], axis=1)
    if merge:
        _, first, where = np.unique(p.round(7), axis=1, return_index=True, return_inverse=True)
        p, t = p[:, first], where.ravel()[t]
    return p, t


def graded(start, end, first, growth):
    """Points from a first step that grows; the other way round where end < start."""
    n = int(np.ceil(np.log1p(abs(end - start) / first * (growth - 1)) / np.log(growth)))
    steps = growth ** np.arange(max(n, 1))
    return start + (end - start) * np.concatenate([[0.0], np.cumsum(steps) / steps.sum()])


def half_ridge(radius, pitch_diameter, pitch):
    return (pitch / 2 + (2 * radius - pitch_diameter) * SLOPE) / 2


def parent(
    *,
    outer,
    ridges,
    rows,
    columns,
    first,
    growth,
    crest,
    minor,
    pitch_diameter,
    major,
    pitch,
    base=0,
):
    """Ridges at heights 0, P, ...; height grows in the direction of the pull; `base` bare pitches."""
    # A thin column behind the contact, where the thread shears: both its ends are free.
    touched = np.linspace(minor / 2, crest / 2, columns + 1)
    ridge = np.concatenate([touched, graded(crest / 2, major / 2, first, growth)[1:]])
    wall = graded(major / 2, outer / 2, (major - minor) / 4, growth)
    half = half_ridge(ridge, pitch_diameter, pitch)
    parts = np.linspace(0, 1, rows + 1)
    heights = np.concatenate([[-pitch / 2], half[-1] * (2 * parts - 1), [pitch / 2]]) / pitch + 0.5
    level = np.full(len(wall), pitch / 2)
    ring = [grid(wall, k * pitch - level, k * pitch + level, heights) for k in range(-base, ridges)]
    return joined(
        [*ring, *(grid(ridge, k * pitch - half, k * pitch + half, parts) for k in range(ridges))]
    )


class Solid:
    """Axisymmetric bodies, each with Young's modulus and a curve of stress over strain."""

    def __init__(self, bodies, materials):
        mesh = skfem.MeshQuad(*joined(bodies, merge=False))
        element = skfem.ElementVector(skfem.ElementQuadS2())
        self.mesh, self.basis = mesh, skfem.Basis(mesh, element, intorder=3)
        self.r, self.z = self.basis.doflocs
        self.part = np.zeros(self.basis.N, int)  # 0 radial, 1 axial
        for dofs in (self.basis.nodal_dofs, self.basis.facet_dofs):
            self.part[dofs[1]] = 1
        radius = np.asarray(self.basis.global_coordinates())[0]
        self.weight = 2 * np.pi * radius * self.basis.dx
        strains = []
        for (shape,) in self.basis.basis:
            g = shape.grad
            zero = np.zeros_like(radius)
            strains.append(
                np.broadcast_arrays(
                    g[0, 0], g[1, 1], shape.value[0] / radius, (g[0, 1] + g[1, 0]) / 2**0.5, zero
                )[:4]
            )
        self.strain = np.array(strains)  # shape function, component, element, point
        self.materials = (
            np.repeat(np.arange(len(bodies)), [quads.shape[1] for _, quads in bodies]),
            materials,
        )
        self.dofs = self.basis.element_dofs

    def resist(self, u):
        """Inner forces and tangent."""
        strain = np.einsum("kieq,ke->ieq", self.strain, u[self.dofs])
        volume = strain[:3].sum(axis=0)
        one = np.array([1.0, 1, 1, 0])
        deviator = strain - one[:, None, None] * volume / 3
        equivalent = np.maximum(np.sqrt(2 / 3 * (deviator**2).sum(axis=0)), 1e-14)
        bulk, stress, slope = np.empty((3, *volume.shape))
        of, materials = self.materials
        for k, (young, curve) in enumerate(materials):
            mine = of == k
            bulk[mine] = young / 3 / (1 - 2 * POISSON)
            stress[mine], slope[mine] = curve(equivalent[mine])
        secant = stress / equivalent
        forces = bulk * volume * one[:, None, None] + 2 / 3 * secant * deviator
        turn = 4 / 9 * (slope - secant) / equivalent**2
        plane = np.eye(4) - np.outer(one, one) / 3
        tangent = (
            np.multiply.outer(np.outer(one, one), bulk)
            + np.multiply.outer(plane, 2 / 3 * secant)
            + turn * deviator[:, None] * deviator[None]
        )
        inner = np.einsum("kieq,ieq,eq->ke", self.strain, forces, self.weight)
        matrix = np.einsum(
            "kieq,ijeq,ljeq,eq->ekl", self.strain, tangent, self.strain, self.weight, optimize=True
        )
        residual = np.zeros(self.basis.N)
        np.add.at(residual, self.dofs, inner)
        place = np.broadcast_to(self.dofs.T[:, :, None], matrix.shape)
        at = (place.ravel(), np.swapaxes(place, 1, 2).ravel())
        return residual, sparse.csr_matrix((matrix.ravel(), at), (len(u), len(u)))


class Flanks:
    """The lower flanks of a parent, pushed without friction by a rigid screw that only pushes."""

    def __init__(self, solid, sizes, stiffness):
        pitch = sizes["pitch"]

        def on_flank(x):
            below = -half_ridge(x[0], sizes["pitch_diameter"], pitch)
            off = (x[1] - below) / pitch
            return (np.abs(off - np.round(off)) < 1e-6) & (x[0] < sizes["crest"] / 2)

        facets = solid.mesh.facets_satisfying(on_flank, boundaries_only=True)
        basis = skfem.FacetBasis(solid.mesh, solid.basis.elem, facets=facets, intorder=4)
        normal = basis.normals
        self.normal = np.array([(s.value * normal).sum(axis=0) for (s,) in basis.basis])
        self.lift = normal[1]
        self.weight = stiffness * 2 * np.pi * np.asarray(basis.global_coordinates())[0] * basis.dx
        self.dofs, self.n = basis.element_dofs, basis.N

    def push(self, u, travel):
        """Forces on the parent, their tangent and the load of the screw."""
        gap = np.einsum("kfq,kf->fq", self.normal, u[self.dofs]) - travel * self.lift
        closed = np.where(gap > 0, self.weight, 0.0)
        forces = np.zeros(self.n)
        np.add.at(forces, self.dofs, np.einsum("kfq,fq->kf", self.normal, closed * gap))
        matrix = np.einsum("kfq,lfq,fq->fkl", self.normal, self.normal, closed)
        place = np.broadcast_to(self.dofs.T[:, :, None], matrix.shape)
        at = (place.ravel(), np.swapaxes(place, 1, 2).ravel())
        load = float(-(closed * gap * self.lift).sum())
        return forces, sparse.csr_matrix((matrix.ravel(), at), (self.n, self.n)), load


def solve(matrix, right):
    # symmetric and positive: no search for pivots
    return splu(
        matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0,
        options={"SymmetricMode": True},
    ).solve(right)  # fmt: skip


class Pull:
    """A parent of one material and its screw; `free` maps the unknowns to all degrees."""

    def __init__(self, sizes, young, curve, *, periodic, **mesh):
        self.solid = solid = Solid([parent(**sizes, **mesh)], [(young, curve)])
        self.flanks = Flanks(solid, sizes, 1e3 * young / sizes["pitch"])
        r, z, part = solid.r, solid.z, solid.part
        low, high = z.min(), z.max()
        held = np.isclose(r, mesh["outer"] / 2) if periodic else np.isclose(z, low) & (part == 1)
        owner = np.arange(len(r))
        if periodic:
            ends = [np.flatnonzero(np.isclose(z, at)) for at in (low, high)]
            ends = [each[np.lexsort((part[each], r[each].round(7)))] for each in ends]
            owner[ends[1]] = ends[0]
        live = np.flatnonzero(~held & (owner == np.arange(len(r))))
        column = np.full(len(r), -1)
        column[live] = np.arange(len(live))
        rows = np.flatnonzero(column[owner] >= 0)
        self.free = sparse.csr_matrix(
            (np.ones(len(rows)), (rows, column[owner][rows])), (len(r), len(live))
        )

    def loads(self, travels):
        """Load at each travel; Newton's method with a search along its direction."""
        u, loads = np.zeros(self.solid.basis.N), []

        def balance(u, travel):
            inner, stiff = self.solid.resist(u)
            push, spring, load = self.flanks.push(u, travel)
            return self.free.T @ (inner + push), stiff + spring, load

        before, last = u, 0.0
        for travel in travels:
            if last:
                u, before = u + (u - before) * (travel - last) / last, u
            residual, matrix, load = balance(u, travel)
            for _ in range(60):
                if np.abs(residual).max() < 1e-7 * abs(load):
                    break
                step = -solve(self.free.T @ matrix @ self.free, residual)
                part = 1.0
                for _ in range(8):  # the energy is convex: stay where it still falls along the step
                    found = balance(u + part * (self.free @ step), travel)
                    if abs(step @ found[0]) < 0.8 * abs(step @ residual):
                        break
                    part /= 2
                u = u + part * (self.free @ step)
                residual, matrix, load = found
            else:
                raise ArithmeticError(f"no balance at a travel of {travel}")
            loads.append(load)
            last = travel
        return np.array(loads)


def linear(young):
    stiff = 1.5 * young / (1 + POISSON)  # of equivalent stress over equivalent deviator strain
    return lambda e: (stiff * e, np.full_like(e, stiff))


def plastic(young, flow):
    stiff, rest = 1.5 * young / (1 + POISSON), 1e-7  # a rest that keeps the matrix regular

    def curve(e):
        more = e - flow / stiff
        past = more > 0
        slope = np.where(past, rest * stiff, stiff)
        return np.where(past, flow + rest * stiff * more, stiff * e), slope

    return curve


YOUNG = 500.0  # over the flow stress
MESH = {"rows": 6, "columns": 4, "first": 0.02, "growth": 1.7}


#: In steps that double, as the curve of total strains forgets its path; the last two tell how flat.
TRAVELS = np.array([1, 2, 4, 8, 16, 1.25**14, 1.25**15])


def limit_loads(sizes, *, periodic, travel, **mesh):
    """Loads for unit flow stress over a travel that grows past the knee of the curve."""
    pull = Pull(sizes, YOUNG, plastic(YOUNG, 1.0), periodic=periodic, **MESH | mesh)
    loads = pull.loads(travel * sizes["pitch"] / YOUNG * TRAVELS)
    # Flat: the last step adds a quarter to the travel and less than half a per cent to the load.
    assert 1 <= loads[-1] / loads[-2] < 1.005
    return loads


#: A displacement method overestimates the limit load of its mesh's body, the more the coarser the
#: column in which the thread shears; a curve of total strains comes to it from below, and is cut
#: off a little short. Halving that column moved the load by 0.4 %, so 1 % above the upper bound
#: is what the mesh may add, and no load may lie below the lower bound.
MESH_ADDS = 0.01


@pytest.mark.parametrize("sizes", [ORIGINAL, REPAIRED], ids=["original", "repaired"])
def test_limit_load_of_one_pitch_lies_between_the_certified_bounds(sizes):
    found = cell_bounds(**bounded(sizes))
    loads = limit_loads(sizes, periodic=True, travel=0.5, outer=sizes["major"] + 5, ridges=1)
    assert found.lower < loads[-1] < (1 + MESH_ADDS) * found.upper
    # The screw's load is what the upper bound says within a per cent, not only between.
    assert loads[-1] == pytest.approx(found.upper, rel=MESH_ADDS)


def test_limit_load_falls_with_the_column_in_which_the_thread_shears():
    loads = [
        limit_loads(
            ORIGINAL, periodic=True, travel=0.5, outer=13.0, ridges=1, first=first
        )[-1]
        for first in (0.08, 0.04, 0.02)
    ]  # fmt: skip
    assert loads[0] > loads[1] > loads[2] > 0.99 * loads[1]


@pytest.mark.parametrize(
    ("sizes", "boss"), [(ORIGINAL, 12.0), (REPAIRED, 13.0)], ids=["original", "repaired"]
)
def test_limit_load_of_a_boss_lies_between_the_certified_bounds(sizes, boss):
    """Four pitches in a thin boss held at its base, which widens while the threads shear."""
    found = boss_bounds(**bounded(sizes), n_pitches=4, boss_diameter=boss, support="base")
    loads = limit_loads(sizes, periodic=False, travel=1.5, outer=boss, ridges=4)
    assert found.lower < loads[-1] < (1 + MESH_ADDS) * found.upper


STEEL, ALUMINIUM = 205e3, 70e3
CORE, SCREW_PITCH_DIAMETER, SHANK = 6.466, 7.042, 4.0


def screw(sizes, *, ridges, rows, columns):
    """An M8 screw whose upper flanks lie on the parent's lower flanks, node on node."""
    p, root, minor = sizes["pitch"], CORE / 2, sizes["minor"] / 2
    touched = np.linspace(minor, sizes["crest"] / 2, columns + 1)
    below = np.linspace(root, minor, 1 + round((minor - root) / (touched[1] - minor)))
    radii = np.concatenate([below, touched[1:]])
    upper = -half_ridge(radii, sizes["pitch_diameter"], p)
    thick = p / 2 - (2 * radii - SCREW_PITCH_DIAMETER) * SLOPE
    parts = np.linspace(0, 1, rows + 1)
    core = graded(root, 0, below[1] - root, 1.5)[::-1]
    foot, flat = upper[0] - thick[0] / 2, np.ones(len(core))
    heights = np.concatenate([[0], 0.5 + thick[0] / p * (parts - 0.5), [1]])
    end = ridges * p + foot - p / 2
    return joined(
        [
            *(grid(radii, k * p + upper - thick, k * p + upper, parts) for k in range(ridges)),
            *(
                grid(core, flat * (k * p + foot - p / 2), flat * (k * p + foot + p / 2), heights)
                for k in range(ridges)
            ),
            grid(core, flat * end, flat * (end + SHANK), np.linspace(0, 1, 2 * rows)),
        ]
    )


@cache
def elastic_pair(*, boss, ridges, young, base=0, support="compression"):
    """Part of the load on each thread from the face, and load over slip of the screw at the face.

    Screw and parent are elastic and touch without friction; the screw is pulled by its shank, the
    parent is held at its face or, some bare pitches further, at its base.
    """
    rows = columns = 4
    sizes = ORIGINAL
    pitch, mesh = sizes["pitch"], {"rows": rows, "columns": columns, "first": 0.05, "growth": 1.5}
    bodies = [
        parent(**sizes, outer=boss, ridges=ridges, base=base, **mesh),
        screw(sizes, ridges=ridges, rows=rows, columns=columns),
    ]
    solid = Solid(bodies, [(young, linear(young)), (STEEL, linear(STEEL))])
    r, z, part = solid.r, solid.z, solid.part
    owner = np.zeros(solid.basis.N, int)
    owner[np.unique(solid.dofs[:, solid.materials[0] == 1])] = 1
    off = (z + half_ridge(r, sizes["pitch_diameter"], pitch)) / pitch
    touching = (np.abs(off - np.round(off)) < 1e-6) & (r < sizes["crest"] / 2 + 1e-9)
    touching &= r > sizes["minor"] / 2 - 1e-9
    sides = {}
    for body in (0, 1):
        for axis in (0, 1):
            nodes = np.flatnonzero(touching & (owner == body) & (part == axis))
            sides[body, axis] = nodes[np.lexsort((r[nodes].round(6), z[nodes].round(6)))]
    assert np.allclose(z[sides[0, 1]], z[sides[1, 1]])
    normal = np.array([-SLOPE, -1]) / np.hypot(SLOPE, 1)
    count = len(sides[0, 0])
    gap = sparse.csr_matrix(
        (
            np.concatenate([np.full(count, (1 - 2 * body) * normal[axis]) for body, axis in sides]),
            (np.tile(np.arange(count), 4), np.concatenate(list(sides.values()))),
        ),
        (count, solid.basis.N),
    )
    spring = 1e3 * STEEL * pitch
    matrix = solid.resist(np.zeros(solid.basis.N))[1] + spring * (gap.T @ gap)
    top = (owner == 1) & np.isclose(z, z[owner == 1].max()) & (part == 1)
    face = z[owner == 0].max()
    end = face if support == "compression" else z[owner == 0].min()
    held = top | ((owner == 0) & np.isclose(z, end) & (part == 1)) | ((r < 1e-9) & (part == 0))
    u = np.where(top, 1e-3, 0.0)
    free = np.flatnonzero(~held)
    u[free] = solve(matrix[free][:, free], -(matrix @ u)[free])
    force = -spring * (gap @ u) * normal[1]
    assert force.min() > 0  # every contact is pressed, so that none had to be opened
    threads = np.bincount(np.round(off[sides[0, 1]]).astype(int), force)[::-1]
    load = threads.sum()
    shank = (z[top].max() - face) / (STEEL * np.pi / 4 * CORE**2)
    return threads / load, 1 / (1e-3 / load - shank)


def shared(*, boss, ridges, young, support="compression"):
    """The sharing model of the same joint."""
    return share(
        major=8.0, pitch=1.25, length=1.25 * ridges, screw_modulus=STEEL, screw_poisson=POISSON,
        parent_modulus=young, parent_poisson=POISSON, boss_diameter=boss, boundary=support,
        parent_shear_strength=200.0, parent_yield=200.0, parent_elongation=0.1, shear_area=100.0,
    )  # fmt: skip


def model(**joint):
    return shared(**joint).loads


def test_elastic_sharing_of_a_nut_agrees_with_finite_elements():
    """What the theory was made for: steel in steel, 13 mm outside, six threads, on its face.

    The theory gives the members no shear between the middle of a body and its threads, and its
    compliances are those of the full profile; the first thread's share is 13 % above it.
    """
    found, _ = elastic_pair(boss=13.0, ridges=6, young=STEEL)
    predicted = model(boss=13.0, ridges=6, young=STEEL)
    assert found[0] / predicted[0] == pytest.approx(1.13, abs=0.04)
    assert found[:3].sum() == pytest.approx(predicted[:3].sum(), rel=0.02)
    np.testing.assert_allclose(found[1:], predicted[1:], rtol=0.15)


def test_elastic_sharing_of_a_wide_block_is_less_even_than_the_model_says():
    """Aluminium, three diameters wide: the outer part of a block hardly takes part, which the model
    lets it do, so that the first thread's share is a third higher than the model's. On record so
    that neither changes unnoticed; where threads yield the shares are no longer elastic.
    """
    found, _ = elastic_pair(boss=24.0, ridges=8, young=ALUMINIUM)
    predicted = model(boss=24.0, ridges=8, young=ALUMINIUM)
    assert found[0] / predicted[0] == pytest.approx(1.34, abs=0.05)
    assert found[:3].sum() / predicted[:3].sum() == pytest.approx(1.13, abs=0.03)
    assert np.all(np.diff(found) < 0) and np.all(np.diff(predicted) < 0)


def test_a_boss_held_at_its_base_loads_both_ends():
    """12 mm of aluminium, held ten pitches further: the screw's end is loaded most, in both."""
    found, _ = elastic_pair(boss=12.0, ridges=8, young=ALUMINIUM, base=10, support="tension")
    predicted = model(boss=12.0, ridges=8, young=ALUMINIUM, support="tension")
    assert np.argmax(found) == np.argmax(predicted) == 7
    assert found[-1] == pytest.approx(predicted[-1], rel=0.06)
    # The free face takes less than the model gives it, which is on the safe side there.
    assert found[0] < predicted[0]


def hardening_curve(young, proof, exponent):
    """Ramberg and Osgood: strain = stress / E + 0.002 (stress / proof)^n; deviator strain here."""
    stiff = 1.5 * young / (1 + POISSON)

    def curve(e):
        stress = np.minimum(stiff * e, proof * np.maximum(e / 0.002, 1e-9) ** (1 / exponent))
        for _ in range(60):
            plastic = 0.002 * (stress / proof) ** exponent
            give = 1 / stiff + exponent * plastic / stress
            stress = stress - (stress / stiff + plastic - e) / give
        return stress, 1 / (1 / stiff + exponent * 0.002 * (stress / proof) ** exponent / stress)

    return curve


#: Where the load of one pitch passes its limit load with the tensile strength as flow stress, mm.
FARTHEST = {2: 0.3, 4: 0.14, 8: 0.14, 16: 0.12, 32: 0.1, 64: 0.09}


@pytest.mark.parametrize("exponent", FARTHEST)
def test_plastic_slip_of_one_pitch_gives_the_band_of_the_load_slip_curve(exponent):
    """The slip beyond the elastic one, at the load at which the thread strips, over its strain.

    The table holds for both holes what lies between 2 % and 10 % of strain there: its rows in turn
    at the one and the other.
    """
    sizes = (ORIGINAL, REPAIRED)[[*FARTHEST].index(exponent) % 2]
    strain, tensile = 0.06, 290.0
    proof = tensile * (0.002 / strain) ** (1 / exponent)
    pull = Pull(
        sizes, ALUMINIUM, hardening_curve(ALUMINIUM, proof, exponent), periodic=True,
        outer=sizes["major"] + 5, ridges=1, **MESH | {"first": 0.04},
    )  # fmt: skip
    travel = np.geomspace(5e-4, FARTHEST[exponent], 24)[[0, 4, 8, 12, *range(16, 24)]]
    loads = pull.loads(travel)
    part = loads / (cell_bounds(**bounded(sizes)).upper * tensile)
    assert part[4] < 1 < part[-1]  # among the close ones
    slip = np.interp(1.0, part, travel - loads * travel[0] / loads[0])
    found = slip / (3**0.5 * strain)
    overlap = (sizes["crest"] - sizes["minor"]) / 2
    assert found == pytest.approx(band_width(exponent, overlap), rel=0.08)


def test_elastic_slip_of_one_pitch():
    """The model's parent thread lies between the thread alone and the thread with its wall.

    Its terms hold the tooth and what is near its root; the wall's own shear out to four pitches is
    not part of it, and cannot be told from the root but by taking a rigid tooth off.
    """
    pull = Pull(
        ORIGINAL, ALUMINIUM, linear(ALUMINIUM), periodic=True, outer=18.0, ridges=1, **MESH
    )  # fmt: skip
    whole = 1e-3 / (pull.loads([1e-3])[0] / ORIGINAL["pitch"])
    rigid_tooth = np.log(18 / 8) / (2 * np.pi * ALUMINIUM / 2 / (1 + POISSON))
    sizes = {"pitch": 1.25, "pitch_diameter": 7.188}
    kappa = thread_compliance(side="parent", poisson=POISSON, **sizes).total
    predicted = line_compliance(kappa, modulus=ALUMINIUM, **sizes)
    assert 0 < whole - rigid_tooth < predicted < whole


@pytest.mark.parametrize(
    ("joint", "ratio"),
    [
        ({"boss": 13.0, "ridges": 6, "young": STEEL}, 1.46),
        ({"boss": 13.0, "ridges": 8, "young": ALUMINIUM}, 1.36),
        ({"boss": 24.0, "ridges": 8, "young": ALUMINIUM}, 1.51),
    ],
)
def test_initial_stiffness_of_the_load_slip_curve(joint, ratio):
    """The chain is stiffer by what it leaves out: the shear of the bodies between the threads.

    The report says "up to a half"; on record so that neither changes unnoticed.
    """
    _, stiffness = elastic_pair(**joint)
    found = shared(**joint)
    curve = ThreadCurve(
        compliance=found.law.compliance, plateau=1e3, exponent=16.0, strain=0.1, band=0.2
    )  # fmt: skip
    predicted = load_slip(found.chain, curve, rupture_slip=0.01).stiffness
    assert predicted / stiffness == pytest.approx(ratio, abs=0.05)
    assert 1 < predicted / stiffness < 1.55
