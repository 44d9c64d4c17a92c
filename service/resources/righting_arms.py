"""POST /v1/righting-arms. Layer: service.resources."""

from functools import partial
from typing import Annotated, Any, Literal, NamedTuple

import numpy as np
from fastapi import APIRouter
from pydantic import Field

from engine.checks import Floats
from engine.errors import EngineError, InputError
from engine.findings import Finding as EngineFinding
from engine.flotation.arm_curve import Side, side_curve
from engine.flotation.arm_particulars import SideParticulars, arm_particulars, openings_outside
from engine.flotation.held_heel import ROW_CODES
from engine.flotation.immersion import Opening
from engine.flotation.righting_arms import RightingArms, righting_arms, solid_weight
from engine.geometry import Planes, Solid
from engine.liquids import Liquid
from service.edge.axes import Axes, from_ship_frame, to_ship_frame
from service.edge.csv_table import columns_csv
from service.edge.model import Model
from service.edge.operation import operation
from service.edge.provenance import Provenance
from service.report.renderings import renderings
from service.report.tabular import righting_arms_report
from service.resources.hydrostatics import ColumnNote
from service.schemas.common import CAUTIONS, Finding, column, each, findings
from service.schemas.hull import BOX_BARGE, HullModel, solid_of
from service.schemas.righting_arms import (
    ArmColumns,
    ArmHeel,
    ArmsLoading,
    DeckEdge,
    OpeningImmersion,
    OpeningOf,
    SideArms,
    known,
    position_columns,
)
from service.schemas.table_arms import LOST_CODE, arms_by_tables
from service.schemas.table_hull import TablesHull
from service.schemas.tank import TankOf
from service.schemas.work import cutting_s

router = APIRouter()

UPRIGHT = np.array([[0.0, 0.0, 1.0]])
LEAST_CUTS_COUNT = 6
"""Times a hull is cut to find one position, at the least."""
HEELS_DEG = tuple(float(heel) for heel in range(-90, 91, 5))
SIDES: tuple[Side, ...] = ("starboard", "port")


class RightingArmsRequest(Model):
    """A hull, everything aboard, and heels to either side."""

    axes: Axes | None = None
    hull: Annotated[HullModel | TablesHull, Field(discriminator="kind")]
    """Of kind `tables` with cross curves: arms by them, what they cannot tell is left out."""
    density_t_per_m3: Annotated[float, Field(gt=0.1, le=20)]
    loading: ArmsLoading
    tanks: Annotated[tuple[TankOf, ...], Field(max_length=500)] = ()
    """Tanks whose liquids are part of the loading; contents sounded upright."""
    liquids: Literal["moving", "correction"] = "moving"
    """Which arms the particulars are taken from where tanks are given; both are answered."""
    heel_deg: Annotated[tuple[ArmHeel, ...], Field(min_length=1, max_length=361)] = HEELS_DEG
    trim: Literal["free", "fixed"] = "free"
    trim_m: Annotated[float, Field(ge=-1000, le=1000)] | None = None
    """With trim fixed, the trim held; left out, that at no heel."""
    openings: Annotated[tuple[OpeningOf, ...], Field(max_length=500)] = ()
    deck_edge_m: DeckEdge | None = None
    """Points along the deck edge of both sides, straight between them."""
    sag_m: Annotated[float, Field(ge=-10, le=10)] = 0.0


