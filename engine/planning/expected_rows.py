"""Rows of the uncertainty expected of a plan, each with its derivatives. Layer: engine.planning.

The derivation is in ``engine.planning.expected``. A row's name is the place of its input in the plan.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.errors import InputError
from engine.flotation.hydrostatics import hydrostatics
from engine.geometry.plane import Planes
from engine.liquids.capacity import surface_moments
from engine.liquids.running import Liquid
from engine.liquids.tank import FULL_RATIO, Tank, liquid_in
from engine.planning.instruments import Chosen
from engine.planning.moves import moves_of
from engine.planning.predicted import PlannedShip
from engine.planning.stations import Station
from engine.planning.weights import WeightSet
from engine.uncertainty import Input


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Standard uncertainties assumed, in the units of their names; percentages are relative.

    ``gust_ratio`` is on the tangent of heel, common to the instruments at one reading.
    """

    freeboard_m: float
    freeboard_common_m: float
    reading_m: float
    weight_percent: float
    arm_m: float
    length_m: float
    density_t_per_m3: float
    hull_volume_percent: float
    tank_volume_percent: float
    ledger_mass_percent: float
    ledger_centre_m: float
    gust_ratio: float = 0.0

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if not value >= 0:
                raise InputError(
                    f"a standard uncertainty is 0 or above, is {value:.6g}",
                    code="negative-uncertainty",
                    field=name,
                    value=float(value),
                    limit=0.0,
                )


@dataclass(frozen=True, eq=False)
class Setting:
    """What every row needs: state, moments and the lightship's derivation."""

    displacement_t: float
    gm_m: float
    vcg_m: float
    lightship_t: float
    lightship_z_m: float

    def row(self, *, gm: float = 0.0, vcg: float | None = None, mass: float = 0.0, removed: float = 0.0) -> list[float]:
        """Return the column of one input over the four results.

        ``gm`` changes GM; ``vcg`` KG as inclined (−gm where only GM is touched); ``mass`` Δ; ``removed`` is what the
        input itself takes from the lightship's first moment about its own centre, Σ d(m (z_LS − z)), positive up.
        """
        lift = -gm if vcg is None else vcg
        to_lightship = (
            self.displacement_t * lift + (self.vcg_m - self.lightship_z_m) * mass + removed
        ) / self.lightship_t
        return [gm, lift, mass, to_lightship]


Row = tuple[Input, list[float]]


def readings_rows(chosen: WeightSet, setting: Setting, instruments: Sequence[Chosen], spread: Spread) -> Iterator[Row]:
    """Scatter and length of each instrument, and gusts."""
    moment = chosen.expected.plateaus.moment_tm
    x = moment - moment.mean()
    count, squares = len(instruments), float(x @ x)
    # dGM/GM = −db/b; a tangent's error e_k at one reading changes b by x_k e_k / S, averaged over the instruments
    to_gm = -setting.gm_m * setting.displacement_t * setting.gm_m
    for number, one in enumerate(instruments):
        tangent = spread.reading_m * (1.0 if one.kind == "pendulum" else np.sqrt(2.0)) / one.length_m
        slope = tangent / (count * np.sqrt(squares))
        yield (
            Input(
                name=f"instruments/{number}/readings",
                value=0.0,
                standard_uncertainty=1.0,
                unit="1",
                category="readings",
            ),
            setting.row(gm=to_gm * slope),
        )
        yield (
            Input(
                name=f"instruments/{number}/length_m",
                value=one.length_m,
                standard_uncertainty=spread.length_m,
                unit="m",
                category="lengths",
            ),
            setting.row(gm=setting.gm_m / (count * one.length_m)),
        )
    yield (
        Input(name="gusts", value=0.0, standard_uncertainty=spread.gust_ratio, unit="1", category="readings"),
        (setting.row(gm=to_gm / np.sqrt(squares))),
    )


