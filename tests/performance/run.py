"""Speed as ratios: every line one time over another, measured by turns in one process, with their answers compared.

    python tests/performance/run.py [--json] [--repeats 7] [--only NAME ...]

Prints medians of processor time over repeats; asserts nothing about time. "difference" is the worst difference of the
two answers as a part of the whole volume or area, where there are two answers. Names: cut, sweeps, arms, offsets,
record, memory, start.
"""

import argparse
import json
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import trimesh

from engine.flotation.righting_arms import righting_arms
from engine.geometry import OffsetStation, solid_from_offsets
from engine.geometry.plane import Planes
from engine.geometry.section_solid import SectionSolid
from engine.geometry.surface_solid import SurfaceSolid
from tests.engine.geometry.meshes import ellipsoid
from tests.performance import references
from tests.performance.around import memory_ratios, start_ratio
from tests.performance.whole_record import record_ratios

LENGTH, BREADTH, DEPTH, DRAFT = 60.0, 12.0, 8.0, 3.0


class Ratio(NamedTuple):
    """One line: a ratio, what is asked of it, its parts and how far the answers differ."""

    name: str
    ratio: float
    asked: str
    numerator_ms: float
    denominator_ms: float
    difference: float | None = None


def in_turns(*works: Callable[[], object], repeats: int) -> list[float]:
    """Return the median processor time of each, run by turns after one run each that does not count. [ms]"""
    for work in works:
        work()
    times: list[list[float]] = [[] for _ in works]
    for _ in range(repeats):
        for mine, work in zip(times, works, strict=True):
            start = time.process_time()
            work()
            mine.append(1e3 * (time.process_time() - start))
    return [statistics.median(mine) for mine in times]


@cache
def body(triangles: int) -> tuple[np.ndarray, np.ndarray, SurfaceSolid]:
    """Return an ellipsoid of about so many triangles: n points round it, n/2 rings, n² triangles; and the solid."""
    n = round(triangles**0.5 / 4) * 4
    vertices, faces = ellipsoid(n, a=LENGTH / 2, b=BREADTH / 2, c=DEPTH / 2, draft=DRAFT)
    return vertices, faces, SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces)


