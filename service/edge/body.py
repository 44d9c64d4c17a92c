"""Reads a body while counting it. Layer: service.edge."""

import zlib

from starlette.requests import ClientDisconnect, Request

from service.edge.problems import ProblemError


async def read(request: Request, *, limit_bytes: int) -> bytes:
    """Return the decoded body; stop reading as soon as it is over the limit.

    ``Content-Encoding`` may be ``gzip``: the limit is on what comes out, and no more than that is ever unpacked.
    """
    encoding = request.headers.get("content-encoding", "identity").strip().lower()
    if encoding not in ("identity", "gzip"):
        raise ProblemError("content-encoding", "the body may be plain or gzip", headers={"Accept-Encoding": "gzip"})
    announced = request.headers.get("content-length", "")
    if announced.isascii() and announced.isdigit() and int(announced) > limit_bytes:
        raise _too_large(limit_bytes)
    unpack = zlib.decompressobj(wbits=31) if encoding == "gzip" else None
    pieces: list[bytes] = []
    size = 0
    async for chunk in request.stream():
        piece = chunk if unpack is None else _unpacked(unpack, chunk, limit_bytes - size + 1)
        size += len(piece)
        if size > limit_bytes:
            raise _too_large(limit_bytes)
        pieces.append(piece)
    if unpack is not None and (not unpack.eof or unpack.unused_data):
        raise ProblemError("content-encoding", "the body is not one whole gzip stream", status=400)
    return b"".join(pieces)


def _unpacked(unpack: "zlib._Decompress", chunk: bytes, at_most: int) -> bytes:
    try:
        return unpack.decompress(chunk, at_most)
    except zlib.error:
        raise ProblemError("content-encoding", "the body is not a gzip stream", status=400) from None


def _too_large(limit_bytes: int) -> ProblemError:
    return ProblemError("body-too-large", f"the body is over {limit_bytes} bytes", headers={"Connection": "close"})


__all__ = ["ClientDisconnect", "read"]
