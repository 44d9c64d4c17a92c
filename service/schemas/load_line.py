"""A loading condition line by line. Layer: service.schemas."""

from typing import Annotated, Literal

from engine.stability import Load
from service.edge.axes import X, Y
from service.edge.model import Model
from service.schemas.loading import LoadingConditionOf


class LoadLine(Model):
    """One line of a condition: the lightship, an item, a tank, or what the lightship holds of a tank, taken off."""

    kind: Literal["lightship", "item", "tank", "lightship_liquid"]
    name: str | None = None
    """Of the item or tank; none for the lightship."""
    mass_t: float
    x_m: Annotated[float, X]
    y_m: Annotated[float, Y]
    z_m: float
    """Of a liquid: as it lies when she is upright."""
    volume_m3: float | None = None
    fill_percent: float | None = None
    density_t_per_m3: float | None = None
    free_surface_moment_tm: float | None = None
    """Of the upright tank as filled; what is allowed for stands in `free_surface_moment_tm` of the condition."""


def load_line(load: Load, noun: LoadingConditionOf) -> LoadLine:
    """Return a line as the answer has it, with the names of the request."""
    x, y, z = load.mass.centre_m.tolist()
    name = None
    more: dict[str, float] = {}
    if load.kind == "item":
        name = noun.items[load.number].name
    elif load.tank is not None:
        name = noun.tanks[load.number].tank
        if load.kind == "tank":
            more = {
                "volume_m3": load.tank.volume_m3,
                "fill_percent": 100.0 * load.tank.fill_ratio,
                "density_t_per_m3": load.tank.density_t_per_m3,
                "free_surface_moment_tm": load.free_surface_tm,
            }
    return LoadLine(kind=load.kind, name=name, mass_t=load.mass.mass_t, x_m=x, y_m=y + 0.0, z_m=z, **more)
