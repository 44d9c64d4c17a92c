r"""The plane at which a body floats free to sink, heel and trim, its liquids running. Layer: engine.flotation.

Equilibrium is the stationary point over the plane (n, d) of

.. math:: \Phi = \rho\int_{below}(d - n\cdot x)\,dV - M d + n\cdot\sum m G,

whose minimum over d is the potential energy of ship, water and liquids. Its gradient is the residual of
weight and moment; its second derivatives need only the waterplane and the free surfaces, so Newton's
method is exact, and since a stable floating position is a minimum, every step can be made to descend.
"""

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.checks import Floats, finite, points, positive
from engine.deadline import checkpoint
from engine.errors import EngineError, InputError, NotDeterminedError
from engine.flotation.hydrostatics import waterplane_axes, waterplane_inertias
from engine.flotation.potential import Potential, State
from engine.geometry.cut import Cuts, Solid
from engine.geometry.level import level
from engine.geometry.plane import Planes, normals_at
from engine.liquids.running import Liquid

Hold = Literal["nothing", "heel", "heel_and_trim", "everything"]
Position = tuple[Floats, Floats, Floats]
"""Offset [m], heel [rad] and n_x of each row."""

ITERATION_LIMIT = 80
STEP_LIMIT_RAD = 0.25
TOLERANCE_RATIO = 1e-12
ROUND_OFF_RATIO = 1e-13
"""A position this near, as a part of the hull's size, is not improved by another step."""
SLOPE_LIMIT_RATIO = 0.999
"""|n_x| beyond which a ship stands on end; one that stays there has no position to find."""
_FREE = {"nothing": [0, 1, 2], "heel": [0, 2], "heel_and_trim": [0], "everything": []}


@dataclass(frozen=True, eq=False)
class Equilibrium:
    """k floating positions.

    Attributes
    ----------
    planes : Planes
        The water planes.
    cuts : Cuts
        The hull below them.
    mass_t : (k,) float64
        Everything aboard, liquids included. [t]
    centre_m : (k, 3) float64
        Its centre, liquids where they lie. [m]
    gm_fluid_m, gm_longitudinal_m : (k,) float64
        Metacentric heights at the position, free surfaces included. [m]
    free_surface_tm : (k,) float64
        Σ ρ i of the liquids' real surfaces, transverse. [t·m]
    righting_arm_m : (k,) float64
        Arm of the couple that turns her back to port; zero when heel is free. [m]
    curvature : (k, 3, 3) float64
        Second derivatives of the potential over (offset [m], heel [rad], n_x).
    turning : (k, 2, 3) float64
        Derivatives of the normal with heel and n_x.
    imbalance : (k, 3) float64
        First derivatives of the potential; 0 in what is free.
    surfaces_m : (k, liquids, 3) float64
        Centres of the liquids' surfaces; NaN for a full or empty tank and one given by a table. [m]
    """

    planes: Planes
    cuts: Cuts
    mass_t: Floats
    centre_m: Floats
    gm_fluid_m: Floats
    gm_longitudinal_m: Floats
    free_surface_tm: Floats
    righting_arm_m: Floats
    curvature: Floats
    turning: Floats
    imbalance: Floats
    surfaces_m: Floats

    def to_rest(self) -> Floats:
        """Return (k, 3) first-order change of (offset [m], heel [rad], n_x) to where she floats free."""
        return np.asarray(np.linalg.solve(self.curvature, -self.imbalance[..., None])[..., 0], dtype=np.float64)

    def response(self, *, mass_t: Floats, moment_tm: Floats) -> Floats:
        """Return (..., k, 3) change of (offset [m], heel [rad], n_x) by a small change of what is aboard.

        Parameters
        ----------
        mass_t : (..., k) float64
            Mass added. [t]
        moment_tm : (..., k, 3) or (3,) float64
            First moment added. [t·m]
        """
        moment = np.einsum("kin,...kn->...ki", self.turning, np.broadcast_to(moment_tm, (*np.shape(mass_t), 3)))
        force = np.concatenate([-np.asarray(mass_t)[..., None], moment], axis=-1)
        turned: Floats = np.asarray(np.linalg.solve(self.curvature, -force[..., None])[..., 0], dtype=np.float64)
        return turned


