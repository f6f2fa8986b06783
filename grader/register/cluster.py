"""
Marking spread over the machines of a Dask cluster: the same pure function there as here, bytes in and bytes out.

The register is written by this process alone, as marks come back. A load whose worker is lost is marked again by another; what
the cluster cannot mark at all is marked here. Keys go to workers as they are needed, in memory: nothing is written there, no
message and no log shows them. Who runs the cluster can see them all the same, so it has to be the examiner's own.

`distributed` (of the extra ``cluster``) is imported where it is used and nowhere else.
"""

from __future__ import annotations

import asyncio
import logging
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from ipaddress import ip_address
from typing import Any, Generic

import msgspec

from grader.base.canon import digest
from grader.base.errors import UseError
from grader.marking.mark import Marks
from grader.register.records import Correction
from grader.register.workers import Batch, Task, marks_of, packed_marks

FILES = 1000  # files in a load at most: handing one over costs a cluster some two milliseconds
BYTES = 8_000_000  # of keys and answers in a load: a key with its figures has a hundred thousand, and a load is held in memory
BATCHES = 20  # in a load at most, so that those with nothing to mark are not held back
AHEAD = 2  # loads that wait for each worker
START = 10.0  # seconds to wait for the cluster to answer, and for its first worker
PATIENCE = 5.0  # seconds after which it is asked whether any worker is left
ROOMS = ("base", "relations", "marking", "register")  # whose code decides what marks come out

_packed_tasks = msgspec.msgpack.Encoder().encode
_tasks_of = msgspec.msgpack.Decoder(list[tuple[bytes, dict[str, str]]]).decode
_unpacked = msgspec.msgpack.Decoder(list[Marks]).decode


class AnotherBuild(RuntimeError):
    """A worker whose code is not the code here: it might mark otherwise."""


@dataclass(frozen=True, slots=True)
class Handed:
    """What a worker is handed. Where it is shown, in a log or a message, it shows neither keys nor answers."""

    tasks: bytes = field(repr=False)
    corrections: tuple[Correction, ...] = field(repr=False)
    build: str


@cache
def build() -> str:
    """The digest of the code that marks, so that two machines can tell whether they have the same."""
    found: list[bytes] = []
    waiting = [(room, files("grader").joinpath(room)) for room in ROOMS]
    while waiting:
        name, place = waiting.pop()
        if place.is_dir():
            waiting += [(f"{name}/{inner.name}", inner) for inner in _sorted(place)]
        elif name.endswith((".py", ".json")):
            found.append(f"{name}\0{digest(place.read_bytes())}\n".encode())
    return digest(b"".join(found))


def _sorted(folder: Traversable) -> list[Traversable]:
    return sorted((inner for inner in folder.iterdir() if inner.name != "__pycache__"), key=lambda inner: inner.name)


def marked(handed: Handed) -> bytes:
    """The marks of a load, packed: what a worker runs. `AnotherBuild` where the code there is not the code here."""
    if handed.build != build():
        raise AnotherBuild("grader is another build here")
    return packed_marks(_tasks_of(handed.tasks), handed.corrections)


@dataclass(slots=True)
class _Load(Generic[Batch]):
    """
    What goes to a worker together: many small batches, or a part of one that is large.

    `ended` are the batches whose last task is in it, each with how many of its tasks come before that end.
    """

    tasks: list[Task] = field(default_factory=list)
    ended: list[tuple[Batch, int]] = field(default_factory=list)
    size: int = 0

    @property
    def full(self) -> bool:
        """Whether it is worth handing over."""
        return len(self.tasks) >= FILES or self.size >= BYTES or len(self.ended) >= BATCHES

    def add(self, task: Task) -> None:
        """Take a task more."""
        key, answers = task
        self.tasks.append(task)
        self.size += len(key) + sum(map(len, answers.values()))


@dataclass(slots=True)
class _Given(Generic[Batch]):
    """A load that was handed over: what a worker was given, how many marks it owes, and where they will come from."""

    handed: Handed
    number: int
    ended: list[tuple[Batch, int]]
    begun: Any


