r"""The floating plane from freeboards and draft marks. Layer: engine.survey.

In the ship's frame the water stands at

.. math:: z(x, y) = T + t(\tfrac12 - x/L) - y\tan\varphi + s\,(1 - (2x/L - 1)^2)

with T the draft at midlength on the centreline, t the trim by the stern, φ the heel to starboard and s the
sag of the hull: a hull sagged by s has its midlength s lower, so the water stands s higher there against the
undeformed frame. T is then the chord's draft (IMO 2008 IS Code, B/8.4.1: "straight, hogged or sagged" line).
"""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive, within
from engine.deadline import checkpoint
from engine.errors import NotDeterminedError
from engine.geometry.plane import Planes

Deflection = Literal["auto", "apply", "ignore"]

SIGNIFICANT_SAG_RATIO = 3.0
"""Deflection is applied by "auto" where it exceeds this many of its own standard uncertainties (our choice)."""


@dataclass(frozen=True, eq=False)
class Heights:
    """Heights of the water read at n places, in the ship's frame.

    Attributes
    ----------
    x_m, y_m : (n,) float64
        Where. [m]
    from_m : (n,) float64
        z of the point measured from: the freeboard's reference, or the mark's zero. [m]
    plumb_m : (n,) float64
        Length hanging plumb from there down to the water (freeboards), 0 for marks. [m]
    up_m : (n,) float64
        Height read along the ship's own z from there up to the water (marks), 0 for freeboards. [m]
    standard_uncertainty_m : (n,) float64
        Of each reading, for its weight. [m]
    """

    x_m: Floats
    y_m: Floats
    from_m: Floats
    plumb_m: Floats
    up_m: Floats
    standard_uncertainty_m: Floats

    @classmethod
    def from_readings(
        cls,
        *,
        x_m: ArrayLike,
        y_m: ArrayLike,
        from_m: ArrayLike,
        plumb_m: ArrayLike,
        up_m: ArrayLike,
        standard_uncertainty_m: ArrayLike,
    ) -> "Heights":
        """Check and broadcast the readings."""
        x, y, start, plumb, up, uncertainty = np.broadcast_arrays(
            finite(x_m, field="x_m"),
            finite(y_m, field="y_m"),
            finite(from_m, field="from_m"),
            finite(plumb_m, field="plumb_m"),
            finite(up_m, field="up_m"),
            within(standard_uncertainty_m, low=0.0, high=10.0, field="standard_uncertainty_m", unit="m"),
        )
        return cls(x, y, start, plumb, up, uncertainty)

    def at(self, upward: float) -> Floats:
        """Return z of the water at each place when the plane's normal has n_z = ``upward``."""
        return self.from_m - self.plumb_m / upward + self.up_m


@dataclass(frozen=True, eq=False)
class FloatingPlane:
    """The fitted plane.

    Attributes
    ----------
    draft_m, trim_m, heel_deg : float
        Design signs: chord draft at midlength, by the stern +, to starboard +.
    sag_m : float
        Sag of the hull at midlength applied, hog negative; 0 where ignored or not significant. [m]
    sag_standard_uncertainty_m : float
        Of the fitted sag; NaN where the readings do not determine one. [m]
    residual_m : (n,) float64
        Reading minus fit, up +. [m]
    residual_standard_uncertainty_m : (n,) float64
        Of each residual, from the readings' own standard uncertainties (from the scatter where those are 0). [m]
    degrees_of_freedom_count : int
        Readings less fitted numbers.
    by_height : (4, n) float64
        Derivatives of draft [m], trim [m], tan heel and sag [m] by the height of the water at each reading,
        the plumb tapes' own turn included; the last row is 0 where no sag is fitted.
    upward : float
        n_z of the plane.
    chi_square : float
        Weighted sum of squares of the residuals; NaN where no uncertainties are stated.
    """

    draft_m: float
    trim_m: float
    heel_deg: float
    sag_m: float
    sag_standard_uncertainty_m: float
    residual_m: Floats
    residual_standard_uncertainty_m: Floats
    degrees_of_freedom_count: int
    by_height: Floats
    upward: float
    chi_square: float

    @property
    def scatter_ratio(self) -> float:
        """Root of χ²/ν of the residuals against the readings' stated uncertainties; NaN where it cannot be told."""
        freedom = self.degrees_of_freedom_count
        return float(np.sqrt(self.chi_square / freedom)) if freedom > 0 else float("nan")

    def plane(self, *, length_bp_m: float) -> Planes:
        """Return the plane of the chord."""
        return Planes.from_waterplanes(
            draft_m=self.draft_m, heel_deg=self.heel_deg, trim_m=self.trim_m, length_bp_m=length_bp_m
        )


