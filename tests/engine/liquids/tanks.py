"""Answers worked out without the engine's geometry: polygons clipped and strips summed."""

import numpy as np
import shapely
from scipy.optimize import brentq


def normal(heel_deg, slope=0.0):
    n = np.array([slope, np.tan(np.radians(heel_deg)), 1.0])
    return n / np.linalg.norm(n)


def clipped_section(polygon, *, heel_deg, area):
    """Centre (y, z) of the liquid of ``area`` in a transverse polygon, and the width of its surface, by clipping."""
    n = normal(heel_deg)[1:]
    along = np.array([-n[1], n[0]])
    heights = np.asarray(polygon) @ n
    shape = shapely.Polygon(polygon)

    def below(d):
        corner = d * n
        far = 1e3
        half_plane = [corner + far * along, corner - far * along, corner - far * along - far * n]
        return shape.intersection(shapely.Polygon([*half_plane, corner + far * along - far * n]))

    d = brentq(lambda d: below(d).area - area, heights.min(), heights.max(), xtol=1e-15, rtol=1e-15)
    surface = shapely.LineString([d * n - 1e3 * along, d * n + 1e3 * along]).intersection(shape)
    part = below(d)
    return np.array([part.centroid.x, part.centroid.y]), surface.length


def standing_cylinder(*, radius, height, heel_deg, volume, strips=20_000):
    """Centre (y, z) of the liquid in a standing cylinder on z = 0 about y = 0, by Gauss-like strips across y.

    With y = r sin a the strips are even in a and the breadth 2 r cos a is smooth at the ends.
    """
    angle = (np.arange(strips) + 0.5) * np.pi / strips - np.pi / 2
    y = radius * np.sin(angle)
    base = 2 * (radius * np.cos(angle)) ** 2 * np.pi / strips
    tangent = np.tan(np.radians(heel_deg))

    def depth(level):
        return np.clip(level - y * tangent, 0.0, height)

    reach = radius * abs(tangent)
    level = brentq(lambda z: float(base @ depth(z)) - volume, -reach, height + reach, xtol=1e-14)
    h = depth(level)
    return np.array([base @ (h * y), base @ (h * h) / 2]) / (base @ h)
