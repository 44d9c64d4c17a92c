"""Freed memory is kept where the C library can be told so."""

import platform

from service.edge.memory import keep_freed_memory


def test_glibc_understands() -> None:
    assert keep_freed_memory() == (platform.libc_ver()[0] == "glibc")
