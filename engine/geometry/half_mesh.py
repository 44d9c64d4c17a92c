"""Half a body completed by its mirror image. Layer: engine.geometry."""

import numpy as np

from engine.checks import Floats
from engine.errors import InputError
from engine.findings import Finding
from engine.geometry import skin as _skin
from engine.geometry.skin import Ints

CENTRELINE_RATIO = 1e-9
"""Of the body's size: how far from y = 0 a centreline vertex may lie."""


def mirrored(vertices: Floats, faces: Ints, findings: list[Finding]) -> tuple[Floats, Ints]:
    """Return a half skin and its mirror image in y = 0 as one skin.

    Faces in the centreline plane are dropped, and vertices within ``CENTRELINE_RATIO`` of it set on it; both
    are noted. Vertices on both sides, or an open half that does not reach the centreline, are refused.

    Raises
    ------
    InputError
        "half-mesh-off-centreline".
    """
    tolerance = CENTRELINE_RATIO * float(np.ptp(vertices, axis=0).max())
    y = vertices[:, 1]
    across = min(float(y.max()), -float(y.min()))
    if across > tolerance:
        _refuse(f"a half mesh reaches {across:.6g} m over the centreline", across, tolerance)
    on = np.abs(y) <= tolerance
    flat = on[faces].all(axis=1)
    if flat.any():
        count = int(flat.sum())
        findings.append(
            Finding("centreline-faces-dropped", f"{count} triangles in the centreline plane are left out", count)
        )
        faces = faces[~flat]
        if not len(faces):
            raise InputError("the mesh has no triangle", code="empty-mesh", field="faces", value=0.0, limit=1.0)
    edges = _skin.count_edges(faces, vertex_count=len(vertices)).open
    if len(edges) and not on[edges].all(axis=1).any():
        nearest = float(np.abs(y[edges]).min())
        _refuse(f"the open edges come no nearer than {nearest:.6g} m to the centreline", nearest, tolerance)
    moved = np.flatnonzero(on & (y != 0))
    if len(moved):
        far = float(np.abs(y[moved]).max())
        findings.append(
            Finding("centreline-moved", f"{len(moved)} vertices within {far:.6g} m of y = 0 are set on it", len(moved))
        )
    half = vertices.copy()
    half[on, 1] = 0.0
    image = half[~on] * np.array([1.0, -1.0, 1.0])
    place = np.arange(len(half), dtype=np.intp)
    place[~on] = len(half) + np.arange(len(image))
    both = np.concatenate([faces, place[faces][:, ::-1]])
    return _skin.drop_unused(np.concatenate([half, image]), both)


def _refuse(message: str, value: float, limit: float) -> None:
    raise InputError(message, code="half-mesh-off-centreline", field="vertices_m", value=value, limit=limit)
