"""Liquid in a tank at any heel and trim. Layer: engine.liquids.

Volumes are those of the liquid: the shape's volume × permeability. Permeability is taken as even over the tank, so
it scales the surface's area and second moments too and leaves the centre where it is.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.checks import Floats, finite, within
from engine.errors import InputError, NotDeterminedError
from engine.findings import Finding
from engine.geometry.cut import Cuts, Solid
from engine.geometry.level import box_range, cuts_of_volume
from engine.geometry.plane import HEEL_LIMIT_DEG, Planes
from engine.geometry.surface_solid import SurfaceSolid
from engine.liquids.sounding import SoundingPipe
from engine.liquids.sounding_table import SoundingTable

PIPE_SLACK_M = 0.05
"""A pipe this far outside the box of its tank is not remarked upon: a well, a striking plate. Our choice. [m]"""

FULL_RATIO = 1e-12
"""A tank this near to its capacity, as a part of it, is full: no free surface. Likewise empty."""


@dataclass(frozen=True, eq=False)
class Tank:
    """A tank. Build it with ``of_solid`` or ``of_table``.

    Attributes
    ----------
    solid : Solid or None
        Its shape; None for a tank known by its table.
    table : SoundingTable or None
        Its table.
    permeability_ratio : float
        Part of the shape the liquid can fill; 1 for a table, which allows for it.
    pipe : SoundingPipe or None
        None for a table, whose soundings need no place.
    capacity_m3 : float
        Liquid in the full tank. [m³]
    full_centroid_m : (3,) float64
        Centre of the full tank. [m]
    findings : tuple of Finding
        "tank-as-table", "sounding-pipe-outside".
    """

    solid: Solid | None
    table: SoundingTable | None
    permeability_ratio: float
    pipe: SoundingPipe | None
    capacity_m3: float
    full_centroid_m: Floats
    findings: tuple[Finding, ...] = ()

    @classmethod
    def of_solid(cls, solid: Solid, *, permeability_ratio: float = 1.0, pipe: SoundingPipe | None = None) -> "Tank":
        """Build from a shape; without a pipe, one plumb through the middle of its box, from bottom to top.

        Raises
        ------
        InputError
            "permeability-out-of-range": not above 0 and at most 1; "tank-skin-open"; "not-finite".
        """
        ratio = float(finite(permeability_ratio, field="permeability_ratio"))
        if not 0 < ratio <= 1:
            raise InputError(
                f"must be above 0 and at most 1, is {ratio:.6g}",
                code="permeability-out-of-range",
                field="permeability_ratio",
                value=ratio,
                limit=1.0 if ratio > 1 else 0.0,
            )
        if not np.isfinite(solid.volume_m3):
            raise InputError("the skin of the tank is open", code="tank-skin-open", field="shape")
        low, high = solid.bounds_m
        found: tuple[Finding, ...] = ()
        if pipe is not None:
            found = _outside(pipe, solid.bounds_m)
        else:
            x, y, _ = 0.5 * (low + high)
            pipe = SoundingPipe.vertical(x_m=float(x), y_m=float(y), z_min_m=float(low[2]), z_max_m=float(high[2]))
        if isinstance(solid, SurfaceSolid):
            centroid = solid.centroid_m
        else:
            above = Planes.from_normals(normals=[0.0, 0.0, 1.0], offsets_m=high[2] + (high[2] - low[2]))
            centroid = solid.cut(above).centroid_m[0]
        return cls(solid, None, ratio, pipe, ratio * solid.volume_m3, centroid, found)

    @classmethod
    def of_table(cls, table: SoundingTable) -> "Tank":
        """Build from a sounding table."""
        finding = Finding(
            "tank-as-table",
            "the tank is given by a table: its liquid is run by the table's free-surface moment, athwart only, "
            "and not on its real shape; soundings are taken as those of the upright tank",
        )
        centroid = np.array([table.x_m[-1], table.y_m[-1], table.z_m[-1]])
        return cls(None, table, 1.0, None, table.capacity_m3, centroid, (finding,))

    @property
    def pipe_length_m(self) -> float:
        """Length of the sounding pipe; for a table its last sounding. [m]"""
        if self.pipe is not None:
            return self.pipe.length_m
        assert self.table is not None
        return float(self.table.sounding_m[-1])


def _outside(pipe: SoundingPipe, bounds_m: Floats) -> tuple[Finding, ...]:
    off, at = pipe.outside(bounds_m)
    if off <= PIPE_SLACK_M:
        return ()
    words = f"the sounding pipe lies {off:.6g} m outside the box of the tank it sounds"
    return (Finding("sounding-pipe-outside", words, place_m=(float(at[0]), float(at[1]), float(at[2]))),)


@dataclass(frozen=True, eq=False)
class Lying:
    """How a liquid lies under k planes.

    Attributes
    ----------
    volume_m3 : (k,) float64
        Liquid. [m³]
    centroid_m : (k, 3) float64
        Its centre; of an empty tank the full tank's, so that mass × centre is 0 and not NaN. [m]
    offsets_m : (k,) float64
        The surface is n·x = offset; NaN for a tank given by a table, and for one empty or full. [m]
    surface_centroid_m : (k, 3) float64
        Centre of the surface, NaN where ``offsets_m`` is; about it the surface turns. [m]
    surface_area_m2 : (k,) float64
        Free surface × permeability; 0 where empty or full. [m²]
    surface_tensor_m4 : (k, 3, 3) float64
        Its central second moments × permeability, in its own plane. [m⁴]
    """

    volume_m3: Floats
    centroid_m: Floats
    offsets_m: Floats
    surface_centroid_m: Floats
    surface_area_m2: Floats
    surface_tensor_m4: Floats


def liquid_in(tank: Tank, *, volume_m3: ArrayLike, normals: ArrayLike, start_m: ArrayLike | None = None) -> Lying:
    """Return how a volume of liquid lies under each normal.

    Parameters
    ----------
    tank : Tank
        The tank.
    volume_m3 : scalar or (k,)
        From 0 to the capacity. [m³]
    normals : (k, 3) or (3,)
        Normals out of the liquid.
    start_m : (k,), optional
        Offsets to try first, as from the last call with normals near these: a good one saves cuts. [m]

    Raises
    ------
    InputError
        "volume-beyond-capacity", "out-of-range", "volume-below-table", "not-finite", "zero-normal".
    NotDeterminedError
        "table-beyond-heel": a tank given by a table, heeled over 80°; "level-not-converged".
    """
    wanted = checked_volume(tank, volume_m3)
    directions = Planes.from_normals(normals=normals, offsets_m=np.zeros(np.shape(wanted))).normals
    count = max(len(directions), wanted.size)
    wanted = np.broadcast_to(wanted, (count,))
    lying = Lying(
        volume_m3=wanted,
        centroid_m=np.tile(tank.full_centroid_m, (count, 1)),
        offsets_m=np.full(count, np.nan),
        surface_centroid_m=np.full((count, 3), np.nan),
        surface_area_m2=np.zeros(count),
        surface_tensor_m4=np.zeros((count, 3, 3)),
    )
    rows = np.flatnonzero(is_slack(tank, wanted))
    if len(rows):
        guess = None if start_m is None else np.broadcast_to(finite(start_m, field="start_m"), (count,))[rows]
        part = _slack(tank, wanted[rows], directions[rows], guess)
        lying.centroid_m[rows] = part.centroid_m
        lying.offsets_m[rows] = part.offsets_m
        lying.surface_centroid_m[rows] = part.surface_centroid_m
        lying.surface_area_m2[rows] = part.surface_area_m2
        lying.surface_tensor_m4[rows] = part.surface_tensor_m4
    return lying


def is_slack(tank: Tank, volume_m3: ArrayLike) -> NDArray[np.bool_]:
    """Return where a volume leaves the tank neither empty nor full. [m³]"""
    wanted = np.asarray(volume_m3, dtype=np.float64)
    return (wanted > FULL_RATIO * tank.capacity_m3) & (wanted < (1.0 - FULL_RATIO) * tank.capacity_m3)


def checked_volume(tank: Tank, volume_m3: ArrayLike) -> Floats:
    """Return volumes as float64; refuse one below 0 or beyond the capacity.

    Raises
    ------
    InputError
        "volume-beyond-capacity", "out-of-range", "not-finite".
    """
    wanted = within(volume_m3, low=0.0, high=np.inf, field="volume_m3", unit="m³")
    beyond = wanted > tank.capacity_m3 * (1.0 + FULL_RATIO)
    if beyond.any():
        worst = float(wanted[beyond].flat[0])
        raise InputError(
            f"the tank holds {tank.capacity_m3:.6g} m³, not {worst:.6g} m³",
            code="volume-beyond-capacity",
            field="volume_m3",
            value=worst,
            limit=tank.capacity_m3,
        )
    return np.minimum(wanted, tank.capacity_m3)


def volume_at_sounding(tank: Tank, *, sounding_m: ArrayLike, normals: ArrayLike) -> Floats:
    """Return (k,) the liquid when its surface crosses the pipe at a sounding; soundings and normals are broadcast.

    A tank given by a table takes the sounding as that of the upright tank. [m³]

    Raises
    ------
    InputError
        "out-of-range": beyond the pipe or the table; "not-finite".
    NotDeterminedError
        "pipe-not-rising": at that heel and trim a part of the pipe falls.
    """
    if tank.table is not None:
        count = max(np.size(sounding_m), len(np.atleast_2d(normals)))
        return np.broadcast_to(tank.table.volume_at(sounding_m), (count,))
    assert tank.solid is not None
    assert tank.pipe is not None
    at = tank.pipe.point_m(sounding_m)
    directions = Planes.from_normals(normals=normals, offsets_m=np.zeros(len(at))).normals
    tank.pipe.rising(directions)
    planes = Planes(directions, np.einsum("kj,kj->k", directions, np.broadcast_to(at, directions.shape)))
    return np.minimum(tank.permeability_ratio * tank.solid.cut(planes).volume_m3, tank.capacity_m3)


def volume_at_ullage(tank: Tank, *, ullage_m: ArrayLike, normals: ArrayLike) -> Floats:
    """Return (k,) the liquid when its surface stands an ullage below the pipe's top, along the pipe. [m³]

    Raises
    ------
    InputError
        "out-of-range": beyond the pipe or the table; "not-finite".
    NotDeterminedError
        As ``volume_at_sounding``.
    """
    length = tank.pipe_length_m
    ullage = within(ullage_m, low=0.0, high=length, field="ullage_m", unit="m")
    return volume_at_sounding(tank, sounding_m=length - ullage, normals=normals)


def sounding_at_volume(tank: Tank, *, volume_m3: ArrayLike, normals: ArrayLike) -> Floats:
    """Return (k,) the soundings of volumes; NaN where the surface does not cross the pipe. [m]

    An empty tank's is 0; a full tank's is the pipe's length.

    Raises
    ------
    InputError, NotDeterminedError
        As ``liquid_in``; "pipe-not-rising".
    """
    lying = liquid_in(tank, volume_m3=volume_m3, normals=normals)
    empty = lying.volume_m3 <= FULL_RATIO * tank.capacity_m3
    full = lying.volume_m3 >= (1.0 - FULL_RATIO) * tank.capacity_m3
    if tank.table is not None:
        found = tank.table.sounding_at(lying.volume_m3)
    else:
        assert tank.pipe is not None
        directions = Planes.from_normals(normals=normals, offsets_m=np.zeros(len(lying.volume_m3))).normals
        found = tank.pipe.sounding_m(normals=directions, offsets_m=lying.offsets_m)
    return np.where(empty, 0.0, np.where(full, tank.pipe_length_m, found))


def _slack(tank: Tank, wanted: Floats, normals: Floats, start: Floats | None) -> Lying:
    if tank.table is not None:
        return _slack_by_table(tank.table, wanted, normals)
    assert tank.solid is not None
    solid = tank.solid
    low, high = box_range(solid.bounds_m, normals)
    guess = low + (high - low) * wanted / tank.capacity_m3
    if start is not None:
        guess = np.where((start > low) & (start < high), start, guess)
    cuts = cuts_of_volume(
        lambda _, planes: solid.cut(planes),
        normals=normals,
        volumes_m3=wanted / tank.permeability_ratio,
        start_m=guess,
        low_m=low,
        high_m=high,
    )
    return lying_in(cuts, wanted, tank.permeability_ratio)


def lying_in(cuts: Cuts, volume_m3: Floats, permeability_ratio: float) -> Lying:
    """Return how (k,) net volumes [m³] lie that fill a body below its cuts."""
    return Lying(
        volume_m3=volume_m3,
        centroid_m=cuts.centroid_m,
        offsets_m=cuts.planes.offsets_m,
        surface_centroid_m=cuts.waterplane_centroid_m,
        surface_area_m2=permeability_ratio * cuts.waterplane_area_m2,
        surface_tensor_m4=permeability_ratio * cuts.waterplane_tensor_m4,
    )


def _slack_by_table(table: SoundingTable, wanted: Floats, normals: Floats) -> Lying:
    least = float(np.cos(np.radians(HEEL_LIMIT_DEG)))
    if (normals[:, 2] < least).any():
        raise NotDeterminedError(
            f"a liquid known by its table is not run beyond {HEEL_LIMIT_DEG:.6g}°",
            code="table-beyond-heel",
            limit=HEEL_LIMIT_DEG,
        )
    centre, moment, area = table.upright(wanted)
    tangent = normals[:, 1] / normals[:, 2]
    shift = moment / wanted
    moved = centre + np.stack([np.zeros_like(shift), -shift * tangent, 0.5 * shift * tangent**2], axis=-1)
    across = np.stack([np.zeros_like(tangent), np.ones_like(tangent), -tangent], axis=-1)
    return Lying(
        volume_m3=wanted,
        centroid_m=moved,
        offsets_m=np.full(len(wanted), np.nan),
        surface_centroid_m=np.full((len(wanted), 3), np.nan),
        surface_area_m2=area / normals[:, 2],
        surface_tensor_m4=(moment / normals[:, 2])[:, None, None] * across[:, :, None] * across[:, None, :],
    )
