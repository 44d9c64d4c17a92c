"""Work off the event loop: bounded in number and time, finished before the end."""

import asyncio
import json
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from engine.deadline import checkpoint
from service.edge.problems import ProblemError
from service.edge.workers import Workers
from tests.service.edge import small


def _workers(**limits: float) -> Workers:
    defaults = {"threads": 1, "queue_limit": 0, "work_limit_s": 30.0, "deadline_s": 30.0}
    return Workers(**{**defaults, **limits})  # type: ignore[arg-type]


def _loop() -> None:
    while True:
        checkpoint()


def _wait_forever(event: threading.Event) -> None:
    while True:
        event.wait(0.001)
        checkpoint()


def test_a_loop_is_over_the_limit_of_work() -> None:
    workers = _workers(work_limit_s=0.05)
    with pytest.raises(ProblemError) as caught:
        asyncio.run(workers.run(_loop))
    assert caught.value.code == "work-over-limit"
    workers.close()


def test_work_is_stopped_when_it_is_no_longer_wanted() -> None:
    """The work ends at its next checkpoint, which gives its place back; the caller is told at once."""
    workers, began = _workers(), threading.Event()

    def work() -> None:
        began.set()
        _loop()

    async def scene() -> None:
        gone: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        run = asyncio.ensure_future(workers.run(work, unless=gone))
        assert await asyncio.to_thread(began.wait, 30)
        gone.set_result(None)
        with pytest.raises(asyncio.CancelledError):
            await run

    asyncio.run(scene())
    workers.close()  # waits for the thread
    assert workers.pending == 0


def test_waiting_is_over_the_deadline() -> None:
    workers = _workers(deadline_s=0.05)
    with pytest.raises(ProblemError) as caught:
        asyncio.run(workers.run(lambda: _wait_forever(threading.Event())))
    assert caught.value.code == "deadline-exceeded"
    assert "Retry-After" in caught.value.headers
    workers.close()


def test_what_waited_too_long_is_not_begun() -> None:
    workers = _workers(deadline_s=1e-9)
    with pytest.raises(ProblemError) as caught:
        asyncio.run(workers.run(lambda: pytest.fail("was begun")))
    assert caught.value.code == "deadline-exceeded"
    workers.close()


def test_full_queue_then_room_again() -> None:
    workers, gate = _workers(), threading.Event()

    async def scene() -> None:
        first = asyncio.ensure_future(workers.run(lambda: gate.wait(30)))
        await asyncio.sleep(0)
        with pytest.raises(ProblemError) as caught:
            await workers.run(lambda: None)
        assert (caught.value.code, caught.value.headers) == ("busy", {"Retry-After": "2"})
        gate.set()
        assert await first
        assert await workers.run(lambda: 5) == 5

    asyncio.run(scene())
    workers.close()


def test_a_cancelled_caller_stops_its_work() -> None:
    workers, begun, ended = _workers(), threading.Event(), threading.Event()

    def work() -> None:
        begun.set()
        try:
            _loop()
        finally:
            ended.set()

    async def scene() -> None:
        task = asyncio.ensure_future(workers.run(work))
        assert await asyncio.to_thread(begun.wait, 30)
        task.cancel()
        with pytest.raises(asyncio.CancelledError):
            await task

    asyncio.run(scene())
    assert ended.wait(30)
    workers.close()


def test_errors_pass_through() -> None:
    workers = _workers()
    with pytest.raises(ZeroDivisionError):
        asyncio.run(workers.run(lambda: 1 / 0))
    workers.close()


def test_close_finishes_what_was_started() -> None:
    workers, gate, done = _workers(), threading.Event(), threading.Event()

    async def scene() -> None:
        task = asyncio.ensure_future(workers.run(lambda: (gate.wait(30), done.set())))
        await asyncio.sleep(0)
        closing = asyncio.get_running_loop().run_in_executor(None, workers.close)
        gate.set()
        await closing
        assert done.is_set()
        await task

    asyncio.run(scene())


@pytest.mark.parametrize(
    ("act", "settings", "status", "code"),
    [
        ("loop", {"work_limit_s": 0.05}, 422, "work-over-limit"),
        ("sleep", {"deadline_s": 0.05}, 503, "deadline-exceeded"),
    ],
)
def test_over_http(act: str, settings: dict[str, float], status: int, code: str) -> None:
    with small.client(**settings) as http:
        answer = http.post("/v1/area", json={**small.EXAMPLE, "act": act})
    assert (answer.status_code, answer.json()["type"]) == (status, f"/problems/{code}")
    assert ("retry-after" in answer.headers) == (status == 503)


def test_busy_over_http_while_the_rest_answers() -> None:
    small.gate.clear()
    small.started.clear()
    with small.client(threads=1, queue_limit=0) as http, ThreadPoolExecutor(1) as pool:
        try:
            slow = pool.submit(http.post, "/v1/area", json={**small.EXAMPLE, "act": "wait"})
            assert small.started.wait(30)
            busy = http.post("/v1/area", json=small.EXAMPLE)
            assert (busy.status_code, busy.json()["type"], busy.headers["retry-after"]) == (503, "/problems/busy", "2")
            assert http.get("/health/live").status_code == 200
            assert http.get("/health/ready").status_code == 503
        finally:
            small.gate.set()
        assert slow.result(30).status_code == 200
        assert json.loads(http.get("/health/ready").content) == {"status": "ready"}