def weights_rows(chosen: WeightSet, setting: Setting, spread: Spread) -> Iterator[Row]:
    """One factor on all masses; one error of y for each place a weight lies in."""
    gm = setting.gm_m
    lifted = sum(g.mass_t * (setting.lightship_z_m - float(g.home_m[2])) for g in chosen.groups)
    total = setting.row(gm=gm, removed=lifted)
    total[2] = -chosen.mass_t  # they leave the lightship; Δ itself is read from the freeboards
    yield (
        Input(
            name="weights/masses",
            value=1.0,
            standard_uncertainty=spread.weight_percent / 100,
            unit="1",
            category="weights",
        ),
        total,
    )
    moment = chosen.expected.plateaus.moment_tm
    x = moment - moment.mean()
    squares = float(x @ x)
    for rank, ((name, y), lies) in enumerate(_places(chosen).items()):
        mass = next(group.mass_t for group in chosen.groups if group.id == name)
        yield (
            Input(
                name=f"weights/{name}/place/{rank}",
                value=y,
                standard_uncertainty=spread.arm_m,
                unit="m",
                category="arms",
            ),
            setting.row(gm=gm * float(x @ (-mass * lies)) / squares),
        )


def _places(chosen: WeightSet) -> Mapping[tuple[str, float], Floats]:
    """Return for each weight and y the readings at which it lies there, as 0 and 1."""
    now = {group.id: round(float(group.home_m[1]), 9) for group in chosen.groups}
    moves = moves_of(chosen.groups)
    lies: dict[tuple[str, float], Floats] = {}
    for reading in range(len(moves) + 1):
        if reading:
            now[moves[reading - 1].weight] = round(moves[reading - 1].to_y_m, 9)
        for name, y in now.items():
            lies.setdefault((name, y), np.zeros(len(moves) + 1))[reading] = 1.0
    return lies


def buoyancy_rows(
    ship: PlannedShip, chosen: WeightSet, setting: Setting, stations: Sequence[Station], spread: Spread
) -> Iterator[Row]:
    """Draft moves Δ, KM and GM together; trim likewise; density and the hull's volume move Δ and GM."""
    plane = chosen.condition.position.planes
    length = ship.length_bp_m
    draft, trim, heel = (
        float(plane.draft_m(length_bp_m=length)[0]),
        float(plane.trim_m(length_bp_m=length)[0]),
        float(plane.heel_deg[0]),
    )
    step = 1e-3

    def around(change: Callable[[float], tuple[float, float]]) -> tuple[float, float]:
        """Return dΔ and dKM for a metre."""
        (d0, t0), (d1, t1) = change(-step), change(step)
        planes = Planes.from_waterplanes(draft_m=[d0, d1], trim_m=[t0, t1], heel_deg=heel, length_bp_m=length)
        h = hydrostatics(solid=ship.hull, planes=planes, density_t_per_m3=ship.density_t_per_m3, length_bp_m=length)
        mass, km = h.displacement_t, h.km_transverse_m
        return float(np.diff(mass)[0]) / (2 * step), float(np.diff(km)[0]) / (2 * step)

    x = np.array([one.x_m for one in stations])
    design = np.stack([np.ones_like(x), 0.5 - x / length, -np.array([one.y_m for one in stations])], axis=1)
    covariance = np.linalg.pinv(design.T @ design)
    root = np.linalg.cholesky(covariance[:2, :2] + 1e-18 * np.eye(2)) if len(stations) > 2 else np.zeros((2, 2))
    by_draft = around(lambda s: (draft + s, trim))
    by_trim = around(lambda s: (draft, trim + s))
    surface = chosen.condition.free_surface_tm

    def column(draft_share: float, trim_share: float) -> list[float]:
        mass = draft_share * by_draft[0] + trim_share * by_trim[0]
        km = draft_share * by_draft[1] + trim_share * by_trim[1]
        gm = -setting.gm_m * mass / setting.displacement_t
        rise = -surface / setting.displacement_t**2 * mass
        return setting.row(gm=gm, vcg=km - gm - rise, mass=mass)

    for number, name in enumerate(("freeboards/draft", "freeboards/trim")):
        yield (
            Input(name=name, value=0.0, standard_uncertainty=spread.freeboard_m, unit="m", category="freeboards"),
            column(float(root[0, number]), float(root[1, number])),
        )
    yield (
        Input(
            name="freeboards/common",
            value=0.0,
            standard_uncertainty=spread.freeboard_common_m,
            unit="m",
            category="freeboards",
        ),
        column(1.0, 0.0),
    )

    def scaled(relative: float) -> list[float]:
        mass = setting.displacement_t * relative
        gm = -setting.gm_m * relative
        return setting.row(gm=gm, vcg=-gm + surface / setting.displacement_t * relative, mass=mass)

    yield (
        Input(
            name="water/density",
            value=ship.density_t_per_m3,
            standard_uncertainty=spread.density_t_per_m3,
            unit="t/m³",
            category="water",
        ),
        scaled(1 / ship.density_t_per_m3),
    )
    yield (
        Input(
            name="hull/volume",
            value=1.0,
            standard_uncertainty=spread.hull_volume_percent / 100,
            unit="1",
            category="hull",
        ),
        scaled(1.0),
    )


