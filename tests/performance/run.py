"""Speed of the cut beside a compiled general-purpose solid library, as ratios measured in one process.

    python tests/performance/run.py [--json] [--repeats 7]

Prints medians over repeats with the agreement of the answers beside them; asserts nothing about time.
"""

import argparse
import json
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import manifold3d

from engine.geometry.plane import Planes
from engine.geometry.surface_solid import SurfaceSolid
from tests.engine.geometry.meshes import ellipsoid

LENGTH, BREADTH, DEPTH = 60.0, 12.0, 8.0


def mesh(triangles: int) -> tuple[np.ndarray, np.ndarray]:
    """Return an ellipsoid of about so many triangles: n points round it, n/2 rings, n² triangles."""
    n = round(triangles**0.5 / 4) * 4
    return ellipsoid(n, a=LENGTH / 2, b=BREADTH / 2, c=DEPTH / 2, draft=3.0)


def seconds(work: Callable[[], object], repeats: int) -> float:
    """Return the median time of some runs."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def random_planes(count: int) -> Planes:
    """Return planes of any direction through the middle nine tenths of the body's box."""
    rng = np.random.default_rng(1)
    normals = rng.normal(size=(count, 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    through = rng.uniform(-0.45, 0.45, (count, 3)) * [LENGTH, BREADTH, DEPTH] + [0, 0, DEPTH / 2]
    return Planes(normals=normals, offsets_m=np.einsum("ij,ij->i", normals, through))


def compiled(vertices: np.ndarray, faces: np.ndarray) -> manifold3d.Manifold:
    """Return the other library's solid, made as far as its volume."""
    solid = manifold3d.Manifold(manifold3d.Mesh64(vert_properties=vertices, tri_verts=faces.astype(np.uint64)))
    solid.volume()
    return solid


def trimmed(solid: manifold3d.Manifold, planes: Planes, row: int) -> float:
    """Return the volume below one plane by the other library."""
    return float(solid.trim_by_plane(tuple(-planes.normals[row]), -planes.offsets_m[row]).volume())


def one_size(triangles: int, repeats: int) -> dict[str, float]:
    """Measure building and single cuts at one size of mesh."""
    vertices, faces = mesh(triangles)
    planes = random_planes(12)
    singles = [planes.take([row]) for row in range(len(planes))]
    ours, theirs = SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces), compiled(vertices, faces)
    cut = statistics.median([seconds(lambda p=p: ours.cut(p), repeats) for p in singles])
    other = statistics.median([seconds(lambda row=row: trimmed(theirs, planes, row), 3) for row in range(len(planes))])
    build = seconds(lambda: SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces), 3)
    other_build = seconds(lambda: compiled(vertices, faces), 3)
    expected = np.array([trimmed(theirs, planes, row) for row in range(len(planes))])
    return {
        "triangles": len(faces),
        "cut_ms": 1e3 * cut,
        "compiled_cut_ms": 1e3 * other,
        "times_faster_ratio": other / cut,
        "worst_volume_difference_ratio": float(np.abs(ours.cut(planes).volume_m3 - expected).max() / ours.volume_m3),
        "build_ms": 1e3 * build,
        "compiled_build_ms": 1e3 * other_build,
        "build_over_compiled_build_ratio": build / other_build,
    }


def sweeps(triangles: int, repeats: int, compiled_cut_s: float) -> dict[str, float]:
    """Measure batches of drafts and trims against one cut of the other library."""
    vertices, faces = mesh(triangles)
    solid = SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces)
    drafts, trims = np.linspace(0.5, 7.5, 51), np.linspace(-2, 2, 9)
    upright = Planes.from_waterplanes(draft_m=drafts, length_bp_m=LENGTH)
    grid = Planes.from_waterplanes(draft_m=np.repeat(drafts, 9), trim_m=np.tile(trims, 51), length_bp_m=LENGTH)
    return {
        "upright_51_ms": 1e3 * seconds(lambda: solid.cut(upright), repeats),
        "upright_51_in_compiled_cuts_ratio": seconds(lambda: solid.cut(upright), repeats) / compiled_cut_s,
        "grid_51_by_9_ms": 1e3 * seconds(lambda: solid.cut(grid), 3),
        "grid_51_by_9_in_compiled_cuts_ratio": seconds(lambda: solid.cut(grid), 3) / compiled_cut_s,
    }


def main() -> None:
    """Measure, then print a table or JSON."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--repeats", type=int, default=7)
    asked = parser.parse_args()
    sizes = {count: one_size(count, asked.repeats) for count in (100_000, 200_000, 1_000_000)}
    results = {
        "sizes": list(sizes.values()),
        "growth_100k_to_1m_ratio": sizes[1_000_000]["cut_ms"] / sizes[100_000]["cut_ms"],
        "sweeps_at_200k": sweeps(200_000, asked.repeats, sizes[200_000]["compiled_cut_ms"] / 1e3),
    }
    if asked.json:
        print(json.dumps(results, indent=1))
        return
    for row in results["sizes"]:
        print("  ".join(f"{name} {value:.4g}" for name, value in row.items()))
    print(f"growth_100k_to_1m_ratio {results['growth_100k_to_1m_ratio']:.4g}")
    print("  ".join(f"{name} {value:.4g}" for name, value in results["sweeps_at_200k"].items()))


if __name__ == "__main__":
    main()
