"""Threads or processes for the computations? ``python -m tests.performance.workers`` prints what decides it."""

import asyncio
import json
import pickle
import resource
import statistics
import time
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor

import numpy as np

from engine.deadline import checkpoint, watched_by
from engine.geometry import Planes, SurfaceSolid
from service.edge.memory import keep_freed_memory
from service.edge.model import Model
from service.edge.strict_json import odd_names, parse


class Mesh(Model):
    """A mesh as JSON."""

    vertices_m: tuple[tuple[float, float, float], ...]
    faces: tuple[tuple[int, int, int], ...]


def sphere(rows: int) -> tuple[np.ndarray, np.ndarray]:
    """Return a closed ball of about 4·rows² triangles."""
    u, v = np.meshgrid(np.arange(1, rows) * np.pi / rows, np.arange(2 * rows) * np.pi / rows, indexing="ij")
    ring = np.stack([np.sin(u) * np.cos(v), np.sin(u) * np.sin(v), np.cos(u)], axis=-1).reshape(-1, 3)
    vertices = np.vstack([ring, [[0, 0, 1], [0, 0, -1]]])
    n, faces = 2 * rows, []
    for i in range(rows - 2):
        a = i * n + np.arange(n)
        b = i * n + (np.arange(n) + 1) % n
        faces += [np.stack([a, a + n, b], axis=1), np.stack([b, a + n, b + n], axis=1)]
    first, last = np.arange(n), (rows - 2) * n + np.arange(n)
    faces.append(np.stack([np.full(n, len(ring)), first, (first + 1) % n], axis=1))
    faces.append(np.stack([last, np.full(n, len(ring) + 1), (rows - 2) * n + (np.arange(n) + 1) % n], axis=1))
    return vertices, np.vstack(faces)


SOLID = SurfaceSolid.from_arrays(vertices_m=sphere(110)[0], faces=sphere(110)[1])


def numpy_heavy() -> float:
    """Cut 48,000 triangles by 60 planes: one request of the usual size."""
    planes = Planes.from_waterplanes(draft_m=np.linspace(-0.5, 0.5, 60), heel_deg=5.0, trim_m=0.0, length_bp_m=2.0)
    return float(SOLID.cut(planes).volume_m3.sum())


def python_heavy() -> int:
    """Loop in the interpreter: the worst a computation can do to the other threads."""
    return sum(i * i for i in range(1_500_000))


async def _run(pool: Executor, work: Callable[[], object], count: int) -> tuple[float, list[float]]:
    """Return the time of ``count`` computations and how late the event loop was meanwhile."""
    loop, late = asyncio.get_running_loop(), list[float]()
    start = time.perf_counter()
    tasks = [loop.run_in_executor(pool, work) for _ in range(count)]
    while not all(task.done() for task in tasks):
        asked = time.perf_counter()
        await asyncio.sleep(0.002)
        late.append(time.perf_counter() - asked - 0.002)
    await asyncio.gather(*tasks)
    return time.perf_counter() - start, late


def pools() -> None:
    """Print throughput and lateness for each kind of pool."""
    start = time.perf_counter()
    for _ in range(40):
        numpy_heavy()
    print(f"in the main thread: {40 / (time.perf_counter() - start):.1f} numpy_heavy a second\n")
    print("| work | pool | computations a second | event loop late by, median / worst |\n|---|---|---|---|")
    for work, count in ((numpy_heavy, 40), (python_heavy, 20)):
        for label, make in (
            ("1 thread", lambda: ThreadPoolExecutor(1)),
            ("2 threads", lambda: ThreadPoolExecutor(2)),
            ("2 processes", lambda: ProcessPoolExecutor(2)),
        ):
            with make() as pool:
                asyncio.run(_run(pool, work, 4))
                seconds, late = asyncio.run(_run(pool, work, count))
            middle, worst = 1000 * statistics.median(late), 1000 * max(late)
            print(f"| {work.__name__} | {label} | {count / seconds:.1f} | {middle:.1f} ms / {worst:.1f} ms |")


def hook() -> None:
    """Print what a checkpoint costs."""
    allowed = time.thread_time() + 1e9

    def watch() -> None:
        if time.thread_time() > allowed or time.monotonic() > 1e18:
            raise TimeoutError

    count = 100_000
    with watched_by(watch):
        start = time.perf_counter()
        for _ in range(count):
            checkpoint()
    print(f"\none checkpoint: {1e6 * (time.perf_counter() - start) / count:.2f} µs")


def large_body() -> None:
    """Print what a body near the limit costs: reading, the scan for repeated names, passing it to a process."""
    vertices, faces = sphere(470)
    body = json.dumps({"vertices_m": vertices.tolist(), "faces": faces.tolist()}).encode()
    names = frozenset(Mesh.model_fields)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.perf_counter()
    mesh = parse(Mesh, body, names)
    both = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.perf_counter()
    odd_names(body)
    scan = time.perf_counter() - start
    start = time.perf_counter()
    data = pickle.dumps(mesh)
    pickle.loads(data)
    passed = time.perf_counter() - start
    print(f"\nbody of {len(body) / 2**20:.1f} MiB, {len(faces)} triangles: reading {both - scan:.2f} s, the scan for")
    print(
        f"repeated names {scan:.2f} s, memory + {(after - before) / 1024:.0f} MiB; to a process and back {passed:.2f} s"
    )


if __name__ == "__main__":
    print("as the C library comes:")
    pools()
    keep_freed_memory()
    print("\nwith freed memory kept:")
    pools()
    hook()
    large_body()
