"""A served instance of the service, in a process of its own, for what is measured or attacked from outside."""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]


class Served(NamedTuple):
    """Where it listens, and its process."""

    host: str
    port: int
    process: "subprocess.Popen[str]"

    def resident_bytes(self) -> int:
        """Return its resident memory; 0 where the system does not tell."""
        try:
            lines = Path(f"/proc/{self.process.pid}/status").read_text(encoding="ascii").splitlines()
        except OSError:
            return 0
        return next((int(line.split()[1]) * 1024 for line in lines if line.startswith("VmRSS")), 0)


@contextmanager
def served(**settings: object) -> Iterator[Served]:
    """Serve with these settings; stop it at the end."""
    environment = {**os.environ, **{f"STS_{name.upper()}": str(value) for name, value in settings.items()}}
    errors = tempfile.TemporaryFile("w+", encoding="utf-8")  # noqa: SIM115 - open as long as the server runs  # noqa: SIM115 - read after the process has ended
    process = subprocess.Popen(
        [sys.executable, "-m", "service", "serve", "--port", "0"],
        cwd=ROOT,
        env={**environment, "PYTHONPATH": str(ROOT), "STS_LOG_LEVEL": "error"},
        stdout=subprocess.PIPE,
        stderr=errors,
        text=True,
    )
    try:
        assert process.stdout is not None
        host, port = process.stdout.readline().split("//")[1].strip("/\n").split(":")
        yield Served(host, int(port), process)
    finally:
        process.terminate()
        process.wait(60)
        if process.stdout is not None:
            process.stdout.close()
        errors.seek(0)
        for line in sorted({line.partition('"error"')[2][-600:] for line in errors if '"error"' in line})[:10]:
            print("LOGGED", line)
        errors.close()