def liquids_rows(ship: PlannedShip, chosen: WeightSet, setting: Setting, spread: Spread) -> Iterator[Row]:
    """Volume of each tank: what leaves the lightship, and its free surface."""
    normals = chosen.condition.position.planes.normals
    for number, tank in enumerate(ship.tanks):
        liquid = tank.liquid
        if liquid.volume_m3 <= 0:
            continue
        z = _height_of_next(liquid, normals)
        column = setting.row(
            vcg=-_surface_slope(tank.liquid.tank, liquid.volume_m3, normals)
            * liquid.volume_m3
            * liquid.density_t_per_m3
            / setting.displacement_t,
            removed=liquid.mass_t * (setting.lightship_z_m - z),
        )
        column[2] = -liquid.mass_t
        yield (
            Input(
                name=f"tanks/{number}/volume",
                value=1.0,
                standard_uncertainty=spread.tank_volume_percent / 100,
                unit="1",
                category="tanks",
            ),
            column,
        )


def _height_of_next(liquid: Liquid, normals: Floats) -> float:
    """Return the height at which a little more liquid lies: d(V z)/dV, that of the surface; of a full tank its centre.

    A full tank can hold no more: what is uncertain of it is spread over the whole of it. [m]
    """
    if liquid.volume_m3 >= (1 - FULL_RATIO) * liquid.tank.capacity_m3:
        return float(liquid.tank.full_centroid_m[2])
    volumes = liquid.volume_m3 - np.array([0.0, 1e-4 * liquid.tank.capacity_m3])
    volumes = np.maximum(volumes, 0.0)
    z = liquid_in(liquid.tank, volume_m3=volumes, normals=np.repeat(normals, 2, axis=0)).centroid_m[:, 2]
    return float((volumes[0] * z[0] - volumes[1] * z[1]) / (volumes[0] - volumes[1]))


def _surface_slope(tank: Tank, volume: float, normals: Floats) -> float:
    """Return di/dV of the real surface; 0 at the ends of the tank. [m]"""
    step = 1e-3 * tank.capacity_m3
    if not step < volume < tank.capacity_m3 - step:
        return 0.0
    moments = [
        float(surface_moments(liquid_in(tank, volume_m3=volume + s, normals=normals).surface_tensor_m4, normals)[0][0])
        for s in (-step, step)
    ]
    return (moments[1] - moments[0]) / (2 * step)


def ledger_rows(ship: PlannedShip, setting: Setting, spread: Spread) -> Iterator[Row]:
    """Mass and height of each item."""
    for number, item in enumerate(ship.items):
        here = -1.0 if item.action == "add" else 1.0
        gap = setting.lightship_z_m - float(item.centre_m[2])
        if item.to_m is not None:
            column = setting.row(removed=item.mass_t * float(item.to_m[2] - item.centre_m[2]))
        else:
            column = setting.row(removed=here * item.mass_t * gap)
            column[2] = -here * item.mass_t
        yield (
            Input(
                name=f"items/{number}/mass",
                value=1.0,
                standard_uncertainty=spread.ledger_mass_percent / 100,
                unit="1",
                category="ledger",
            ),
            column,
        )
        yield (
            Input(
                name=f"items/{number}/height",
                value=float(item.centre_m[2]),
                standard_uncertainty=spread.ledger_centre_m,
                unit="m",
                category="ledger",
            ),
            setting.row(removed=-here * item.mass_t),
        )
