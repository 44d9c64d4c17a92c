"""Vertices and faces of a Wavefront OBJ text. Layer: engine.geometry.

Only ``v`` and ``f`` lines are read: a file or material the text names is never opened. Read here and not by
the mesh library, which takes a file of six quadrilaterals for eight triangles.
"""

import numpy as np

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.geometry.skin import Ints

_LINES = 50_000  # between two calls of the deadline's hook


def arrays_of_obj(data: bytes) -> tuple[Floats, Ints]:
    """Return the (n, 3) vertices and (m, 3) triangles; polygons are cut into fans from their first corner.

    Raises
    ------
    ValueError, IndexError
        A line that is not what its first word says.
    """
    vertices: list[list[float]] = []
    faces: list[tuple[int, int, int]] = []
    text = data.decode("ascii", errors="replace").replace("\\\r\n", " ").replace("\\\n", " ")
    for row, line in enumerate(text.splitlines()):
        if row % _LINES == 0:
            checkpoint()
        words = line.split("#", 1)[0].split()
        if not words:
            continue
        if words[0] == "v":
            vertices.append([float(words[1]), float(words[2]), float(words[3])])
        elif words[0] == "f":
            corners = [_index(word, len(vertices)) for word in words[1:]]
            if len(corners) < 3:
                raise ValueError("a face of fewer than three corners")
            faces.extend((corners[0], corners[i], corners[i + 1]) for i in range(1, len(corners) - 1))
    return np.array(vertices, dtype=np.float64).reshape(-1, 3), np.array(faces, dtype=np.intp).reshape(-1, 3)


def _index(word: str, count: int) -> int:
    """Return the vertex, from 0, of a corner "v", "v/t", "v//n" or "v/t/n"; v counts from 1, or back from −1."""
    number = int(word.split("/", 1)[0])
    if number == 0 or number < -count:
        raise ValueError("a corner that names no vertex")
    return number - 1 if number > 0 else count + number
