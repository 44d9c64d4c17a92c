"""Reads a body while counting it. Layer: service.edge."""

import asyncio
import zlib
from collections.abc import AsyncIterator, Callable

from starlette.requests import ClientDisconnect, Request

from service.edge.problems import ProblemError

UNPACKED_BYTES = 1024 * 1024
"""Of a gzip body this much is unpacked at a time; other requests are served in between."""


async def read(
    request: Request,
    *,
    limit_bytes: int,
    within_s: float = 60.0,
    hold: Callable[[int], None] = lambda size_bytes: None,
) -> bytes:
    """Return the decoded body; stop reading as soon as it is over the limit.

    ``Content-Encoding`` may be ``gzip``: the limit is on what comes out, and no more than that is ever unpacked.

    Parameters
    ----------
    within_s : float
        Time for the whole body. [s]
    hold : callable
        Called with the bytes about to be kept; may refuse. What Content-Length announces is held before any is read.
    """
    unpack = _unpacker(request)
    announced = _announced(request)
    if announced > limit_bytes:
        raise _too_large(limit_bytes)
    held = announced if unpack is None else 0
    hold(held)
    pieces: list[bytes] = []
    size = 0
    try:
        async with asyncio.timeout(within_s):
            async for piece in request.stream() if unpack is None else _unpacked(request, unpack):
                size += len(piece)
                if size > limit_bytes:
                    raise _too_large(limit_bytes)
                if size > held:
                    hold(size - held)
                    held = size
                pieces.append(piece)
    except TimeoutError:
        detail = f"the body did not arrive within {within_s:.6g} s"
        raise ProblemError("body-too-slow", detail, headers={"Connection": "close"}) from None
    if unpack is not None and (not unpack.eof or unpack.unused_data):
        raise ProblemError("content-encoding", "the body is not one whole gzip stream", status=400)
    return b"".join(pieces)


def _unpacker(request: Request) -> "zlib._Decompress | None":
    encoding = request.headers.get("content-encoding", "identity").strip().lower()
    if encoding not in ("identity", "gzip"):
        raise ProblemError("content-encoding", "the body may be plain or gzip", headers={"Accept-Encoding": "gzip"})
    return zlib.decompressobj(wbits=31) if encoding == "gzip" else None


def _announced(request: Request) -> int:
    """Return what Content-Length says, 0 where it is absent or no number."""
    text = request.headers.get("content-length", "")
    return int(text.lstrip("0")[:19] or "0") if text.isascii() and text.isdigit() else 0


async def _unpacked(request: Request, unpack: "zlib._Decompress") -> AsyncIterator[bytes]:
    async for chunk in request.stream():
        if chunk and unpack.eof:
            raise ProblemError("content-encoding", "the body is not one whole gzip stream", status=400)
        left = chunk
        while not unpack.eof:
            try:
                piece = unpack.decompress(left, UNPACKED_BYTES)
            except zlib.error:
                raise ProblemError("content-encoding", "the body is not a gzip stream", status=400) from None
            yield piece
            left = unpack.unconsumed_tail
            if not left and len(piece) < UNPACKED_BYTES:
                break
            await asyncio.sleep(0)


def _too_large(limit_bytes: int) -> ProblemError:
    return ProblemError("body-too-large", f"the body is over {limit_bytes} bytes", headers={"Connection": "close"})


__all__ = ["ClientDisconnect", "read"]
