"""Floating positions at given heels, row by row where not all of them exist. Layer: engine.flotation.

A batch is solved at once. Where it cannot be, it is halved until the rows that have no position stand alone; those
keep the code of their error and NaN in place of numbers.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.checks import Floats
from engine.errors import EngineError
from engine.flotation.equilibrium import Equilibrium, equilibrium
from engine.geometry.cut import CUT_COLUMNS, Cuts, Solid
from engine.geometry.plane import Planes
from engine.liquids.running import Liquid

Trim = Literal["free", "fixed"]

ROW_CODES = (
    "no-equilibrium",
    "open-below-water",
    "volume-beyond-capacity",
    "level-not-converged",
    "table-beyond-heel",
)
"""Errors that are those of one heel, not of the whole question: past it the hull has no position to give."""


@dataclass(frozen=True, eq=False)
class HeldHeel:
    """k floating positions at held heels; NaN where ``codes`` says why there is none.

    Attributes
    ----------
    planes : Planes
        The water planes.
    cuts : Cuts
        The hull below them.
    centre_m : (k, 3) float64
        Centre of gravity, liquids where they lie. [m]
    arm_m : (k,) float64
        Righting arm, + turns her back to port. [m]
    slope_m_per_rad : (k,) float64
        Its change with heel, trim following where it is free. [m/rad]
    trimming_per_rad : (k,) float64
        Change of n_x with heel; 0 where trim is fixed. [1/rad]
    gm_fluid_m : (k,) float64
        Metacentric height at the position, free surfaces included. [m]
    free_surface_tm : (k,) float64
        Σ ρ i of the liquids' real surfaces. [t·m]
    by_load : (k, 3, 4) float64
        Change of offset [m], n_x and righting arm [m] with mass [t] and first moment [t·m] added at the held heel.
    surfaces_m : (k, liquids, 3) float64
        Centres of the liquids' surfaces, as ``Equilibrium``. [m]
    codes : tuple of k str
        "" where there is a position.
    """

    planes: Planes
    cuts: Cuts
    centre_m: Floats
    arm_m: Floats
    slope_m_per_rad: Floats
    trimming_per_rad: Floats
    gm_fluid_m: Floats
    free_surface_tm: Floats
    by_load: Floats
    surfaces_m: Floats
    codes: tuple[str, ...]

    @classmethod
    def joined(cls, parts: "Sequence[HeldHeel]") -> "HeldHeel":
        """Return all rows of several, one after another."""
        planes = Planes(
            normals=np.concatenate([part.planes.normals for part in parts]),
            offsets_m=np.concatenate([part.planes.offsets_m for part in parts]),
        )
        return cls(
            planes=planes,
            cuts=Cuts(planes, *(np.concatenate([getattr(part.cuts, name) for part in parts]) for name in CUT_COLUMNS)),
            **{name: np.concatenate([getattr(part, name) for part in parts]) for name in _COLUMNS},
            codes=tuple(code for part in parts for code in part.codes),
        )

    def take(self, rows: NDArray[np.intp]) -> "HeldHeel":
        """Return the given rows."""
        cuts = self.cuts.take(rows)
        return HeldHeel(
            planes=cuts.planes,
            cuts=cuts,
            **{name: getattr(self, name)[rows] for name in _COLUMNS},
            codes=tuple(self.codes[row] for row in rows),
        )


_COLUMNS = [one.name for one in fields(HeldHeel) if one.name not in ("planes", "cuts", "codes")]


def held_heel(
    *,
    solid: Solid,
    density_t_per_m3: float,
    mass_t: ArrayLike,
    centre_m: ArrayLike,
    liquids: Sequence[Liquid],
    heel_deg: Floats,
    slope_ratio: Floats,
    trim: Trim,
    offsets_m: Floats | None = None,
    surfaces_m: Floats | None = None,
) -> HeldHeel:
    """Return the positions at (k,) heels, trim free or held at n_x = ``slope_ratio``.

    Parameters
    ----------
    solid, density_t_per_m3, liquids
        As ``equilibrium``.
    mass_t, centre_m : (k,) or scalar and (k, 3) or (3,)
        All but ``liquids``. [t, m]
    heel_deg : (k,)
        Of any size, starboard down +. [deg]
    slope_ratio : (k,)
        n_x: what is held, or the first guess.
    trim : {"free", "fixed"}
        What becomes of it.
    offsets_m : (k,), optional
        Offsets of planes near those sought, which then need no search for the volume. [m]
    surfaces_m : (k, liquids, 3), optional
        Points of the liquids' surfaces, as ``equilibrium`` takes them. [m]

    Raises
    ------
    InputError, NotDeterminedError
        As ``equilibrium``; a code of ``ROW_CODES`` only where every row has it.
    """
    count = len(heel_deg)
    mass, centre = np.broadcast_to(mass_t, (count,)), np.broadcast_to(centre_m, (count, 3))
    first = np.zeros(count) if offsets_m is None else offsets_m
    start = Planes.from_angles(heel_deg=heel_deg, slope_ratio=slope_ratio, offsets_m=first)

    def solve(rows: NDArray[np.intp]) -> Equilibrium:
        return equilibrium(
            solid=solid,
            density_t_per_m3=density_t_per_m3,
            mass_t=mass[rows],
            centre_m=centre[rows],
            liquids=liquids,
            start=start.take(rows),
            hold="heel" if trim == "free" else "heel_and_trim",
            near=offsets_m is not None and bool(np.isfinite(offsets_m[rows]).all()),
            surfaces_m=None if surfaces_m is None else surfaces_m[rows],
        )

    found, codes = _row_by_row(solve, np.arange(count))
    whole = _together(found, count, trim)
    normals = np.where(np.isnan(whole["normals"]), start.normals, whole["normals"])
    planes = Planes(normals=normals, offsets_m=whole["offsets_m"])
    return HeldHeel(
        planes=planes,
        cuts=Cuts(planes=planes, **{name: whole[name] for name in CUT_COLUMNS}),
        centre_m=whole["centre_m"],
        arm_m=whole["arm_m"],
        slope_m_per_rad=whole["slope"],
        trimming_per_rad=whole["trimming"],
        gm_fluid_m=whole["gm_fluid_m"],
        free_surface_tm=whole["free_surface_tm"],
        by_load=whole["by_load"],
        surfaces_m=whole["surfaces_m"],
        codes=tuple(codes.get(row, "") for row in range(count)),
    )


def _row_by_row(
    solve: Callable[[NDArray[np.intp]], Equilibrium], rows: NDArray[np.intp]
) -> tuple[list[tuple[NDArray[np.intp], Equilibrium]], dict[int, str]]:
    found: list[tuple[NDArray[np.intp], Equilibrium]] = []
    codes: dict[int, str] = {}
    first: EngineError | None = None
    waiting = [rows]
    while waiting:
        batch = waiting.pop()
        try:
            found.append((batch, solve(batch)))
        except EngineError as error:
            if error.code not in ROW_CODES:
                raise
            if len(batch) > 1:
                waiting += np.array_split(batch, 2)
            else:
                codes[int(batch[0])] = error.code
                first = first or error
    if not found and first is not None:
        raise first
    return found, codes


def _together(parts: list[tuple[NDArray[np.intp], Equilibrium]], count: int, trim: Trim) -> dict[str, Any]:
    whole: dict[str, Any] = {}
    for rows, at in parts:
        slope, trimming = _slopes(at, trim)
        columns = {name: getattr(at.cuts, name) for name in CUT_COLUMNS}
        columns |= {
            "normals": at.planes.normals,
            "offsets_m": at.planes.offsets_m,
            "centre_m": at.centre_m,
            "arm_m": at.righting_arm_m,
            "slope": slope,
            "trimming": trimming,
            "gm_fluid_m": at.gm_fluid_m,
            "free_surface_tm": at.free_surface_tm,
            "by_load": _by_load(at, trim),
            "surfaces_m": at.surfaces_m,
        }
        for name, column in columns.items():
            whole.setdefault(name, np.full((count, *column.shape[1:]), np.nan))[rows] = column
    return whole


def _slopes(at: Equilibrium, trim: Trim) -> tuple[Floats, Floats]:
    r"""Return dGZ/dφ and dn_x/dφ along the curve.

    The potential's derivative with heel is :math:`g = \sqrt{1-n_x^2}\,M\,GZ`; what is free follows so that its own
    derivatives stay zero, whence :math:`g' = H_{\varphi\varphi} - H_{\varphi f}H_{ff}^{-1}H_{f\varphi}`.
    """
    free = [0, 2] if trim == "free" else [0]
    across = at.curvature[:, free, 1]
    following = -np.linalg.solve(at.curvature[:, free][:, :, free], across[:, :, None])[:, :, 0]
    stiffness = at.curvature[:, 1, 1] + np.einsum("kf,kf->k", across, following)
    trimming = np.asarray(following[:, 1] if trim == "free" else np.zeros(len(stiffness)), dtype=np.float64)
    slope_ratio = at.planes.normals[:, 0]
    root = np.sqrt(1.0 - slope_ratio**2)
    slope = stiffness / (root * at.mass_t) + at.righting_arm_m * slope_ratio * trimming / root**2
    return np.asarray(slope, dtype=np.float64), trimming


def _by_load(at: Equilibrium, trim: Trim) -> Floats:
    r"""Return the (k, 3, 4) change of offset, n_x and arm with mass and moment added, the heel held.

    With p what is added, :math:`\Phi_p = -d\,\delta M + n\cdot\delta m`; what is free moves by
    :math:`-H_{ff}^{-1}\Phi_{fp}`, and :math:`g = \sqrt{1-n_x^2}\,M\,GZ` changes by
    :math:`\Phi_{\varphi p}+H_{\varphi f}` times that.
    """
    free = [0, 2] if trim == "free" else [0]
    slope, mass = at.planes.normals[:, 0], at.mass_t
    direct = np.zeros((len(mass), 3, 4))
    direct[:, 0, 0] = -1.0
    direct[:, 1:, 1:] = at.turning
    moved = np.zeros((len(mass), 3, 4))
    moved[:, free] = -np.linalg.solve(at.curvature[:, free][:, :, free], direct[:, free])
    turns = direct[:, 1] + np.einsum("kf,kfp->kp", at.curvature[:, 1], moved)
    arm = turns / (np.sqrt(1.0 - slope**2) * mass)[:, None]
    arm += (at.righting_arm_m * slope / (1.0 - slope**2))[:, None] * moved[:, 2]
    arm[:, 0] -= at.righting_arm_m / mass
    return np.stack([moved[:, 0], moved[:, 2], arm], axis=1)
