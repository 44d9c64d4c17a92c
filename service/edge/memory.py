"""Keeps freed memory with the process, so that arrays are not paged in anew for every plane. Layer: service.edge.

glibc gives the free top of a thread's heap back to the system at once; the next array then faults its pages in again.
docs/decisions/workers.md has the measurement: half the time of a computation in a thread went there.
"""

import ctypes

M_TRIM_THRESHOLD = -1
M_MMAP_THRESHOLD = -3
KEPT_BYTES = 64 * 1024 * 1024
"""Free memory at the top of a heap that is kept."""
MAPPED_BYTES = 16 * 1024 * 1024
"""Arrays from this size on are mapped one by one and given back when freed."""


def keep_freed_memory() -> bool:
    """Tell the C library; return whether it understood (only glibc does)."""
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError, TypeError):
        return False
    return bool(mallopt(M_TRIM_THRESHOLD, KEPT_BYTES)) and bool(mallopt(M_MMAP_THRESHOLD, MAPPED_BYTES))
