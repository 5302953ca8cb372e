"""A Dask cluster to mark on: its scheduler reached by address, and what to do when it is not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Future
from contextlib import contextmanager
from functools import partial
from typing import Any

from workbook.core.errors import PlainError

PATIENCE = 30  # s until a scheduler has answered, and until a worker has joined it

Submit = Callable[..., Future[Any]]


class ClusterError(PlainError, ValueError):
    """A cluster that cannot be used; the message says why in a sentence, and what to do."""


@contextmanager
def cluster(address: str) -> Iterator[tuple[Submit, int]]:
    """Yield what gives work to the cluster of a scheduler, and how many workers it has now.

    A worker that is lost has its work done again by another. Raises ClusterError.
    """
    client = _reached(address)
    from distributed import KilledWorker

    with client:
        try:
            # Marking writes files: the same batch given again is to be marked again.
            yield partial(client.submit, pure=False), _joined(client, address)
        except KilledWorker:
            raise ClusterError(
                "Several workers were lost over one batch, perhaps for want of memory. What was "
                "marked before is kept; grade again with larger or fewer workers."
            ) from None
        except CancelledError:
            raise ClusterError(
                f"The scheduler at {address} went away. What was marked before is kept; start it "
                "and its workers again, and grade again."
            ) from None


def _reached(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError:
        raise ClusterError(
            "Grading on a cluster needs Dask: install it with pip install 'tpiece-workbook[dask]'."
        ) from None
    try:
        return Client(address, timeout=PATIENCE)
    except (OSError, ValueError) as error:
        raise ClusterError(
            f"No Dask scheduler answers at {address!r} ({str(error)[:80]}). Start one with: dask "
            "scheduler, and give the address it prints."
        ) from None


def _joined(client: Any, address: str) -> int:
    """Wait for a worker, and return how many there are."""
    try:
        client.wait_for_workers(1, timeout=PATIENCE)
    except TimeoutError:
        raise ClusterError(
            f"No worker has joined the scheduler at {address}. Start one: dask worker {address}"
        ) from None
    return len(client.nthreads())