def equilibrium(
    *,
    solid: Solid,
    density_t_per_m3: float,
    mass_t: ArrayLike,
    centre_m: ArrayLike,
    liquids: Sequence[Liquid] = (),
    start: Planes | None = None,
    hold: Hold = "nothing",
    near: bool = False,
    surfaces_m: Floats | None = None,
) -> Equilibrium:
    """Find where a body floats.

    Parameters
    ----------
    solid : Solid
        The hull.
    density_t_per_m3 : float
        Water density. [t/m³]
    mass_t : (k,) or scalar
        Mass of everything but ``liquids``. [t]
    centre_m : (k, 3) or (3,)
        Its centre. [m]
    liquids : sequence of Liquid
        Liquids that run to their level in every state.
    start : Planes, optional
        First guess (k planes); its heel and trim are kept where ``hold`` says so. Upright by default.
    hold : {"nothing", "heel", "heel_and_trim", "everything"}
        What is kept as given in ``start``; with everything held, ``imbalance`` says what is not balanced there.
    near : bool
        Whether ``start`` is so near that its offsets are to be tried too, in place of a search for the volume.
    surfaces_m : (k, liquids, 3), optional
        Points near the liquids' surfaces, where their levels are sought first. [m]

    Returns
    -------
    Equilibrium
        Stable positions (with respect to what is free).

    Raises
    ------
    NotDeterminedError
        ``sinks``: heavier than the whole body's buoyancy. ``no-equilibrium``: no stable position found.
    """
    density = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m3")
    masses = np.atleast_1d(finite(mass_t, field="mass_t"))
    centres = points(np.atleast_2d(finite(centre_m, field="centre_m")), columns=3, field="centre_m")
    count = max(len(masses), len(centres), len(start) if start is not None else 1)
    masses, centres = np.broadcast_to(masses, (count,)), np.broadcast_to(centres, (count, 3))
    total = masses + sum(liquid.mass_t for liquid in liquids)
    if (total <= 0).any():
        raise InputError(
            "the total mass must be above 0 t", code="not-positive", field="mass_t", value=float(total.min())
        )
    buoyancy = density * solid.volume_m3
    if (total >= buoyancy).any():  # a NaN volume (skin open above) passes; the cut itself refuses then
        raise NotDeterminedError(
            f"she sinks: {total.max():.6g} t aboard, the whole hull displaces {buoyancy:.6g} t",
            code="sinks",
            field="mass_t",
            value=float(total.max()),
            limit=buoyancy,
        )
    free = _FREE[hold]
    surfaces = np.full((count, len(liquids), 3), np.nan)
    if surfaces_m is not None:
        surfaces[:] = surfaces_m
    problem = Potential(solid, density, masses, centres, total, liquids, surfaces)
    heel = np.radians(start.heel_deg) if start is not None else np.zeros(count)
    slope = start.normals[:, 0] if start is not None else np.zeros(count)
    heel, slope = np.broadcast_to(heel, (count,)), np.broadcast_to(slope, (count,))
    if hold == "everything" and start is not None:
        d = np.broadcast_to(start.offsets_m, (count,))
        return _answer(problem.state(np.arange(count), d, heel, slope), total, surfaces)
    if near and start is not None:
        with suppress(EngineError):  # not so near after all
            d = np.broadcast_to(start.offsets_m, (count,)).copy()
            return _answer(_descended(problem, d, heel.copy(), slope.copy(), free), total, surfaces)
    d = level(solid, normals=normals_at(heel_rad=heel, slope_ratio=slope), volumes_m3=total / density)
    return _answer(_descended(problem, d, heel.copy(), slope.copy(), free), total, surfaces)


def _descended(problem: Potential, d: Floats, heel: Floats, slope: Floats, free: list[int]) -> State:
    """Return the states at rest; ``d``, ``heel`` and ``slope`` are moved there. Rows at rest are not cut again."""
    size = problem.size_m
    scale = np.array([1.0, size, size])[free]
    left = np.arange(len(d))  # rows still moving
    whole = now = problem.state(left, d, heel, slope)
    nudged = 0
    on_end, stuck = np.zeros(len(d)), np.zeros(len(d))
    for _ in range(ITERATION_LIMIT):
        checkpoint()
        gradient = now.gradient[:, free] / scale
        hessian = now.hessian[:, free][:, :, free] / (scale[:, None] * scale)
        step, curvature = _descent(gradient, hessian)
        largest = np.abs(step).max(axis=1)
        still = largest <= TOLERANCE_RATIO * size
        saddle = still & (curvature < 0)
        if saddle.any() and still.all():
            if nudged == 3:
                break
            nudged += 1
            step = np.where(saddle[:, None], _nudge(hessian) * 0.02 * size, step)
            still, saddle = still & ~saddle, np.zeros_like(saddle)
        settled = still & ~saddle
        moving = ~settled | (largest > ROUND_OFF_RATIO * size)
        if moving.any():
            rows = left[moving]
            step = _limited(step[moving] / scale, free)
            before = now.take(moving)
            now, d[rows], heel[rows], slope[rows], rises = _advance(
                partial(problem.state, rows),
                before,
                (d[rows], heel[rows], slope[rows]),
                step,
                free,
                scale,
                last=settled[moving],  # so small a step needs no search; what is left after it is round-off
            )
            whole = now if len(rows) == len(d) else whole.with_rows(rows, now)
            on_end[rows] = np.where(np.abs(slope[rows]) >= SLOPE_LIMIT_RATIO, on_end[rows] + 1, 0)
            stuck[rows] = np.where(rises, stuck[rows] + 1, 0)
        left = left[~settled]
        if not len(left):
            return whole
        now = now.take(~settled[moving])
        if (on_end >= 3).any() or (stuck >= 3).any():
            break
    raise NotDeterminedError(
        f"no stable floating position found in {ITERATION_LIMIT} steps", code="no-equilibrium", field="mass_t"
    )


