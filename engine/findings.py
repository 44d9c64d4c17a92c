"""What was noticed about the data without refusing them. Layer: the lowest."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Finding:
    """A stable kebab-case code, a sentence with numbers, and where it applies a count and a place.

    Attributes
    ----------
    code : str
        Kebab-case, stable.
    message : str
        Numbers as %.6g; never a string of the request.
    count : int or None
        How many.
    place_m : tuple of three floats or None
        x, y, z of one of them. [m]
    """

    code: str
    message: str
    count: int | None = None
    place_m: tuple[float, float, float] | None = None
