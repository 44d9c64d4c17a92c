"""Serve over HTTP. Layer: service.commands."""

import argparse
import socket
import sys

import uvicorn

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


def run(arguments: argparse.Namespace) -> int:
    """Serve until told to stop, then finish what was started."""
    settings = Settings()
    config = uvicorn.Config(
        "service.app:create_app",
        factory=True,
        host=arguments.host,
        port=arguments.port,
        workers=arguments.workers,
        access_log=False,
        log_level="info",
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
    if arguments.workers > 1:
        from uvicorn.supervisors import Multiprocess

        announce(listening)
        Multiprocess(config, [listening]).run()
        return 0
    server = _Announcing(config)
    server.run(sockets=[listening])
    return 0 if server.started else 1
