"""Runs inside the container and says what the process there may do: ``inside.py MEMORY`` (``512m``)."""

import errno
import importlib.util
import shutil
import sys
from pathlib import Path


def refused(folder: Path) -> int | None:
    """Return why no file can be made there, None if one can."""
    file = folder / "written"
    try:
        file.touch()
    except OSError as error:
        return error.errno
    file.unlink()
    return None


def main(memory: str) -> None:
    """Print and check."""
    lines = Path("/proc/1/status").read_text(encoding="ascii").splitlines()
    status = {name: words.split() for name, _, words in (line.partition(":") for line in lines)}
    command = Path("/proc/1/cmdline").read_bytes().split(b"\0")
    assert command[1:3] == [b"-m", b"service"], command
    print(f"process 1 is the service; user {status['Uid'][1]}, group {status['Gid'][1]}")
    assert status["Uid"] == ["10001"] * 4, status["Uid"]
    assert status["Gid"] == ["10001"] * 4, status["Gid"]
    for kind in ("CapInh", "CapPrm", "CapEff", "CapBnd", "CapAmb"):
        assert int(status[kind][0], 16) == 0, (kind, status[kind])
    assert status["NoNewPrivs"] == ["1"], status["NoNewPrivs"]
    assert status["Seccomp"] == ["2"], status["Seccomp"]
    print("no capabilities, none to be had (no-new-privileges), system calls filtered")

    for folder in ("/", "/opt/venv", "/opt/venv/lib/python3.11/site-packages/service", "/usr/bin", "/var/tmp"):
        assert refused(Path(folder)) == errno.EROFS, f"{folder} can be written"
    assert refused(Path("/tmp")) is None
    print("the root is read-only; only /tmp can be written")

    there = [name for name in ("gcc", "cc", "c++", "make", "ld", "pip", "pip3", "curl", "wget") if shutil.which(name)]
    assert not there, there
    assert importlib.util.find_spec("pip") is None
    assert not [*Path("/run").glob("secrets/*")], "a secret of the build is here"
    print("no compiler, no pip")

    files = ("/sys/fs/cgroup/memory.max", "/sys/fs/cgroup/memory/memory.limit_in_bytes")
    limit = next(int(Path(file).read_text()) for file in files if Path(file).exists())
    assert limit == int(memory.removesuffix("m")) << 20, limit
    print(f"memory limit {limit >> 20} MiB; the service holds {int(status['VmRSS'][0]) >> 10} MiB before any request")


if __name__ == "__main__":
    main(sys.argv[1])
