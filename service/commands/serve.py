"""Serve over HTTP. Layer: service.commands."""

import argparse
import os
import socket
import sys
import tempfile

import uvicorn
from fastapi import FastAPI

from service.app import create_app
from service.edge.rule_folder import RuleFolderError, read_rule_sets
from service.edge.telemetry import PROCESSES_FOLDER, log_as_json
from service.settings import Settings

NAME = "serve"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options."""
    parser.add_argument("--host", default="127.0.0.1", help="address to listen on (127.0.0.1)")
    parser.add_argument("--port", type=int, default=8000, help="port to listen on; 0 takes a free one (8000)")
    parser.add_argument("--workers", type=int, default=1, help="processes (1)")


class _Announcing(uvicorn.Server):
    """Prints the address once it listens."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        if self.started and sockets:
            announce(sockets[0])


def announce(listening: socket.socket) -> None:
    """Print where the service is."""
    host, port = listening.getsockname()[:2]
    print(f"serving on http://{f'[{host}]' if ':' in host else host}:{port}/", flush=True)


def logging_app() -> FastAPI:
    """Return the service of one process, which logs JSON lines."""
    settings = Settings()
    log_as_json(settings.log_level)
    return create_app(settings)


def run(arguments: argparse.Namespace) -> int:
    """Serve until told to stop, then finish what was started."""
    settings = Settings()
    try:
        read_rule_sets(settings.rule_sets)
    except RuleFolderError as error:
        print(f"rule sets: {error}", file=sys.stderr)
        return 1
    if arguments.workers > 1:
        return _with_figures_together(settings, arguments)
    return _serve(settings, arguments)


def _with_figures_together(settings: Settings, arguments: argparse.Namespace) -> int:
    """Serve with a folder where the processes keep their metrics, so that any of them can tell those of all."""
    with tempfile.TemporaryDirectory(prefix="figures-") as folder:
        os.environ[PROCESSES_FOLDER] = folder
        return _serve(settings, arguments)


def _serve(settings: Settings, arguments: argparse.Namespace) -> int:
    level = settings.log_level
    config = uvicorn.Config(
        "service.commands.serve:logging_app",
        factory=True,
        host=arguments.host,
        port=arguments.port,
        workers=arguments.workers,
        access_log=False,
        log_config=None,
        log_level=level,
        timeout_graceful_shutdown=settings.graceful_s,
        server_header=False,
    )
    family = socket.AF_INET6 if ":" in arguments.host else socket.AF_INET
    try:
        listening = socket.create_server((arguments.host, arguments.port), family=family, backlog=config.backlog)
    except (OSError, OverflowError) as error:
        print(f"cannot listen on {arguments.host} port {arguments.port}: {error}", file=sys.stderr)
        return 1
    listening.set_inheritable(True)
    log_as_json(level)
    if arguments.workers > 1:
        from uvicorn.supervisors import Multiprocess

        announce(listening)
        Multiprocess(config, [listening]).run()
        return 0
    server = _Announcing(config)
    server.run(sockets=[listening])
    return 0 if server.started else 1