def random_planes(count: int) -> Planes:
    """Return planes of any direction through the middle nine tenths of the body's box."""
    rng = np.random.default_rng(1)
    normals = rng.normal(size=(count, 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    middle = DEPTH / 2 - DRAFT
    through = rng.uniform(-0.45, 0.45, (count, 3)) * [LENGTH, BREADTH, DEPTH] + [0, 0, middle]
    return Planes(normals=normals, offsets_m=np.einsum("ij,ij->i", normals, through))


def cut_ratios(repeats: int) -> Iterator[Ratio]:
    """One plane, one mesh; growth with its size; building it."""
    planes = random_planes(8)
    vertices, faces, ours = body(200_000)
    theirs, other = references.compiled(vertices, faces), trimesh.Trimesh(vertices, faces, process=False)
    rows = range(len(planes))
    singles = [planes.take(np.array([row])) for row in rows]
    found = ours.cut(planes).volume_m3
    each = 1.0 / len(planes)

    def all_ours() -> None:
        for single in singles:
            ours.cut(single)

    for name, asked, volume in (
        ("compiled trim and volume", ">= 40", lambda row: references.compiled_volume(theirs, planes, row)),
        ("slice, cap, mass properties", ">= 100", lambda row: references.sliced_volume(other, planes, row)),
        ("plain clip of every triangle", "", lambda row: references.clipped_volume(vertices, faces, planes, row)),
    ):
        expected = np.array([volume(row) for row in rows])
        mine, its = in_turns(
            all_ours, lambda volume=volume: [volume(row) for row in rows], repeats=max(3, repeats // 2)
        )
        difference = float(np.abs(found - expected).max() / ours.volume_m3)
        yield Ratio(
            f"{name} / one plane, {len(faces)} triangles", its / mine, asked, each * its, each * mine, difference
        )
    small, large = body(100_000)[2], body(1_000_000)[2]
    less, more = in_turns(
        lambda: [small.cut(one) for one in singles], lambda: [large.cut(one) for one in singles], repeats=repeats
    )
    yield Ratio("one plane, a million triangles / 100,000", more / less, "<= 4", each * more, each * less)
    build, compile_ = in_turns(
        lambda: SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces),
        lambda: references.compiled(vertices, faces),
        repeats=3,
    )
    difference = abs(ours.volume_m3 - theirs.volume()) / ours.volume_m3
    yield Ratio("solid from arrays / compiled construction", build / compile_, "<= 2", build, compile_, difference)


def sweep_ratios(repeats: int) -> Iterator[Ratio]:
    """Batches of planes in compiled cuts."""
    vertices, faces, solid = body(200_000)
    theirs, planes = references.compiled(vertices, faces), random_planes(8)
    drafts, trims = np.linspace(-2.5, 4.5, 51), np.linspace(-2, 2, 9)
    upright = Planes.from_waterplanes(draft_m=drafts, length_bp_m=LENGTH)
    grid = Planes.from_waterplanes(draft_m=np.repeat(drafts, 9), trim_m=np.tile(trims, 51), length_bp_m=LENGTH)
    for name, asked, every in (("51 upright", "<= 1", upright), ("51 drafts x 9 trims", "<= 6", grid)):
        mine, its = in_turns(
            lambda every=every: solid.cut(every),
            lambda: [references.compiled_volume(theirs, planes, row) for row in range(len(planes))],
            repeats=repeats,
        )
        its /= len(planes)
        some = range(0, len(every), max(1, len(every) // 20))
        expected = np.array([references.compiled_volume(theirs, every, row) for row in some])
        difference = float(np.abs(solid.cut(every).volume_m3[list(some)] - expected).max() / solid.volume_m3)
        yield Ratio(f"{name} / one compiled cut", mine / its, asked, mine, its, difference)


def arm_ratios(repeats: int) -> Iterator[Ratio]:
    """Free-trim righting arms in compiled cuts; the compiled library's volume at the planes found."""
    vertices, faces, solid = body(200_000)
    theirs, planes = references.compiled(vertices, faces), random_planes(8)
    mass = 1.025 * 0.4 * solid.volume_m3
    heels = np.arange(0.0, 91.0, 5.0)

    def arms() -> Planes:
        return righting_arms(
            solid=solid, density_t_per_m3=1.025, mass_t=mass, centre_m=[0.4, 0.0, 0.2], heel_deg=heels
        ).planes

    mine, its = in_turns(
        arms,
        lambda: [references.compiled_volume(theirs, planes, row) for row in range(len(planes))],
        repeats=max(3, repeats // 2),
    )
    its /= len(planes)
    found = arms()
    expected = np.array([references.compiled_volume(theirs, found, row) for row in range(len(found))])
    difference = float(np.abs(expected - mass / 1.025).max() / solid.volume_m3)
    yield Ratio(f"free-trim arms, {len(heels)} heels / one compiled cut", mine / its, "<= 4", mine, its, difference)


def offsets_hull() -> SectionSolid:
    """Return an invented hull of 41 stations of 40 points a side."""
    t = np.linspace(0.0, 1.0, 40)
    stations = []
    for x in np.linspace(0.0, LENGTH, 41):
        full = 1.0 - 0.9 * abs(2 * x / LENGTH - 1) ** 2.5
        y, z = 0.5 * BREADTH * full * t ** (0.35 / full**0.3), DEPTH * t
        stations.append(OffsetStation(x_m=float(x), points_m=np.stack([y, z], axis=-1)))
    solid = solid_from_offsets(stations, between_points="straight").solid
    assert isinstance(solid, SectionSolid)
    return solid


def offsets_ratios(repeats: int) -> Iterator[Ratio]:
    """An offsets hull over a grid of planes against polygons clipped by half planes: areas of its sections compared."""
    solid = offsets_hull()
    drafts, trims = np.linspace(0.5, 7.5, 51), np.linspace(-2, 2, 9)
    grid = Planes.from_waterplanes(draft_m=np.repeat(drafts, 9), trim_m=np.tile(trims, 51), length_bp_m=LENGTH)
    sections = references.polygons_of(solid)
    reach = 10 * LENGTH
    mine, its = in_turns(
        lambda: solid.cut(grid),
        lambda: references.polygon_areas(sections, solid.x_m, grid, reach_m=reach),
        repeats=max(3, repeats // 2),
    )
    expected, _ = references.polygon_areas(sections, solid.x_m, grid, reach_m=reach)
    found = np.stack([solid.section_area_m2(grid, x_m=float(x)) for x in solid.x_m[::8]], axis=1)
    difference = float(np.abs(found - expected[:, ::8]).max() / expected.max())
    yield Ratio("offsets 41 x 40, 51 x 9 planes / polygon library", mine / its, "<= 0.05", mine, its, difference)


def record_lines(repeats: int) -> Iterator[Ratio]:
    """The demonstration record and a loading condition in nine-plane cuts."""
    for line in record_ratios(in_turns, repeats):
        yield Ratio(*line)


def memory_lines(_: int) -> Iterator[Ratio]:
    """Memory of large bodies; the parts are MiB, not ms."""
    for line in memory_ratios():
        yield Ratio(*line)


def start_lines(repeats: int) -> Iterator[Ratio]:
    """Start-up; by the clock, not processor time."""
    yield Ratio(*start_ratio(repeats))


GROUPS: dict[str, Callable[[int], Iterator[Ratio]]] = {
    "cut": cut_ratios,
    "sweeps": sweep_ratios,
    "arms": arm_ratios,
    "offsets": offsets_ratios,
    "record": record_lines,
    "memory": memory_lines,
    "start": start_lines,
}


def main() -> None:
    """Measure, then print a table or JSON."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--repeats", type=int, default=7)
    parser.add_argument("--only", nargs="*", choices=list(GROUPS), default=list(GROUPS))
    asked = parser.parse_args()
    lines = []
    for name in asked.only:
        for line in GROUPS[name](asked.repeats):
            lines.append(line._asdict())
            if not asked.json:
                told = "" if line.difference is None else f"difference {line.difference:.1e}"
                parts = f"{line.numerator_ms:10.2f} / {line.denominator_ms:<10.2f}"
                print(f"{line.name:60s} {line.ratio:8.3g} {line.asked:8s} {parts} {told}", flush=True)
    if asked.json:
        print(json.dumps(lines, indent=1))


if __name__ == "__main__":
    main()
