"""Standard uncertainties where a record states none: choices of ours, in no regulation. Layer: engine.record."""

from dataclasses import dataclass, fields

from engine.errors import InputError


@dataclass(frozen=True, kw_only=True)
class Assumed:
    """Standard uncertainties of what the record gives without one.

    Attributes
    ----------
    freeboard_m : float
        Each freeboard or draft mark. [m]
    freeboard_common_m : float or None
        Common to all of them; None: 0.4 of ``freeboard_m``. [m]
    reading_m, reading_deg : float
        Each batten or level reading, each angle. Readings enter the result by their own scatter; these judge that
        scatter, and stand in for it where there are too few readings to show one. [m], [deg]
    weight_percent : float
        Masses of the inclining weights, one error common to all.
    arm_m : float
        y of each place where an inclining weight lies; the same place keeps its error. [m]
    length_m : float
        Each pendulum's length, each U-tube's spread. [m]
    density_t_per_m3 : float
        Of the water, common to the samples. [t/m³]
    hull_volume_percent : float
        Form of the hull: one factor on volume and on the waterplane's second moments.
    tank_volume_percent : float
        Liquid in each tank.
    ledger_mass_percent, ledger_centre_m : float
        Each item and survey difference: its mass, and each coordinate of its centre. [%], [m]
    """

    freeboard_m: float = 0.005
    freeboard_common_m: float | None = None
    reading_m: float = 0.0005
    reading_deg: float = 0.01
    weight_percent: float = 0.25
    arm_m: float = 0.005
    length_m: float = 0.003
    density_t_per_m3: float = 0.0003
    hull_volume_percent: float = 0.2
    tank_volume_percent: float = 2.0
    ledger_mass_percent: float = 5.0
    ledger_centre_m: float = 0.1

    def __post_init__(self) -> None:
        for one in fields(self):
            value = getattr(self, one.name)
            if value is not None and not value >= 0:
                raise InputError(
                    f"a standard uncertainty is 0 or above, is {value:.6g}",
                    code="negative-uncertainty",
                    field=one.name,
                    value=value,
                    limit=0.0,
                )

    @property
    def heights_common_m(self) -> float:
        """Common error of the freeboards and marks. [m]"""
        return 0.4 * self.freeboard_m if self.freeboard_common_m is None else self.freeboard_common_m


@dataclass(frozen=True)
class Stated:
    """What a record itself says of a value: standard uncertainty in the value's unit, and group."""

    standard_uncertainty: float | None = None
    group: str | None = None
