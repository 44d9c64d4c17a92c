"""Vertices and triangles out of STL, OBJ, PLY and OFF files held in memory. Layer: engine.geometry.

What a file says of its own size is compared with its length before anything is made of it.
"""

import io
import re
from typing import Any, Literal

import numpy as np

from engine.checks import Floats
from engine.errors import EngineError, InputError, LimitError
from engine.geometry.obj_file import arrays_of_obj
from engine.geometry.skin import Ints

FileFormat = Literal["stl", "obj", "ply", "off"]
_STL_HEAD, _STL_TRIANGLE = 84, 50
_ASCII = bytes(range(128)) + b"?" * 128  # names and remarks may be in any encoding; numbers are ASCII
_STL_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_SHORTEST_LINE = 4  # bytes of a vertex or a face in a text file, at the least


def arrays_of_file(data: bytes, *, file_format: FileFormat, triangle_limit: int) -> tuple[Floats, Ints]:
    """Return the (n, 3) vertices in file units and the (m, 3) triangles.

    Raises
    ------
    InputError
        "unknown-format", "mesh-unreadable", "empty-mesh".
    LimitError
        "too-many-triangles": the head of the file announces more than ``triangle_limit``.
    """
    if file_format not in ("stl", "obj", "ply", "off"):
        raise InputError("must be stl, obj, ply or off", code="unknown-format", field="file_format")
    try:
        announced = _announced(data, file_format)
        if announced > triangle_limit:
            raise LimitError(
                f"{announced} faces, {triangle_limit} are allowed",
                code="too-many-triangles",
                field="data",
                value=float(announced),
                limit=float(triangle_limit),
            )
        vertices, faces = _load(data, file_format)
    except EngineError:
        raise
    except Exception as error:
        # a parser of foreign bytes may raise anything at all; its text may quote the file
        raise _unreadable("the bytes are not a mesh of this format") from error
    if len(faces) == 0:
        raise InputError("the mesh has no triangle", code="empty-mesh", field="data", value=0.0, limit=1.0)
    if len(faces) < announced:
        raise _unreadable(f"the file announces {announced} faces and holds {len(faces)}")
    return vertices, faces


def _unreadable(message: str) -> InputError:
    return InputError(message, code="mesh-unreadable", field="data")


def _announced(data: bytes, file_format: FileFormat) -> int:
    """Return the number of faces the file announces, 0 where it does not; refuse one it cannot hold."""
    if file_format == "stl":
        return _announced_by_stl(data)
    if file_format == "ply":
        head = re.match(rb"\s*ply\s.*?end_header", data[:65536], re.DOTALL)
        if head is None:
            raise _unreadable("the file has no PLY head")
        counts = {name: int(n) for name, n in re.findall(rb"element\s+(vertex|face)\s+(\d{1,18})\b", head.group())}
        vertices, faces = counts.get(b"vertex", 0), counts.get(b"face", 0)
    elif file_format == "off":
        text = re.sub(rb"#[^\n]*", b"", data[:65536])
        match = re.match(rb"\s*C?OFF\s+(\d{1,18})\s+(\d{1,18})\b", text)
        if match is None:
            raise _unreadable("the file has no OFF head")
        vertices, faces = int(match.group(1)), int(match.group(2))
    else:
        return 0
    if max(vertices, faces) * _SHORTEST_LINE > len(data):
        raise _unreadable(f"the file announces {vertices} vertices and {faces} faces and has {len(data)} bytes")
    return faces


def _announced_by_stl(data: bytes) -> int:
    if len(data) >= _STL_HEAD:
        count = int.from_bytes(data[80:84], "little")
        if len(data) == _STL_HEAD + _STL_TRIANGLE * count:
            return count
    if data[:512].lstrip()[:5].lower() != b"solid":
        raise _unreadable(f"the file is not text, and its {len(data)} bytes are not those its count of triangles needs")
    text = data.lower()
    facets, ends, corners = text.count(b"endfacet"), text.count(b"endloop"), len(re.findall(rb"\bvertex\b", text))
    if corners != 3 * facets or ends != facets or b"endsolid" not in text:
        raise _unreadable(f"the text breaks off: {corners} corners for {facets} triangles")
    return facets


def _load(data: bytes, file_format: FileFormat) -> tuple[Floats, Ints]:
    """Parse with the loader of one format, without a resolver: nothing else can be opened."""
    from trimesh.exchange.off import load_off
    from trimesh.exchange.ply import load_ply
    from trimesh.exchange.stl import load_stl

    if file_format == "obj":
        return arrays_of_obj(data)
    if file_format == "stl" and len(data) == _STL_HEAD + _STL_TRIANGLE * int.from_bytes(data[80:84], "little"):
        corners = np.frombuffer(data, dtype=_STL_FACET, offset=_STL_HEAD)["corners"]
        faces = np.arange(3 * len(corners), dtype=np.intp).reshape(-1, 3)
        return corners.astype(np.float64).reshape(-1, 3), faces
    loaded: dict[str, Any]
    if file_format == "stl":
        loaded = load_stl(io.BytesIO(data))
    elif file_format == "ply":
        loaded = load_ply(io.BytesIO(data), resolver=None, fix_texture=False, skip_materials=True)
    else:
        loaded = load_off(io.BytesIO(data.translate(_ASCII)))
    pieces = list(loaded["geometry"].values()) if "geometry" in loaded else [loaded]
    vertices, found, first = [np.empty((0, 3))], [np.empty((0, 3), dtype=np.intp)], 0
    for piece in pieces:
        if piece.get("faces") is None or len(piece["faces"]) == 0:
            continue
        vertices.append(np.asarray(piece["vertices"], dtype=np.float64).reshape(-1, 3))
        found.append(np.asarray(piece["faces"]).reshape(-1, 3).astype(np.intp) + first)
        first += len(vertices[-1])
    return np.concatenate(vertices), np.concatenate(found)