@dataclass(frozen=True, slots=True)
class Cluster:
    """
    A cluster that is joined (`joined`), in the place of `grader.register.workers.Workers`.

    `tell` is handed a line where the cluster failed and something was marked here instead.
    """

    client: Any = field(repr=False)
    tell: Callable[[str], None] = lambda _: None
    corrections: tuple[Correction, ...] = ()

    def each(self, batches: Iterable[Batch], tasks: Callable[[Batch], Iterable[Task]]) -> Iterator[tuple[Batch, list[Marks]]]:
        """Every batch with the marks of its tasks, in order; a few loads for each worker are marked ahead."""
        rest: list[Marks] = []  # of a batch whose end is in a later load
        with closing(self._marked(_loads(batches, tasks))) as loads:
            for ended, marks in loads:
                start = 0
                for batch, end in ended:
                    yield batch, rest + marks[start:end]
                    rest, start = [], end
                rest += marks[start:]

    def _marked(self, loads: Iterable[_Load[Batch]]) -> Generator[tuple[list[tuple[Batch, int]], list[Marks]], None, None]:
        """What ended in each load, and the load's marks."""
        waiting: deque[_Given[Batch]] = deque()
        try:
            for load in loads:
                handed = Handed(_packed_tasks(load.tasks), self.corrections, build())
                begun = self._begun(handed) if load.tasks else None
                waiting.append(_Given(handed, len(load.tasks), load.ended, begun))
                load.tasks.clear()  # packed, they are all there
                while len(waiting) > AHEAD * max(1, self._workers()):
                    yield waiting[0].ended, self._taken(waiting.popleft())
            while waiting:
                yield waiting[0].ended, self._taken(waiting.popleft())
        finally:
            for given in waiting:  # interrupted: nobody waits for these any more
                if given.begun is not None:
                    with suppress(Exception):
                        given.begun.cancel()

    def _begun(self, handed: Handed) -> Any:
        """A load on its way; None where the cluster takes none."""
        if not self._workers():
            self.tell("no worker is left in the cluster; marked here")
            return None
        try:
            return self.client.submit(marked, handed, pure=False)  # pure, it would be told from others by a digest of all of it
        except Exception as error:  # noqa: BLE001 - whatever a cluster raises, the pile goes on here
            self._failed(error)
            return None

    def _taken(self, given: _Given[Batch]) -> list[Marks]:
        found = None if given.begun is None else self._awaited(given.begun, given.number)
        return marks_of(_tasks_of(given.handed.tasks), self.corrections) if found is None else found

    def _awaited(self, begun: Any, number: int) -> list[Marks] | None:
        """The marks that a worker made of a load of so many tasks; None where none will."""
        while True:
            try:
                found = _unpacked(begun.result(timeout=PATIENCE))
            except TimeoutError:
                if not self._workers():
                    self.tell("no worker is left in the cluster; marked here")
                    return None
            except Exception as error:  # noqa: BLE001 - as above
                self._failed(error)
                return None
            else:
                if len(found) == number:
                    return found
                self.tell("the cluster gave back other marks than were asked for; marked here")
                return None

    def _workers(self) -> int:
        """How many workers there are now; 0 also where the cluster no longer answers."""
        try:
            return len(self.client.nthreads()) if self.client.status == "running" else 0
        except Exception:  # noqa: BLE001 - as above
            return 0

    def _failed(self, error: Exception) -> None:
        self.tell(f"the cluster could not mark a load ({type(error).__name__}); marked here")


def _loads(batches: Iterable[Batch], tasks: Callable[[Batch], Iterable[Task]]) -> Iterator[_Load[Batch]]:
    """The tasks of some batches, so many together that they are worth handing over."""
    load: _Load[Batch] = _Load()
    for batch in batches:
        for task in tasks(batch):
            load.add(task)
            if load.full:
                yield load
                load = _Load()
        load.ended.append((batch, len(load.tasks)))
        if load.full:
            yield load
            load = _Load()
    yield load


@contextmanager
def joined(address: str, tell: Callable[[str], None] = lambda _: None) -> Iterator[Cluster]:
    """
    The Dask cluster whose scheduler is at an address: ``tls://marks.weirgate.example:8786``.

    Raises `UseError` where `distributed` is not installed, nobody answers, no worker is there, or one of them has no `grader` or
    another build of it. Over a network the address should begin with ``tls://``; where it does not, that is told.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise UseError("marking on a cluster needs the extra `cluster`: pip install 'grader[cluster]'") from error
    try:
        _reach(address)  # first, for a client that never reached anybody is loud when it goes
        client = Client(address, timeout=START, set_as_default=False)
    except (OSError, ValueError, TypeError, RuntimeError) as error:
        raise UseError(f"{address}: no cluster answers there ({error}); start its scheduler, or mend the address") from error
    with _quiet(), client:
        try:
            client.wait_for_workers(1, timeout=START)
        except TimeoutError as error:
            raise UseError(f"{address}: the cluster has no worker; start one: dask worker {address}") from error
        _alike(client.run(build, on_error="return"))
        if _overheard(address):
            tell(f"{address}: keys and answers go there unencrypted; use a tls:// address where others share the network")
        yield Cluster(client, tell)


@contextmanager
def _quiet() -> Iterator[None]:
    """Dask's client keeps its own warnings to itself meanwhile: what of them matters to an examiner is told."""
    log = logging.getLogger("distributed.client")
    level = log.level
    log.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        log.setLevel(level)


def _reach(address: str) -> None:
    """Whether anybody answers there. In a thread of its own: where a loop runs already, asyncio starts no other."""
    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(_answered(address))).result()


async def _answered(address: str) -> None:
    """Whether anybody listens at an address; tls:// with the certificates that Dask's own configuration names."""
    from distributed.comm import connect
    from distributed.security import Security

    line = await connect(address, timeout=START, **Security().get_connection_args("client"))
    await line.close()


def _overheard(address: str) -> bool:
    """Whether others could listen to what goes to an address."""
    scheme, _, rest = address.rpartition("://")
    host = rest.rpartition(":")[0].strip("[]")
    try:
        near = host == "localhost" or ip_address(host).is_loopback
    except ValueError:
        near = False
    return scheme not in ("tls", "wss", "inproc") and not near


def _alike(builds: Mapping[str, object]) -> None:
    """Refuse workers that might mark otherwise than this machine."""
    bare = sorted(worker for worker, there in builds.items() if not isinstance(there, str))
    other = sorted(worker for worker, there in builds.items() if isinstance(there, str) and there != build())
    if bare:
        raise UseError(f"{', '.join(bare)}: grader cannot be run there; install this version of it on every worker")
    if other:
        raise UseError(
            f"{', '.join(other)}: another build of grader; install this version on every worker, or marks might differ"
        )
