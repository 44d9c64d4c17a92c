"""Replay archived cases, in this process or against a running service. Layer: service.commands."""

import argparse
import os
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TextIO

from service.cases.junit import junit_xml
from service.cases.over_http import NoAnswerError, over_http
from service.cases.replay import Ask
from service.cases.summary import summary
from service.cases.table import report, result_line
from service.cases.verification import Result, exit_status, load, selected, verify
from service.commands.here import answered_here
from service.settings import Settings

NAME = "verify"
BAR_CELLS = 30


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.epilog = (
        "Exit status: 0 if every case is the same; 1 if one deviates or cannot be compared; 2 if one cannot be read, "
        "gets no answer, or none is found. A service that asks for a key is sent the one in STS_API_KEY."
    )
    parser.add_argument("paths", nargs="+", type=Path, metavar="PATH", help="a case, or a folder searched for *.json")
    parser.add_argument("--url", help="address of a running service; without it the cases are computed here")
    parser.add_argument("--junit", type=Path, metavar="FILE", help="write JUnit XML")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write a summary as JSON")
    parser.add_argument("--select", metavar="GLOB", help="only cases whose name, file name or path fits")
    parser.add_argument("--fail-fast", action="store_true", help="begin no case after the first that is not the same")
    parser.add_argument("--jobs", type=_count, default=_processors(), help="cases at once (the processors)")


def run(arguments: argparse.Namespace) -> int:
    """Replay and report."""
    try:
        ask = _asked(arguments.url)
    except NoAnswerError as error:
        print(error, file=sys.stderr)
        return 2
    loaded = load(arguments.paths)
    chosen = selected(loaded, arguments.select)
    start = time.perf_counter()
    progress = _Progress(len(chosen), sys.stdout)
    results: list[Result] = []
    for one in verify(chosen, ask, jobs=arguments.jobs, fail_fast=arguments.fail_fast):
        results.append(one)
        progress.tell(one)
    progress.end()
    results.sort(key=lambda one: one.loaded.path)
    duration_s = time.perf_counter() - start
    print("\n".join([*report(results), *_left_out(len(loaded) - len(chosen)), f"{duration_s:.2f} s"]))
    return max(exit_status(results), _written(arguments, results, duration_s))


def _asked(url: str | None) -> Ask:
    if url is None:
        return answered_here(crash_is_answer=True)
    key = Settings().api_key
    return over_http(url, api_key=key.get_secret_value() if key else None)


def _left_out(count: int) -> Sequence[str]:
    return [f"{count} not selected"] if count else []


def _written(arguments: argparse.Namespace, results: Sequence[Result], duration_s: float) -> int:
    """Write the files asked for; return 2 if that fails."""
    try:
        if arguments.junit is not None:
            arguments.junit.write_bytes(junit_xml(results, duration_s=duration_s))
        if arguments.json is not None:
            arguments.json.write_text(summary(results, duration_s=duration_s, url=arguments.url), encoding="utf-8")
    except OSError as error:
        print(f"cannot write {error.filename}: {error.strerror}", file=sys.stderr)
        return 2
    return 0


class _Progress:
    """A bar on a terminal, a line a case elsewhere; also where ``CI`` is set, as a log keeps every state of a bar."""

    def __init__(self, total: int, stream: TextIO) -> None:
        self._total = total
        self._done = 0
        self._stream = stream
        self._bar = stream.isatty() and not os.environ.get("CI")

    def tell(self, result: Result) -> None:
        """Show that one more is done."""
        self._done += 1
        if not self._bar:
            print(result_line(result), file=self._stream, flush=True)
            return
        full = BAR_CELLS * self._done // self._total
        bar = "#" * full + "." * (BAR_CELLS - full)
        print(f"\r[{bar}] {self._done}/{self._total}", end="", file=self._stream, flush=True)

    def end(self) -> None:
        """Leave the bar's line."""
        if self._bar and self._done:
            print(file=self._stream)


def _processors() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _count(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError("1 or more")
    return number
