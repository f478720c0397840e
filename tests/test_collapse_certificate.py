"""The certificate: it must refuse every way in which a field fails to be a bound."""

from dataclasses import replace

import numpy as np
import pytest

from thread_repair.strength.collapse import bounds
from thread_repair.strength.collapse.certificate import (
    NotCertifiedError,
    certify_lower,
    certify_upper,
)
from thread_repair.strength.collapse.fields import stress_field, velocity_field
from thread_repair.strength.collapse.mesh import Join, Side
from thread_repair.strength.collapse.profile import (
    Coil,
    Density,
    ThreadPair,
    boss_mesh,
    cell_mesh,
)
from thread_repair.verification.exact import tube, tube_load

COARSE = Density(ridge_rows=2, ridge_columns=2, wall_columns=3)
INSERT_HOLE = ThreadPair(
    screw_major=9.624, hole_minor=8.271, hole_pitch_diameter=8.812, hole_major=9.624, pitch=1.25
)
WIRE = Coil(
    screw_major=8.0, inner=6.647, middle=8.0, outer=9.624, width=0.875 * 1.25, flow_ratio=4.0
)


@pytest.fixture(scope="module")
def mesh():
    return boss_mesh(INSERT_HOLE, 16.0, 2, COARSE, face=Side.PLATE, coil=WIRE)


@pytest.fixture(scope="module")
def stress(mesh):
    return stress_field(mesh)


@pytest.fixture(scope="module")
def motion(mesh):
    return velocity_field(mesh)


def test_residuals_are_rounding(mesh, stress, motion):
    assert certify_lower(mesh, stress).worst < 1e-12
    assert certify_upper(mesh, motion).worst < 1e-12


@pytest.mark.parametrize("component", [0, 1, 2])
def test_a_stress_changed_at_one_vertex_is_refused(mesh, stress, component):
    changed = stress.copy()
    changed[7, 1, component] += 1e-6
    with pytest.raises(NotCertifiedError, match="lower bound is not certified"):
        certify_lower(mesh, changed)


def test_stress_beyond_yield_is_scaled_down(mesh, stress):
    once, twice = certify_lower(mesh, stress), certify_lower(mesh, 2 * stress)
    assert twice.load == pytest.approx(once.load)
    assert twice.scale == pytest.approx(once.scale / 2)


@pytest.mark.parametrize(
    ("s_r", "s_z", "s_rz", "equivalent"),
    [
        (0, 0, 1, lambda r: np.sqrt(3) / r),  # shear alone
        (0, 1, 0, lambda r: 1 / r),  # axial alone
        (1, 0, 0, lambda r: 1 / r),  # radial falling with the radius: no hoop stress
        ("r", 0, 0, np.ones_like),  # uniform radial stress, with the equal hoop stress
        ("r", "r", 0, np.zeros_like),  # all-round tension
    ],
)
def test_yield_is_measured_by_von_mises(s_r, s_z, s_rz, equivalent):
    cell = cell_mesh(INSERT_HOLE, 14.0, COARSE)
    cell = replace(cell, side_kind=np.full_like(cell.side_kind, Side.HELD))
    radius = cell.corners[..., 0]
    ones = np.ones_like(radius)
    field = np.stack([radius if s == "r" else s * ones for s in (s_r, s_z, s_rz)], axis=-1)
    expected = equivalent(radius).max()
    if expected == 0:
        assert certify_lower(cell, field).scale > 1e9
    else:
        assert certify_lower(cell, field).scale == pytest.approx(1 / expected)


def test_friction_on_a_smooth_support_is_refused():
    cell = cell_mesh(INSERT_HOLE, 14.0, COARSE)
    side_kind = np.where(cell.side_kind == Side.HELD, Side.ROLLER, Side.HELD)
    shear = np.broadcast_to((0.0, 0.0, 1.0), (len(cell.triangles), 3, 3))
    with pytest.raises(NotCertifiedError, match="sides drag"):
        certify_lower(replace(cell, side_kind=side_kind), shear)


def test_coils_that_stick_are_refused(mesh, stress):
    side_kind = np.where(mesh.side_kind == Side.FREE, Side.FREE, Side.HELD)
    with pytest.raises(NotCertifiedError, match="contact pulls"):
        certify_lower(replace(mesh, side_kind=side_kind), -stress)


