"""A plan played through, as a record. Layer: service.schemas."""

from typing import Any

from engine.planning.moves import weights_of
from engine.planning.plan import Plan
from engine.planning.rehearsal import Sheet, rehearse
from service.edge.axes import from_ship_frame
from service.edge.quantities import Measured
from service.schemas.comparison import StatedLightship
from service.schemas.incline import Move, Pendulum, UTube, Weight
from service.schemas.plan import PlanRequest, RehearsalAsked
from service.schemas.record import StabilityTest
from service.schemas.survey import Freeboard, Water
from service.schemas.tank import TankOf


def rehearsed(plan: Plan, request: PlanRequest, asked: RehearsalAsked) -> dict[str, Any] | None:
    """Return the record a crew would write as JSON, in the axes of the request; None where there is none."""
    record = rehearsed_test(plan, request, asked)
    if record is None:
        return None
    turned = record.model_copy(update={"axes": request.axes})
    written = from_ship_frame(turned, request.axes, length_bp_m=request.hull.length_bp_m)
    return written.model_dump(mode="json", exclude_none=True, exclude_defaults=True)


def rehearsed_test(plan: Plan, request: PlanRequest, asked: RehearsalAsked) -> StabilityTest | None:
    """Return the test a crew would write down, in the ship's frame; None where nothing can be moved or read.

    ``request`` is in the ship's frame but for its ``axes``. What is slack is written as a volume, as planned.
    """
    found = plan.search.found
    if found is None or not plan.instruments:
        return None
    sheets = rehearse(
        expected=found.expected, stations=plan.stations, instruments=plan.instruments, noise=asked.noise()
    )
    estimate = request.lightship
    return StabilityTest(
        vessel=request.vessel,
        hull=request.hull,
        water=Water.model_validate({"samples": ({"density_t_per_m3": request.density_t_per_m3},)}),
        freeboards=tuple(
            Freeboard(
                x_m=Measured(one.x_m),
                y_m=Measured(one.y_m),
                reference_z_m=Measured(one.z_m),
                freeboard_m=Measured(float(free)),
            )
            for one, free in zip(plan.stations, sheets.freeboards_m, strict=True)
        ),
        tanks=tuple(
            _tank(given, row.state, volume)
            for given, row, volume in zip(request.tanks, plan.tanks, plan.tank_volumes_m3, strict=True)
        ),
        weights=tuple(
            Weight(
                id=name,
                mass_t=Measured(one.mass_t),
                x_m=Measured(float(one.centre_m[0])),
                y_m=Measured(float(one.centre_m[1])),
                z_m=Measured(float(one.centre_m[2])),
            )
            for name, one in weights_of(found.groups).items()
        ),
        moves=tuple(Move(weight=one.weight, to_y_m=Measured(one.to_y_m)) for one in found.moves),
        instruments=tuple(
            _instrument(request.instrument_places[one.place].id, sheet)
            for one, sheet in zip(plan.instruments, sheets.sheets, strict=True)
        ),
        items=request.items,
        predicted=StatedLightship(mass_t=estimate.mass_t, x_m=estimate.x_m, y_m=estimate.y_m, z_m=estimate.z_m),
        uncertainty=request.uncertainty,
    )


def _tank(given: TankOf, state: str, volume: float) -> TankOf:
    contents = {"kind": state} if state != "slack" else {"kind": "volume", "volume_m3": volume}
    return TankOf.model_validate(
        {name: getattr(given, name) for name in TankOf.model_fields if name != "contents"} | {"contents": contents}
    )


def _instrument(name: str, sheet: Sheet) -> Pendulum | UTube:
    readings = tuple(sheet.readings_m.tolist())
    if sheet.kind == "pendulum":
        return Pendulum.model_validate(
            {
                "kind": "pendulum",
                "id": name,
                "length_m": sheet.length_m,
                "positive": "starboard",
                "deflections_m": readings,
            }
        )
    return UTube.model_validate(
        {
            "kind": "u_tube",
            "id": name,
            "spread_m": sheet.length_m,
            "port_levels_m": tuple(sheet.port_levels_m.tolist()),
            "starboard_levels_m": readings,
        }
    )
