"""A sitting killed at any moment: what stands is whole, and the next run makes the rest as if nothing had been."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from grader.marking.key import read_key
from grader.register.store import Register

pytestmark = pytest.mark.paper
HERE = Path(__file__).parent
PEOPLE = 2


class End(NamedTuple):
    """How a run ended: its exit status, minus the signal that killed it; how many steps it took to the end."""

    status: int
    steps: int


class Runs:
    """Runs of one sitting, each in a process of its own."""

    def __init__(self, served: subprocess.Popen[str]) -> None:
        self.served = served

    def __call__(self, folder: Path, *, kill_at: int = 0, delay: float = 0.0, pages: str = "short") -> End:
        assert self.served.stdin is not None
        assert self.served.stdout is not None
        folder.mkdir(exist_ok=True)
        self.served.stdin.write(f"{folder} {kill_at} {delay} {pages}\n")
        self.served.stdin.flush()
        status, steps = self.served.stdout.readline().split()
        return End(int(status), int(steps))


@pytest.fixture(scope="module")
def runs() -> Iterator[Runs]:
    command = [sys.executable, str(HERE / "killed_runs.py"), str(HERE / "course"), str(PEOPLE)]
    environment = os.environ | {"PYTHONPATH": str(Path.cwd())}
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment) as served:
        yield Runs(served)
        assert served.stdin is not None
        served.stdin.close()


def printed(folder: Path) -> dict[str, bytes]:
    """Every file of the sitting that has its name, with its bytes: what a killed run was still writing has another."""
    home = folder / "sittings" / "spring"
    return {str(path.relative_to(home)): path.read_bytes() for path in home.rglob("[!.]*") if path.is_file()}


def keys(folder: Path) -> dict[str, bytes]:
    with Register(folder / "register.sqlite", existing=True) as register:
        return register.open_keys("spring", "a test", "2031-05-12") if register.sittings() else {}


def check_finished(folder: Path, whole: dict[str, bytes], sealed: dict[str, bytes]) -> None:
    assert printed(folder) == whole
    assert not list(folder.rglob("*.part"))
    assert keys(folder) == sealed


def test_a_run_killed_at_any_step_is_finished_by_the_next(runs: Runs, tmp_path: Path) -> None:
    """Fifty kills, spread over every step there is: each SQL statement, each file opened, synced, renamed."""
    end = runs(tmp_path / "whole")
    whole, sealed = printed(tmp_path / "whole"), keys(tmp_path / "whole")
    assert (end.status, len(sealed), len(whole)) == (0, PEOPLE, 2 * PEOPLE + 1)
    assert end.steps > 100
    kept = []
    for number in range(50):
        folder = tmp_path / str(number)
        assert runs(folder, kill_at=1 + number * end.steps // 50).status == -signal.SIGKILL
        assert printed(folder).items() <= whole.items()  # nothing half-written has its name
        if (folder / "register.sqlite").exists():
            kept.append(keys(folder))
        assert runs(folder).status == 0
        check_finished(folder, whole, sealed)
    assert {len(found) for found in kept} == {0, PEOPLE}  # the keys are all there or none is
    assert all(found == sealed for found in kept if found)


def test_a_run_killed_again_and_again_goes_on_each_time(runs: Runs, tmp_path: Path) -> None:
    folder = tmp_path / "stubborn"
    sealing = runs(tmp_path / "whole").steps * 3 // 4  # the steps to the first papers: each run gets a little further
    killed = 0
    while runs(folder, kill_at=sealing).status == -signal.SIGKILL:
        killed += 1
        assert killed < 9
    assert killed > 0
    assert len(printed(folder)) == 2 * PEOPLE + 1
    assert not list(folder.rglob("*.part"))


def test_real_pages_are_whole_or_not_there(runs: Runs, tmp_path: Path) -> None:
    for number, delay in enumerate((0.15, 0.3, 0.45)):
        folder = tmp_path / str(number)
        assert runs(folder, delay=delay, pages="real").status in {0, -signal.SIGKILL}
        for name, data in printed(folder).items():
            assert data.rstrip().endswith((b"%%EOF", b"</html>")) or name == "manifest.csv", name
    assert runs(folder, pages="real").status == 0
    assert len(printed(folder)) == 2 * PEOPLE + 1
    assert all(read_key(key).paper == code for code, key in keys(folder).items())