def test_pulling_contacts_are_refused(mesh, stress):
    with pytest.raises(NotCertifiedError, match="pull"):
        certify_lower(mesh, -stress)


def test_a_traction_that_ends_at_an_edge_is_refused():
    """A column of constant S_z that stops: in equilibrium within, not across its edges."""
    cell = cell_mesh(INSERT_HOLE, 14.0, COARSE)
    column = np.zeros((len(cell.triangles), 3, 3))
    inside = np.setdiff1d(np.arange(len(column)), cell.sides[:, 0])
    column[inside[0], :, 1] = 1.0
    with pytest.raises(NotCertifiedError, match="traction across edges"):
        certify_lower(cell, column)


def test_a_loaded_free_surface_is_refused():
    cell = cell_mesh(INSERT_HOLE, 14.0, COARSE)
    values = stress_field(cell)
    side_kind = np.where(cell.side_kind == Side.DRIVER, Side.FREE, cell.side_kind)
    with pytest.raises(NotCertifiedError, match="free surface pressed"):
        certify_lower(replace(cell, side_kind=side_kind), values)


@pytest.mark.parametrize("component", [0, 1])
def test_a_velocity_changed_at_one_vertex_is_refused(mesh, motion, component):
    changed = motion.copy()
    changed[7, 1, component] += 1e-6
    with pytest.raises(NotCertifiedError, match="upper bound is not certified"):
        certify_upper(mesh, changed)


def test_a_driver_that_is_entered_is_scaled_up(mesh, motion):
    once, half = certify_upper(mesh, motion), certify_upper(mesh, 0.5 * motion)
    assert half.load == pytest.approx(once.load)
    assert half.scale == pytest.approx(2 * once.scale)


def test_moving_supports_are_refused(mesh, motion):
    with pytest.raises(NotCertifiedError):
        certify_upper(mesh, motion + mesh.corners[..., :1] * (0.0, 1.0))


def test_no_motion_proves_nothing(mesh, motion):
    with pytest.raises(NotCertifiedError):
        certify_upper(mesh, 0 * motion)


def test_bodies_that_overlap_are_refused(mesh, motion):
    parent = mesh.flow == 1
    lifted = motion - parent[:, None, None] * mesh.corners[..., :1] * (0.0, 1e-3)
    side_kind = np.where(mesh.side_kind == Side.PLATE, Side.FREE, mesh.side_kind)
    with pytest.raises(NotCertifiedError, match="overlap"):
        certify_upper(replace(mesh, side_kind=side_kind), lifted)


def test_dissipation_falls_towards_the_integral_as_it_is_cut_finer(mesh, motion):
    loads = [certify_upper(mesh, motion, parts=n).load for n in (1, 2, 4, 8)]
    assert loads[0] >= loads[1] >= loads[2] >= loads[3] > 0.9999 * loads[2]


def test_rates_of_a_radial_expansion_are_exact():
    """u = 1/r, no axial motion: the equivalent strain rate 2/sqrt(3)/r^2 over a tube's volume."""
    found = tube(4, 2, 2.0)
    radius = found.corners[..., 0]
    motion = np.stack((np.ones_like(radius), np.zeros_like(radius)), axis=-1)
    assert certify_upper(found, motion, parts=64).load == pytest.approx(tube_load(2.0), rel=1e-5)


def test_bounds_are_ordered(mesh, stress, motion):
    assert certify_lower(mesh, stress).load <= certify_upper(mesh, motion).load


def test_contacts_are_found(mesh):
    assert (mesh.join_kind == Join.CONTACT).sum() == 2 * COARSE.ridge_columns
    assert set(mesh.flow.tolist()) == {1.0, WIRE.flow_ratio}


def test_nothing_uncertified_is_returned(monkeypatch):
    def useless(mesh, *, tolerance):
        return np.ones((len(mesh.triangles), 3, 3))

    monkeypatch.setattr(bounds, "stress_field", useless)
    with pytest.raises(NotCertifiedError):
        bounds.cell_bounds(
            screw_major=8, hole_minor=6.647, hole_pitch_diameter=7.188, hole_major=8, pitch=1.25
        )
