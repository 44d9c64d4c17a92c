"""The state of a tank, and its capacity table. Layer: engine.liquids."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive
from engine.errors import InputError, LimitError
from engine.geometry.plane import Planes
from engine.liquids.tank import FULL_RATIO, Tank, liquid_in, sounding_at_volume, volume_at_sounding

ROW_LIMIT = 10_000


@dataclass(frozen=True, eq=False)
class TankState:
    """A tank's liquid under k planes; a row of a capacity table each. NaN is what does not exist.

    Attributes
    ----------
    sounding_m, ullage_m : (k,) float64
        Along the pipe; NaN where the surface does not cross it. [m]
    level_m : (k,) float64
        z of the surface at the pipe; NaN as the sounding, and for a tank given by a table. [m]
    volume_m3, fill_percent, mass_t : (k,) float64
        The liquid; the fill is of the capacity. [m³, %, t]
    centroid_m : (k, 3) float64
        Its centre; NaN where the tank is empty. [m]
    surface_area_m2 : (k,) float64
        Free surface × permeability. [m²]
    surface_moment_m4, surface_moment_longitudinal_m4 : (k,) float64
        Second moments × permeability about the surface's own centre, in its plane: about the axis along the
        ship, and about the one athwart. 0 where empty or full; lengthwise NaN for a tank given by a table. [m⁴]
    offsets_m : (k,) float64
        The surface is n·x = offset; NaN where there is none or a table hides it. [m]
    """

    sounding_m: Floats
    ullage_m: Floats
    level_m: Floats
    volume_m3: Floats
    fill_percent: Floats
    mass_t: Floats
    centroid_m: Floats
    surface_area_m2: Floats
    surface_moment_m4: Floats
    surface_moment_longitudinal_m4: Floats
    offsets_m: Floats


def tank_state(tank: Tank, *, volume_m3: ArrayLike, normals: ArrayLike, density_t_per_m3: float) -> TankState:
    """Return the state of a tank holding volumes under planes; the two are broadcast.

    Parameters
    ----------
    tank : Tank
        The tank.
    volume_m3 : scalar or (k,)
        Liquid. [m³]
    normals : (k, 3) or (3,)
        Normals out of the liquid.
    density_t_per_m3 : float
        Of the liquid. [t/m³]

    Raises
    ------
    InputError, NotDeterminedError
        As ``liquid_in``; "not-positive" for the density; "pipe-not-rising".
    """
    sounding = sounding_at_volume(tank, volume_m3=volume_m3, normals=normals)
    return _state(tank, volume_m3, normals, density_t_per_m3, sounding)


def _state(
    tank: Tank, volume_m3: ArrayLike, normals: ArrayLike, density_t_per_m3: float, sounding: Floats
) -> TankState:
    density = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m³")
    lying = liquid_in(tank, volume_m3=volume_m3, normals=normals)
    volume = lying.volume_m3
    directions = Planes.from_normals(normals=normals, offsets_m=np.zeros(len(volume))).normals
    transverse, longitudinal = surface_moments(lying.surface_tensor_m4, directions)
    empty = volume <= FULL_RATIO * tank.capacity_m3
    if tank.pipe is None:
        level = np.full(len(volume), np.nan)
        longitudinal = np.full(len(volume), np.nan)
    else:
        known = np.isfinite(sounding)
        level = np.full(len(volume), np.nan)
        level[known] = tank.pipe.point_m(np.clip(sounding[known], 0.0, tank.pipe_length_m))[:, 2]
    return TankState(
        sounding_m=sounding,
        ullage_m=tank.pipe_length_m - sounding,
        level_m=level,
        volume_m3=volume,
        fill_percent=100.0 * volume / tank.capacity_m3,
        mass_t=density * volume,
        centroid_m=np.where(empty[:, None], np.nan, lying.centroid_m),
        surface_area_m2=lying.surface_area_m2,
        surface_moment_m4=transverse,
        surface_moment_longitudinal_m4=longitudinal,
        offsets_m=lying.offsets_m,
    )


def surface_moments(tensor_m4: Floats, normals: Floats) -> tuple[Floats, Floats]:
    """Return the (k,) transverse and longitudinal second moments of surfaces from their (k, 3, 3) tensors. [m⁴]"""
    across = np.stack([np.zeros(len(normals)), normals[:, 2], -normals[:, 1]], axis=-1)
    across = across / np.linalg.norm(across, axis=1, keepdims=True)
    along = np.cross(across, normals)
    transverse = np.einsum("ki,kij,kj->k", across, tensor_m4, across)
    longitudinal = np.einsum("ki,kij,kj->k", along, tensor_m4, along)
    return transverse, longitudinal


def capacity_table(
    tank: Tank,
    *,
    normal: ArrayLike,
    density_t_per_m3: float,
    soundings_m: ArrayLike | None = None,
    step_m: float | None = None,
) -> TankState:
    """Return a tank's table at one heel and trim, a row a sounding.

    Parameters
    ----------
    tank : Tank
        The tank.
    normal : (3,)
        Out of the liquid: (0, 0, 1) upright on an even keel.
    density_t_per_m3 : float
        Of the liquid. [t/m³]
    soundings_m : (k,), optional
        The rows. [m]
    step_m : float, optional
        Instead of soundings: rows 0, step, 2 step, … and the pipe's top. [m]

    Raises
    ------
    InputError
        "soundings-or-step": not exactly one of the two given; "out-of-range"; "not-positive".
    LimitError
        "too-many-rows": over 10,000.
    """
    if (soundings_m is None) == (step_m is None):
        raise InputError("give soundings or a step, one of the two", code="soundings-or-step", field="soundings_m")
    if step_m is not None:
        soundings = _stepped(tank, positive(step_m, field="step_m", unit="m"))
        field = "step_m"
    else:
        assert soundings_m is not None
        soundings = np.atleast_1d(finite(soundings_m, field="soundings_m"))
        field = "soundings_m"
        _refuse_many(len(soundings), field)
    volumes = volume_at_sounding(tank, sounding_m=soundings, normals=normal)
    return _state(tank, volumes, normal, density_t_per_m3, soundings)


def _stepped(tank: Tank, step: float) -> Floats:
    first = 0.0 if tank.table is None else float(tank.table.sounding_m[0])
    length = tank.pipe_length_m - first
    _refuse_many(int(length / step) + 2 if length / step < 1e9 else 1_000_000_000, "step_m")
    rows = first + step * np.arange(int(np.ceil(length / step * (1.0 - 1e-12))))
    return np.append(rows, tank.pipe_length_m)


def _refuse_many(count: int, field: str) -> None:
    if count > ROW_LIMIT:
        raise LimitError(
            f"{count} rows, {ROW_LIMIT} are allowed",
            code="too-many-rows",
            field=field,
            value=float(count),
            limit=float(ROW_LIMIT),
        )
