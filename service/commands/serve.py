"""Serve over HTTP. Layer: service.commands."""

import argparse
import gc
import os
import signal
import socket
import sys
import tempfile
from functools import partial
from typing import TYPE_CHECKING, NoReturn

import uvicorn
from pydantic import ValidationError

from service.edge.loading import Loading
from service.edge.rule_folder import RuleFolderError, read_rule_sets
from service.edge.telemetry import PROCESSES_FOLDER, Metrics, log_as_json
from service.settings import Settings

if TYPE_CHECKING:
    from fastapi import FastAPI

NAME = "serve"
BACKLOG = 2048
"""Connections that may wait to be accepted."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument("--host", default="127.0.0.1", help="address to listen on (127.0.0.1)")
    parser.add_argument("--port", type=int, default=8000, help="port to listen on; 0 takes a free one (8000)")
    parser.add_argument("--workers", type=int, default=1, help="processes (1)")


def announce(listening: socket.socket) -> None:
    """Print where the service is."""
    host, port = listening.getsockname()[:2]
    print(f"serving on http://{f'[{host}]' if ':' in host else host}:{port}/", flush=True)


def logging_app(figures: Metrics | None = None) -> "FastAPI":
    """Return the service of one process, which logs JSON lines."""
    gc.disable()  # what is loaded stays: to look for what could be freed of it takes a tenth of the time
    from service.app import create_app  # takes a second

    settings = Settings()
    log_as_json(settings.log_level)
    app = create_app(settings, figures=figures)
    gc.freeze()
    gc.enable()
    return app


def run(arguments: argparse.Namespace) -> int:
    """Serve until told to stop, then finish what was started."""
    try:
        settings = Settings()
        read_rule_sets(settings.rule_sets)
        if settings.hull_library is not None:
            next(settings.hull_library.iterdir(), None)
    except ValidationError as error:
        for one in error.errors(include_url=False, include_input=False, include_context=False):
            print(f"setting {'.'.join(map(str, one['loc']))}: {one['msg']}", file=sys.stderr)
    except RuleFolderError as error:
        print(f"rule sets: {error}", file=sys.stderr)
    except OSError as error:
        print(f"the folder of hulls (HULL_LIBRARY) cannot be read: {error.strerror}", file=sys.stderr)
    else:
        if arguments.workers > 1:
            return _with_figures_together(settings, arguments)
        return _serve(settings, arguments)
    return 1


def _with_figures_together(settings: Settings, arguments: argparse.Namespace) -> int:
    """Serve with a folder where the processes keep their metrics, so that any of them can tell those of all."""
    with tempfile.TemporaryDirectory(prefix="figures-") as folder:
        os.environ[PROCESSES_FOLDER] = folder
        return _serve(settings, arguments)


def _serve(settings: Settings, arguments: argparse.Namespace) -> int:
    family = socket.AF_INET6 if ":" in arguments.host else socket.AF_INET
    try:
        listening = socket.create_server((arguments.host, arguments.port), family=family, backlog=BACKLOG)
    except (OSError, OverflowError) as error:
        print(f"cannot listen on {arguments.host} port {arguments.port}: {error}", file=sys.stderr)
        return 1
    listening.set_inheritable(True)
    log_as_json(settings.log_level)
    if arguments.workers <= 1:
        return _serve_alone(settings, listening)
    from uvicorn.supervisors import Multiprocess

    # Each process loads the application before it takes a request: the others are there for those meanwhile.
    app = "service.commands.serve:logging_app"
    announce(listening)
    Multiprocess(_config(app, settings, workers=arguments.workers), [listening]).run()
    return 0


def _config(app: str | Loading, settings: Settings, *, workers: int = 1) -> uvicorn.Config:
    return uvicorn.Config(
        app,
        factory=isinstance(app, str),
        workers=workers,
        backlog=BACKLOG,
        access_log=False,
        log_config=None,
        log_level=settings.log_level,
        timeout_graceful_shutdown=settings.graceful_s,
        server_header=False,
        proxy_headers=False,  # neither a client's address nor its scheme is used
        ws="none",
    )


def _serve_alone(settings: Settings, listening: socket.socket) -> int:
    """Serve in this process, at once; the application is loaded meanwhile."""
    failed = False

    def give_up(error: Exception) -> None:
        nonlocal failed
        print(f"cannot start: {type(error).__name__}: {error}", file=sys.stderr)
        failed = server.should_exit = True

    loading = Loading(logging_app, give_up, loaded=partial(announce, listening))
    server = uvicorn.Server(_config(loading, settings))
    signal.signal(signal.SIGTERM, _stopped)  # the server has its own meanwhile, and sends itself the signal at the end
    server.run(sockets=[listening])
    return 0 if server.started and not failed else 1


def _stopped(*_: object) -> NoReturn:
    """End with success; who is told to stop twice is stopping already."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    sys.exit(0)