def _descent(gradient: Floats, hessian: Floats) -> tuple[Floats, Floats]:
    """Newton step with the eigenvalues made positive; also the least eigenvalue's sign, with slack for round-off."""
    values, vectors = np.linalg.eigh(hessian)
    largest = np.abs(values).max(axis=1)
    floor = np.maximum(1e-9 * largest, np.finfo(np.float64).tiny)
    inner = np.einsum("kij,ki->kj", vectors, gradient) / np.maximum(np.abs(values), floor[:, None])
    return -np.einsum("kij,kj->ki", vectors, inner), np.where(values[:, 0] < -1e-9 * largest, -1.0, 1.0)


def _nudge(hessian: Floats) -> Floats:
    """Unit direction of the most negative curvature: the way off a balanced but unstable position."""
    vectors: Floats = np.linalg.eigh(hessian)[1][:, :, 0]
    return vectors


def _limited(step: Floats, free: list[int]) -> Floats:
    """Shorten each state's step so that no angle turns by more than the limit."""
    angles = step[:, [i for i, kind in enumerate(free) if kind > 0]]
    if angles.shape[1] == 0:
        return step
    largest = np.abs(angles).max(axis=1)
    share: Floats = np.minimum(1.0, STEP_LIMIT_RAD / np.maximum(largest, STEP_LIMIT_RAD))
    return step * share[:, None]


def _advance(
    state: Callable[[Floats, Floats, Floats], State],
    now: State,
    at: Position,
    step: Floats,
    free: list[int],
    scale: Floats,
    *,
    last: NDArray[np.bool_],
) -> tuple[State, Floats, Floats, Floats, NDArray[np.bool_]]:
    """Take the step, shortened where the energy would rise; say where it rises however short the step.

    A step that lessens the gradient by a tenth is taken whatever the energy says: near the end its fall is lost in
    round-off, and in what the volume of sections lacks of being the integral of their waterplane area. So is one that
    is the ``last`` of its row.
    """
    share = np.ones(len(step))
    full = np.zeros((len(step), 3))
    full[:, free] = step
    promised = np.abs(np.einsum("ki,ki->k", now.gradient, full))
    noise = 1e-13 * (np.abs(now.energy) + np.abs(at[0] * now.cuts.volume_m3))
    left = np.linalg.norm(now.gradient[:, free] / scale, axis=1)
    for _ in range(30):
        checkpoint()
        trial = _moved(*at, share[:, None] * step, free)
        then = state(*trial)
        rises = then.energy > now.energy + noise + 1e-12 * promised
        rises &= np.linalg.norm(then.gradient[:, free] / scale, axis=1) > 0.9 * left
        rises &= ~last
        if not rises.any():
            break
        share = np.where(rises, 0.4 * share, share)
    return then, *trial, rises


def _moved(d: Floats, heel: Floats, slope: Floats, step: Floats, free: list[int]) -> tuple[Floats, Floats, Floats]:
    full = np.zeros((len(d), 3))
    full[:, free] = step
    return d + full[:, 0], heel + full[:, 1], np.clip(slope + full[:, 2], -SLOPE_LIMIT_RATIO, SLOPE_LIMIT_RATIO)


def _answer(now: State, total: Floats, surfaces: Floats) -> Equilibrium:
    normals = now.planes.normals
    centre = now.first_moment / total[:, None]
    transverse, longitudinal = waterplane_inertias(now.cuts)
    along, across = waterplane_axes(now.planes)
    surface = np.einsum("ki,kij,kj->k", across, now.liquid_tensor, across)
    surface_along = np.einsum("ki,kij,kj->k", along, now.liquid_tensor, along)
    height = np.einsum("kn,kn->k", normals, centre - now.cuts.centroid_m)
    volume = now.cuts.volume_m3
    return Equilibrium(
        planes=now.planes,
        cuts=now.cuts,
        mass_t=total,
        centre_m=centre,
        gm_fluid_m=transverse / volume - height - surface / total,
        gm_longitudinal_m=longitudinal / volume - height - surface_along / total,
        free_surface_tm=surface,
        righting_arm_m=np.einsum("kn,kn->k", across, centre - now.cuts.centroid_m),
        curvature=now.hessian,
        turning=now.turning,
        imbalance=now.gradient,
        surfaces_m=surfaces,
    )
