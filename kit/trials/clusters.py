"""Many machines: the way to a dask scheduler that others started."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

from ..errors import KitError, SettingError

__all__ = ["cluster"]


@contextmanager
def cluster(address, *, wait_s=10.0):
    """An executor of a dask cluster, to run trials or a league on, in a ``with`` block.

    It needs the package ``distributed``, which the kit does not bring: ``pip install distributed``.
    A scheduler runs whatever it is sent by anybody who reaches it: keep it in a closed network, or use TLS.

    Parameters
    ----------
    address : str
        Where the scheduler listens, as it says itself when it starts: ``tcp://192.168.7.20:8786``.
    wait_s : float
        How long to wait for an answer, and for the first worker.

    Yields
    ------
    concurrent.futures.Executor
        That of a ``distributed.Client``; with a client of one's own, one gives its ``get_executor()`` to `run`.

    Raises
    ------
    SettingError
        Nothing answers at the address.
    KitError
        The package is missing, or the cluster has no workers.

    Examples
    --------
    >>> with cluster("tcp://192.168.7.20:8786") as executor:  # doctest: +SKIP
    ...     table = run(grid(seeds=range(10_000)), executor=executor, keep="study.csv")
    """
    try:
        from distributed import Client
    except ImportError:
        raise KitError("a cluster needs the package distributed, got none: pip install distributed") from None
    _check_answers(address, wait_s)
    with Client(address, timeout=wait_s, set_as_default=False) as client:
        try:
            client.wait_for_workers(1, timeout=wait_s)
        except TimeoutError:
            raise KitError(f"a cluster must have workers, got none within {wait_s:g} s: start some, and wait until "
                           "the scheduler says that they are there") from None
        yield client.get_executor()


def _check_answers(address, wait_s):
    """Dask itself would wait for ever for the answer of what listens, but is no scheduler."""
    wanted = f"address must be that of a dask scheduler, got {str(address)[:80]!a}"
    if not isinstance(address, str) or not address:
        raise SettingError(f"{wanted}: take what it says when it starts, as tcp://192.168.7.20:8786")
    with ThreadPoolExecutor(1) as thread:  # a notebook has a loop of its own already
        try:
            thread.submit(asyncio.run, _greet(address, wait_s)).result()
        except Exception as error:  # whatever listens there may say anything, and dask takes its word for it
            said = " ".join(str(error).split()) or f"no answer within {wait_s:g} s"
            raise SettingError(f"{wanted} ({said}): start it, or take what it says when it starts") from None


async def _greet(address, wait_s):
    from distributed.core import connect
    from distributed.security import Security

    security = Security().get_connection_args("client")  # as set in dask's own configuration
    link = await asyncio.wait_for(connect(address, timeout=wait_s, **security), wait_s)
    await link.close()
