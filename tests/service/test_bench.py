"""The computing process: whatever becomes of it costs the service nothing, and shows."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

import farms
from unsown.service import figure, worker
from unsown.service.bench import Bench
from unsown.service.task import Done, Task


class Murdered(Bench):
    """A bench whose process is killed right after it got its task, some times over."""

    def __init__(self, times: int) -> None:
        super().__init__()
        self.left = times
        self.pids: set[int | None] = set()

    def _answer(self, pipe: Connection, tell: Callable[[str, float], None]) -> Done | None:
        self.pids.add(self.pid)
        if self.left and self.pid:
            self.left -= 1
            os.kill(self.pid, signal.SIGKILL)
        return super()._answer(pipe, tell)


def test_a_process_that_dies_once_is_started_anew_and_only_the_services_log_says_so(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    bench = Murdered(1)
    with farms.computing(tmp_path, bench=bench) as farm:
        id_ = farms.stocked(farm)
        watch = farm.subscribe(0.3)
        farm.take_entries("cab", 1, farms.body(farms.day()))
        assert farms.computed(farm, id_)["state"] == "ready"
        heard = [e for e in iter(lambda: next(watch), None) if e is not None]
    assert len(bench.pids) == 2
    assert "SIGKILL" in caplog.text
    states = [e.data["state"] for e in heard if e.event == "work"]
    # nobody is told of an answer before there is one
    assert set(states[:-1]) == {"computing"}
    assert states[-1] == "ready"


def test_a_process_that_dies_again_is_told_and_the_next_entry_or_start_tries_anew(
    tmp_path: Path,
) -> None:
    with farms.computing(tmp_path, bench=Murdered(2)) as farm:
        id_ = farms.stocked(farm)
        farm.take_entries("cab", 1, farms.body(farms.day()))
        found = farms.computed(farm, id_)
        assert (found["state"], found["reason"]["code"]) == ("failed", "worker-died")
        assert "SIGKILL" in found["reason"]["message"]
        assert farm.board()["paddocks"][0]["state"] == "failed"
        assert farm.held("cab").held == len(farms.day())
    with farms.computing(tmp_path) as farm:
        assert farms.computed(farm, id_)["state"] == "ready"


def test_the_process_ends_with_the_service_even_when_that_is_killed(tmp_path: Path) -> None:
    code = """
import sys, time
from pathlib import Path
sys.path.insert(0, sys.argv[2])
import farms
if __name__ == "__main__":
    from unsown.service.bench import Bench
    with farms.computing(Path(sys.argv[1]), bench=Bench()) as farm:
        id_ = farms.stocked(farm)
        farm.take_entries("cab", 1, farms.body(farms.day()))
        farms.computed(farm, id_)
        print(farm._foreman._bench.pid, flush=True)
        time.sleep(60)
"""
    script = tmp_path / "service.py"
    script.write_text(code)
    words = [sys.executable, str(script), str(tmp_path / "farm"), str(Path(farms.__file__).parent)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as service:
        assert service.stdout is not None
        pid = int(service.stdout.readline())
        os.kill(pid, 0)  # it is there
        service.kill()
    until = time.monotonic() + 20
    while time.monotonic() < until and _runs(pid):
        time.sleep(0.05)
    assert not _runs(pid)


def _runs(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state != "Z"


def test_a_task_is_given_up_when_it_is_no_longer_wanted() -> None:
    bench = Bench()
    told: list[str] = []

    def tell(stage: str, part: float) -> None:
        told.append(stage)
        bench.stop()

    try:
        assert bench.run(_task(), tell) is None
        assert told
        done = bench.run(_task(), lambda stage, part: None)
        assert done is not None
        assert done.state == "ready"
    finally:
        bench.close()


def test_a_task_that_takes_too_long_is_ended_and_told() -> None:
    bench = Bench(longest_s=0.0)
    try:
        done = bench.run(_task(), lambda stage, part: None)
        assert done is not None
        assert done.reason is not None
        assert (done.state, done.reason["code"]) == ("failed", "worker-slow")
        assert bench.pid is None
    finally:
        bench.close()


def _task() -> Task:
    from unsown.formats.rig import read_rig
    from unsown.service.calendar import Calendar
    from unsown.service.task import Lines
    from unsown.service.things import toml

    rig = read_rig(toml(farms.CARD), "card")
    lines = (Lines("cab", farms.body(farms.day())),)
    return Task("p", 2025, "", farms.paddock(), lines, (rig,), (), Calendar("UTC", "04:00"))


class Pipe:
    """A pipe that keeps what is sent."""

    def __init__(self) -> None:
        self.sent: list[tuple] = []

    def poll(self) -> bool:
        return False

    def send(self, word: tuple) -> None:
        self.sent.append(word)


@pytest.mark.parametrize(
    ("error", "code"), [(ZeroDivisionError("x"), "defect"), (MemoryError(), "memory")]
)
def test_a_defect_of_ours_is_told_as_one_and_the_process_goes_on(
    monkeypatch: pytest.MonkeyPatch, error: Exception, code: str
) -> None:
    def broken(task: Task, tell: object) -> Done:
        raise error

    monkeypatch.setattr(figure, "figure", broken)
    pipe = Pipe()
    worker._work(pipe, _task())  # type: ignore[arg-type]
    ((word, done),) = pipe.sent
    assert (word, done.state, done.reason["code"]) == ("done", "failed", code)