def floating_plane(*, heights: Heights, length_bp_m: float, deflection: Deflection = "auto") -> FloatingPlane:
    """Fit the floating plane, and the hull's sag where asked, by weighted least squares.

    Parameters
    ----------
    heights : Heights
        At least three readings that do not lie on one line.
    length_bp_m : float
        Length between perpendiculars. [m]
    deflection : {"auto", "apply", "ignore"}
        "auto" fits the sag and keeps it where it exceeds three of its standard uncertainties.

    Raises
    ------
    NotDeterminedError
        ``plane-not-determined``: too few readings or all on a line. ``deflection-not-determined``: "apply"
        without readings at three different x.
    """
    length = positive(length_bp_m, field="length_bp_m", unit="m")
    flat = _design(heights, length, sag=False)
    if len(flat) < 3 or _rank(flat) < 3:
        lie = ", on one line" if len(flat) > 2 else ""
        raise NotDeterminedError(
            f"the readings do not fix a plane: three places not on one line are needed, {len(flat)} are given{lie}",
            code="plane-not-determined",
            value=len(flat),
            limit=3,
        )
    bent = _design(heights, length, sag=True)
    bendable = len(bent) > 4 and _rank(bent) == 4
    if deflection == "apply" and not bendable:
        raise NotDeterminedError(
            f"the readings do not fix a deflection: five readings at three different x are needed, {len(bent)} at "
            f"{len(np.unique(heights.x_m))} are given",
            code="deflection-not-determined",
            value=len(bent),
            limit=5,
        )
    if deflection == "ignore" or not bendable:
        return _fit(heights, length, flat, sag_uncertainty=np.nan)
    weights = _weights(heights)
    sag_uncertainty = float(np.sqrt(np.linalg.inv(bent.T @ (weights[:, None] * bent))[3, 3]))
    fitted = _fit(heights, length, bent, sag_uncertainty=sag_uncertainty)
    if fitted.scatter_ratio > 1:  # readings that scatter more than stated do not fix a sag as well as stated
        sag_uncertainty *= fitted.scatter_ratio
        fitted = replace(fitted, sag_standard_uncertainty_m=sag_uncertainty)
    if deflection == "apply" or abs(fitted.sag_m) > SIGNIFICANT_SAG_RATIO * sag_uncertainty:
        return fitted
    return _fit(heights, length, flat, sag_uncertainty=sag_uncertainty)


def _design(heights: Heights, length: float, *, sag: bool) -> Floats:
    station = heights.x_m / length
    columns = [np.ones_like(station), 0.5 - station, -heights.y_m]
    if sag:
        columns.append(1.0 - (2.0 * station - 1.0) ** 2)
    return np.stack(columns, axis=1)


def _rank(design: Floats) -> int:
    """Rank with the columns scaled, so that a narrow ship is not taken for a line."""
    norms = np.linalg.norm(design, axis=0)
    return int(np.linalg.matrix_rank(design / np.where(norms > 0, norms, 1.0), tol=1e-8 * np.sqrt(len(design))))


def _weights(heights: Heights) -> Floats:
    """1/u², and equal weights where any uncertainty is stated as zero."""
    u = heights.standard_uncertainty_m
    return 1.0 / np.square(u) if (u > 0).all() else np.ones_like(u)


def _fit(heights: Heights, length: float, design: Floats, *, sag_uncertainty: float) -> FloatingPlane:
    root = np.sqrt(_weights(heights))
    upward = 1.0
    for _ in range(50):  # plumb tapes need the plane's own slope: a contraction of order heel²
        checkpoint()
        height = heights.at(upward)
        numbers = np.linalg.lstsq(root[:, None] * design, root * height, rcond=None)[0]
        previous, upward = upward, 1.0 / np.sqrt(1.0 + (numbers[1] / length) ** 2 + numbers[2] ** 2)
        if abs(upward - previous) <= 1e-15:
            break
    else:
        raise NotDeterminedError("the plane does not settle: check the freeboards", code="plane-not-determined")
    weighted = design.T * root**2
    # numbers n solve Aᵀ W (A n − z(n)) = 0, and z depends on n through the tape's n_z
    by_upward = heights.plumb_m / upward**2
    turn = -(upward**3) * np.array([0.0, numbers[1] / length**2, numbers[2], 0.0])[: design.shape[1]]
    by_height = np.linalg.solve(weighted @ (design - np.outer(by_upward, turn)), weighted)
    residual = height - design @ numbers
    stated = heights.standard_uncertainty_m
    freedom = design.shape[0] - design.shape[1]
    chi_square = float(np.sum((residual / stated) ** 2)) if (stated > 0).all() else float("nan")
    if not (stated > 0).all():
        stated = np.full(len(residual), np.sqrt(residual @ residual / freedom) if freedom > 0 else 0.0)
    # weights are 1/u² or all equal, so the residuals' covariance is u² (1 − leverage) on its diagonal
    leverage = np.einsum("nq,qn->n", design, np.linalg.solve(weighted @ design, weighted))
    return FloatingPlane(
        draft_m=float(numbers[0]),
        trim_m=float(numbers[1]),
        heel_deg=float(np.degrees(np.arctan(numbers[2]))),
        sag_m=float(numbers[3]) if design.shape[1] == 4 else 0.0,
        sag_standard_uncertainty_m=sag_uncertainty,
        residual_m=residual,
        residual_standard_uncertainty_m=stated * np.sqrt(np.clip(1.0 - leverage, 0.0, None)),
        degrees_of_freedom_count=freedom,
        by_height=np.vstack([by_height, np.zeros((4 - design.shape[1], len(residual)))]),
        upward=float(upward),
        chi_square=chi_square,
    )