class RightingArmsAnswer(Model):
    """The curve, and what it says of each side that was asked about."""

    displacement_t: float
    liquids: Literal["moving", "correction"]
    """The arms in use."""
    free_surface_tm: float
    """Of the surfaces at no heel, or as given."""
    free_surface_correction_m: float
    """Moment over displacement."""
    gm_solid_m: float | None = None
    gm_fluid_m: float | None = None
    columns: ArmColumns
    column_notes: tuple[ColumnNote, ...]
    starboard: SideArms | None = None
    port: SideArms | None = None
    openings: tuple[OpeningImmersion, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
    provenance: Provenance = Provenance()


EXAMPLE: dict[str, Any] = {
    "hull": BOX_BARGE,
    "density_t_per_m3": 1.025,
    "loading": {"displacement_t": 2583.0, "lcg_m": 30.0, "tcg_m": 0.0, "vcg_m": 4.5},
    "heel_deg": [-40, -30, -20, -10, 0, 10, 20, 30, 40, 50, 60],
    "tanks": [
        {
            "name": "fuel",
            "shape": {
                "kind": "box",
                "x_min_m": 20,
                "x_max_m": 30,
                "y_min_m": -2,
                "y_max_m": 2,
                "z_min_m": 0,
                "z_max_m": 2,
            },
            "density_t_per_m3": 0.86,
            "contents": {"kind": "volume", "volume_m3": 40.0},
        }
    ],
    "openings": [{"name": "vent", "x_m": 20.0, "y_m": -5.0, "z_m": 8.8, "kind": "unprotected"}],
    "deck_edge_m": [[0, -6, 8], [60, -6, 8], [0, 6, 8], [60, 6, 8]],
}


@operation(
    router,
    "/v1/righting-arms",
    request=RightingArmsRequest,
    response=RightingArmsAnswer,
    operation_id="compute_righting_arms",
    summary="Righting arms, areas, flooding and deck-edge angles",
    example=EXAMPLE,
    tag="hydrostatics",
    csv=lambda answer, units: columns_csv(answer.columns.model_dump(exclude_none=True), units),
    renderings=renderings(righting_arms_report),
    expected_work_s=lambda request: cutting_s(request.hull, LEAST_CUTS_COUNT * len(request.heel_deg)),
)
def compute(request: RightingArmsRequest) -> RightingArmsAnswer:
    """Return righting arms with liquids moving and by the correction, and the particulars of each side asked about.

    An arm is positive where it turns her back to port: positive arms right a ship heeled to starboard, negative ones a
    ship heeled to port. Particulars count heels towards their side and righting arms as positive.
    """
    length = request.hull.length_bp_m
    turned = to_ship_frame(request, request.axes, length_bp_m=length)
    _refuse_contradictions(turned)
    if isinstance(turned.hull, TablesHull):
        return from_ship_frame(_by_tables(turned, turned.hull), request.axes, length_bp_m=length)
    solid, found = solid_of(turned.hull)
    if turned.sag_m:
        solid = solid.bent(sag_m=turned.sag_m, length_bp_m=length)
    tanks = each(turned.tanks, TankOf.aboard, "tanks")
    liquids = each(tanks, lambda tank: tank.liquid(normals=UPRIGHT), "tanks")
    openings = tuple(one.opening() for one in turned.openings)
    try:
        curves = _curves(turned, solid, liquids, openings)
        columns = _columns(curves, length)
    except EngineError as error:
        if error.code == "no-equilibrium":
            error.field = "loading"
        elif error.field in ("mass_t", "displacement_t"):
            error.field = "loading/displacement_t"
        elif error.code in ROW_CODES:  # not one of the heels has a position
            error.field = "heel_deg"
        raise
    used, corrected, sides = curves.used, curves.corrected, curves.sides
    noticed: list[EngineFinding] = [*found, *(one for tank in tanks for one in tank.tank.findings)]
    noticed += openings_outside(openings, solid.bounds_m)
    noticed += [one for side in sides.values() for one in side.findings]
    answer = RightingArmsAnswer(
        displacement_t=used.mass_t,
        liquids="moving" if used is curves.moving else "correction",
        free_surface_tm=corrected.afloat.free_surface_tm,
        free_surface_correction_m=corrected.afloat.correction_m,
        gm_solid_m=known(curves.gm_solid_m),
        gm_fluid_m=known(curves.gm_fluid_m),
        columns=columns,
        column_notes=_notes(columns, used),
        starboard=SideArms.of(sides["starboard"]) if "starboard" in sides else None,
        port=SideArms.of(sides["port"]) if "port" in sides else None,
        openings=_openings(turned, sides),
        findings=findings(tuple(noticed)),
    )
    return from_ship_frame(answer, request.axes, length_bp_m=length)


def _by_tables(request: RightingArmsRequest, hull: TablesHull) -> RightingArmsAnswer:
    for field, given in (("trim", request.trim == "fixed"), ("sag_m", request.sag_m != 0.0)):
        if given:
            raise InputError(
                "cross curves are of the hull and the trim they were made for", code=LOST_CODE, field=field
            )
    tanks = each(request.tanks, TankOf.aboard, "tanks")
    surface = _free_surface_tm(request, each(tanks, lambda tank: tank.liquid(normals=UPRIGHT), "tanks"))
    found = arms_by_tables(
        hull,
        loading=request.loading,
        density_t_per_m3=request.density_t_per_m3,
        heel_deg=request.heel_deg,
        free_surface_tm=surface,
        places_given=bool(request.openings) or request.deck_edge_m is not None,
        liquids_given=bool(request.tanks) and request.liquids == "moving",
    )
    displacement = request.loading.displacement_t.value
    return RightingArmsAnswer(
        displacement_t=displacement,
        liquids="correction",
        free_surface_tm=surface,
        free_surface_correction_m=surface / displacement,
        gm_solid_m=found.gm_solid_m,
        gm_fluid_m=found.gm_fluid_m,
        columns=found.columns,
        column_notes=tuple(
            ColumnNote(column=name, row=row, code="beyond-tables")
            for name, values in found.columns.model_dump(exclude_none=True).items()
            for row, value in enumerate(values)
            if value is None
        ),
        starboard=found.sides.get("starboard"),
        port=found.sides.get("port"),
        openings=(),
        findings=findings((*(one for tank in tanks for one in tank.tank.findings), *found.findings)),
    )


def _free_surface_tm(request: RightingArmsRequest, liquids: tuple[Liquid, ...]) -> float:
    """Return the moment stated, or that of the liquids' surfaces upright. [t·m]"""
    surface = request.loading.free_surface_tm or 0.0
    for liquid in liquids:
        surface += liquid.density_t_per_m3 * float(liquid.at(UPRIGHT).surface_tensor_m4[0, 1, 1])
    return surface


class _Curves(NamedTuple):
    """The arms by the correction, with liquids moving where there are any, those in use, and what they say."""

    corrected: RightingArms
    moving: RightingArms | None
    used: RightingArms
    sides: dict[Side, SideParticulars]
    gm_solid_m: float
    gm_fluid_m: float


def _curves(
    request: RightingArmsRequest, solid: Solid, liquids: tuple[Liquid, ...], openings: tuple[Opening, ...]
) -> _Curves:
    corrected, moving = _arms(request, solid, liquids)
    used = corrected if moving is None or request.liquids == "correction" else moving
    edge = None if request.deck_edge_m is None else np.array(request.deck_edge_m)
    sides = {
        side: arm_particulars(side_curve(used, side=side, range_deg=reach), openings=openings, deck_edge_m=edge)
        for side in SIDES
        if (reach := max((1.0 if side == "starboard" else -1.0) * heel for heel in request.heel_deg)) > 0
    }
    gm_solid, gm_fluid = float(corrected.at(0.0).gm_fluid_m[0]), float(used.at(0.0).gm_fluid_m[0])
    return _Curves(corrected, moving, used, sides, gm_solid + corrected.afloat.correction_m, gm_fluid)


def _refuse_contradictions(request: RightingArmsRequest) -> None:
    if request.tanks and request.loading.free_surface_tm is not None:
        raise InputError(
            "tanks and a moment of free surfaces would count them twice",
            code="free-surface-twice",
            field="loading/free_surface_tm",
        )
    if request.trim == "free" and request.trim_m is not None:
        raise InputError("she trims freely: no trim is held", code="trim-is-free", field="trim_m")


def _arms(
    request: RightingArmsRequest, solid: Solid, liquids: tuple[Liquid, ...]
) -> tuple[RightingArms, RightingArms | None]:
    """Return the arms by the correction, and with the liquids moving where there are any."""
    loading = request.loading
    displacement = loading.displacement_t.value
    centre = [loading.lcg_m.value, loading.tcg_m.value, loading.vcg_m.value]
    surface = _free_surface_tm(request, liquids)
    start = None
    if request.trim_m is not None:
        start = Planes.from_waterplanes(draft_m=0.0, trim_m=request.trim_m, length_bp_m=request.hull.length_bp_m)
    asked = partial(
        righting_arms,
        solid=solid,
        density_t_per_m3=request.density_t_per_m3,
        heel_deg=request.heel_deg,
        trim=request.trim,
    )
    corrected = asked(mass_t=displacement, centre_m=centre, free_surface_tm=surface, start=start)
    if not liquids:
        return corrected, None
    rest, rest_centre = solid_weight(displacement_t=displacement, centre_m=centre, liquids=liquids)
    held = Planes.from_angles(heel_deg=0.0, slope_ratio=corrected.afloat.slope_ratio, offsets_m=0.0)
    return corrected, asked(mass_t=rest, centre_m=rest_centre, liquids=liquids, start=held)


def _columns(curves: _Curves, length: float) -> ArmColumns:
    used, corrected, moving = curves.used, curves.corrected, curves.moving
    solid = corrected.gz_m + corrected.afloat.correction_m * np.sin(np.radians(corrected.heel_deg))
    return ArmColumns.model_validate(
        {
            "heel_deg": column(used.heel_deg),
            "righting_arm_m": column(used.gz_m),
            "righting_arm_moving_m": None if moving is None else column(moving.gz_m),
            "righting_arm_correction_m": column(corrected.gz_m),
            "righting_arm_solid_m": column(solid),
            "area_from_upright_m_rad": column(_areas_from_upright(used, curves.sides)),
            **position_columns(used, length_bp_m=length),
        }
    )


def _areas_from_upright(used: RightingArms, sides: dict[Side, SideParticulars]) -> Floats:
    areas = np.where(used.heel_deg == 0, 0.0, np.nan)
    for side in sides.values():
        theta = side.curve.sign * used.heel_deg
        rows = np.flatnonzero((theta > 0) & (theta <= side.curve.end_deg))
        found = side.curve.areas(np.column_stack([np.zeros(len(rows)), theta[rows]]))
        areas[rows] = [area.area_m_rad for area in found]
    return areas


def _notes(columns: ArmColumns, used: RightingArms) -> tuple[ColumnNote, ...]:
    return tuple(
        ColumnNote(column=name, row=row, code=used.codes[row] or "not-defined-here")
        for name, values in columns.model_dump(exclude_none=True).items()
        for row, value in enumerate(values)
        if value is None
    )


def _openings(request: RightingArmsRequest, sides: dict[Side, SideParticulars]) -> tuple[OpeningImmersion, ...]:
    angles = {side: found.immersions.openings_deg.tolist() for side, found in sides.items()}
    return tuple(
        OpeningImmersion(
            name=one.name,
            kind=one.kind,
            immersion_starboard_deg=known(angles["starboard"][i]) if "starboard" in angles else None,
            immersion_port_deg=known(angles["port"][i]) if "port" in angles else None,
        )
        for i, one in enumerate(request.openings)
    )
