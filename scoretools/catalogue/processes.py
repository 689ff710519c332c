"""Scores worked at side by side: here, in processes of their own, or on a cluster.

All three go through `concurrent.futures`. No more scores are under way than the workers need, so
that memory does not grow with the library, and a process that dies over a score takes down neither
the scan nor the other scores.
"""

import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from functools import partial
from itertools import islice
from multiprocessing.connection import wait as wait_for
from pathlib import Path

from scoretools.catalogue.work import ScannedScore, Wanted, content_hash, scanned
from scoretools.errors import CatalogueError, MissingLibrary
from scoretools.version import VERSION

__all__ = ["on_cluster", "side_by_side"]

_PATIENCE = "10s"
"""How long a cluster may take to answer."""

_UNDER_WAY = 4
"""Scores under way for each worker."""


def side_by_side(
    paths: Iterator[Path], wanted: Wanted, jobs: int
) -> Generator[ScannedScore, None, None]:
    """Work at scores in processes of their own; with one job, in this one.

    Parameters
    ----------
    paths
        Scores; taken as they are needed.
    wanted
        For whom, and by which rubrics.
    jobs
        Scores worked at at a time.

    Yields
    ------
    ScannedScore
        In the order of the paths, so that parts are numbered alike however many work.
    """
    if jobs == 1:
        yield from (scanned(path, wanted) for path in paths)
        return
    while True:
        lost: list[Path] = []
        with _pool(jobs) as pool:
            yield from _under_way(pool, paths, wanted, jobs * _UNDER_WAY, lost)
        if not lost:
            return
        # One of these ended its process, and the pool with it: alone, each shows which.
        for path in lost:
            yield _alone(path, wanted)


def _under_way(
    pool: Executor, paths: Iterator[Path], wanted: Wanted, most: int, lost: list[Path]
) -> Iterator[ScannedScore]:
    """Keep the workers busy; when the pool breaks, what it has not done goes to `lost`."""
    waiting: deque[tuple[Path, Future[ScannedScore]]] = deque()
    while True:
        for path in islice(paths, 0 if lost else most - len(waiting)):
            try:
                waiting.append((path, pool.submit(scanned, path, wanted)))
            except BrokenProcessPool:
                lost.append(path)
                break
        if not waiting:
            return
        path, future = waiting.popleft()
        try:
            yield future.result()
        except BrokenProcessPool:
            lost.append(path)


def _alone(path: Path, wanted: Wanted) -> ScannedScore:
    with _pool(1) as pool:
        try:
            return pool.submit(scanned, path, wanted).result()
        except BrokenProcessPool:
            return _fatal(path)


def _fatal(path: Path) -> ScannedScore:
    fault = (
        "the score ended the process that read it, perhaps for want of memory; "
        "split it into movements and scan once more"
    )
    return ScannedScore(path, content_hash(path), VERSION, (), (fault,))


@contextmanager
def _pool(jobs: int) -> Iterator[ProcessPoolExecutor]:
    """Start processes anew, not as copies of this one, which may run threads."""
    spawn = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(jobs, mp_context=spawn, initializer=_begin)
    try:
        yield pool
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _begin() -> None:
    """Leave Ctrl-C to the process that scans, and end with it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait_for([parent.sentinel])
        os._exit(1)


# ── a cluster ───────────────────────────────────────────────────────────────────────────────────


def on_cluster(
    paths: Iterator[Path], wanted: Wanted, address: str
) -> Generator[ScannedScore, None, None]:
    """Work at scores on a Dask cluster, whose machines see the files under the same names.

    Parameters
    ----------
    paths, wanted
        As for `side_by_side`.
    address
        Address of the scheduler, such as ``tcp://10.0.0.5:8786``.

    Yields
    ------
    ScannedScore
        In the order of the paths.

    Raises
    ------
    CatalogueError
        The cluster cannot be reached, is lost, or runs another version of the program.
    MissingLibrary
        The extra ``cluster`` is not installed.
    """
    try:
        from distributed import Client
        from distributed.scheduler import KilledWorker
    except ImportError as error:
        raise MissingLibrary(
            "--scheduler: a cluster needs the library distributed; "
            "install it with: pip install 'scoretools[cluster]'"
        ) from error
    with _told(address), Client(address, timeout=_PATIENCE, set_as_default=False) as client:
        workers = sum(client.nthreads().values())
        if not workers:
            raise CatalogueError(f"--scheduler {address}: the cluster has no workers; start some")
        outcome = partial(_outcome, address, KilledWorker)
        yield from _spread(client.get_executor(pure=False), paths, wanted, workers, outcome)


def _spread(
    cluster: Executor,
    paths: Iterator[Path],
    wanted: Wanted,
    workers: int,
    outcome: Callable[[Future[ScannedScore], Path], ScannedScore],
) -> Iterator[ScannedScore]:
    waiting: deque[tuple[Path, Future[ScannedScore]]] = deque()
    while True:
        for path in islice(paths, workers * _UNDER_WAY - len(waiting)):
            waiting.append((path, cluster.submit(scanned, path.absolute(), wanted)))
        if not waiting:
            return
        path, future = waiting.popleft()
        yield outcome(future, path)


def _outcome(
    address: str, killed: type[Exception], done: Future[ScannedScore], path: Path
) -> ScannedScore:
    try:
        found = done.result()
    except killed:
        return _fatal(path)
    if found.tool_version != VERSION:
        raise CatalogueError(
            f"--scheduler {address}: the workers run scoretools {found.tool_version}, "
            f"this is {VERSION}; install one version everywhere"
        )
    return found


@contextmanager
def _told(address: str) -> Iterator[None]:
    try:
        yield
    except (OSError, ValueError) as fault:
        words = " ".join(str(fault).split())
        raise CatalogueError(
            f"--scheduler {address}: the cluster cannot be reached ({words}); "
            "check that its scheduler runs, and its address"
        ) from fault
