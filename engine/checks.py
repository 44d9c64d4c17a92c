"""Argument checks that name the field, the number and the limit. Layer: the lowest."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.errors import InputError

Floats = NDArray[np.float64]


def finite(values: ArrayLike, *, field: str) -> Floats:
    """Return ``values`` as float64; refuse a NaN or an infinity."""
    array = np.asarray(values, dtype=np.float64)
    if not np.isfinite(array).all():
        raise InputError("every number must be finite", code="not-finite", field=field)
    return array


def positive(value: float, *, field: str, unit: str = "") -> float:
    """Return ``value`` if it is finite and above zero."""
    number = float(finite(value, field=field))
    if number <= 0:
        raise InputError(
            f"must be above 0 {unit}".rstrip() + f", is {number:.6g}",
            code="not-positive",
            field=field,
            value=number,
            limit=0.0,
        )
    return number


def within(values: ArrayLike, *, low: float, high: float, field: str, unit: str = "") -> Floats:
    """Return ``values`` as float64 if all lie in [low, high]."""
    array = finite(values, field=field)
    outside = (array < low) | (array > high)
    if outside.any():
        worst = float(array[outside].flat[0])
        raise InputError(
            f"must lie from {low:.6g} to {high:.6g} {unit}".rstrip() + f", is {worst:.6g}",
            code="out-of-range",
            field=field,
            value=worst,
            limit=low if worst < low else high,
        )
    return array


def points(values: ArrayLike, *, columns: int, field: str) -> Floats:
    """Return ``values`` as an (n, columns) float64 array of finite numbers."""
    array = finite(values, field=field)
    if array.ndim != 2 or array.shape[1] != columns:
        raise InputError(f"must be a table of {columns} columns", code="wrong-shape", field=field)
    return array
