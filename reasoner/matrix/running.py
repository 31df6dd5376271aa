"""Who works out the chunks: processes of this machine, or a cluster that is running already.

Both give back what `working.work_out` makes of a chunk, in any order.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, CancelledError, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from importlib import import_module
from multiprocessing.connection import wait as wait_for
from typing import Any, Final, Protocol

from .chunks import Chunk
from .errors import MatrixRefused, MatrixStopped
from .working import Place, work_out

_AHEAD: Final = 2
"""So many chunks wait for each process, so that none is idle."""

NEEDED: Final = 'A cluster is reached by dask.distributed: pip install "knockon[matrix]"'


class Engine(Protocol):
    """Works out chunks."""

    def run(self, place: Place, chunks: Sequence[Chunk]) -> Iterator[tuple[Chunk, bytes]]:
        """The file of each chunk, as soon as it is there."""
        ...


class Here:
    """So many processes of this machine; with one only, this process itself stays free to stop."""

    def __init__(self, workers: int) -> None:
        self._workers = workers

    def run(self, place: Place, chunks: Sequence[Chunk]) -> Iterator[tuple[Chunk, bytes]]:
        """See `Engine`.

        Raises:
            MatrixStopped: a process ended before it was done.
        """
        context = multiprocessing.get_context("spawn")
        pool = ProcessPoolExecutor(min(self._workers, len(chunks)), context, _stay_with_parent)
        left = iter(chunks)
        doing: dict[Future[bytes], Chunk] = {}
        try:
            while True:
                while len(doing) < self._workers * _AHEAD and (chunk := next(left, None)):
                    doing[pool.submit(work_out, place, chunk)] = chunk
                if not doing:
                    break
                for done in wait(doing, return_when=FIRST_COMPLETED).done:
                    yield doing.pop(done), done.result()
        except BrokenProcessPool:
            raise MatrixStopped(
                "A process ended before its chunk was done; perhaps there was not enough memory: "
                "try fewer --workers."
            ) from None
        finally:
            pool.shutdown(wait=not doing, cancel_futures=True)
            if doing:
                for child in multiprocessing.active_children():
                    child.terminate()


def _stay_with_parent() -> None:
    """In a process of the pool: Ctrl-C is for the parent, and without it there is nothing to do."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    wait_for([sentinel])
    os._exit(1)


class Cluster:
    """A cluster of dask.distributed that is running at an address."""

    def __init__(self, address: str) -> None:
        self._address = address

    def run(self, place: Place, chunks: Sequence[Chunk]) -> Iterator[tuple[Chunk, bytes]]:
        """See `Engine`.

        Raises:
            MatrixRefused: dask.distributed is not installed, or nobody answers at the address.
            MatrixStopped: the cluster was lost.
        """
        try:
            distributed: Any = import_module("distributed")
        except ImportError:
            raise MatrixRefused(NEEDED) from None
        try:
            client = distributed.Client(self._address, timeout=10, set_as_default=False)
        except (OSError, TimeoutError, ValueError) as error:
            raise MatrixRefused(f"No cluster answers at {self._address}: {error}") from None
        by_key = {chunk.name: chunk for chunk in chunks}
        with client:
            futures = [
                client.submit(work_out, place, chunk, key=chunk.name, retries=2) for chunk in chunks
            ]
            lost = CancelledError, OSError, distributed.KilledWorker
            try:
                done = distributed.as_completed(futures, loop=client.loop, with_results=True)
                for future, content in done:
                    yield by_key[future.key], content
                    future.release()
            except lost as error:
                raise MatrixStopped(f"The cluster was lost: {error}.") from None
            finally:
                with suppress(Exception):
                    client.cancel(futures)
