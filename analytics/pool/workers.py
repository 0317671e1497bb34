"""The same work for each of many farms: in this process, in several, or on a cluster; results in the order given.

A farm is a whole: no work needs two. So nothing of an answer depends on where a farm was worked on, and work that is
lost with a worker is done again.
"""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from typing import TypeVar

from analytics.errors import BadInput, Refused

Item = TypeVar("Item")
Result = TypeVar("Result")

MOST_WORKERS = 256
MOST_BROKEN = 5  # times that workers may be lost before it is given up; our choice, no source
ANSWERS_WITHIN = 20  # seconds, of a cluster that is asked for


def for_each(
    job: Callable[[Item], Result], items: Sequence[Item], *, workers: int = 1, cluster: str | None = None
) -> Iterator[Result]:
    """What `job` makes of each item, in the order of the items.

    job : a function of a module, so that other processes find it
    workers : processes on this machine; 1 is this process
    cluster : address of the scheduler of a cluster, such as tcp://10.0.0.5:8786; its workers have standrow installed
    Raises BadInput for options out of range, Refused where the cluster does not answer or workers are lost again and
    again.
    """
    if not 1 <= workers <= MOST_WORKERS:
        raise BadInput(f"workers: {workers} given; allowed 1 to {MOST_WORKERS}.")
    if cluster is not None and workers > 1:
        raise BadInput("workers: given beside a cluster; allowed one of the two. A cluster has workers of its own.")
    if cluster is not None:
        return _on_a_cluster(job, items, cluster)
    if workers == 1 or len(items) < 2:
        return map(job, items)
    return _in_processes(job, items, workers)


def _in_processes(job: Callable[[Item], Result], items: Sequence[Item], workers: int) -> Iterator[Result]:
    done: dict[int, Result] = {}
    for _ in range(MOST_BROKEN):
        with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
            waiting = {pool.submit(job, items[place]): place for place in range(len(items)) if place not in done}
            for future in as_completed(waiting):
                try:
                    done[waiting[future]] = future.result()
                except BrokenProcessPool:  # one worker was ended from outside, and the others with it
                    continue
        if len(done) == len(items):
            return (done[place] for place in range(len(items)))
    raise Refused(f"Workers were ended {MOST_BROKEN} times, by the system or by somebody. Nothing was worked out.")


def _on_a_cluster(job: Callable[[Item], Result], items: Sequence[Item], address: str) -> Iterator[Result]:
    try:
        from distributed import Client  # an extra, which hardly anybody needs
    except ImportError as problem:
        raise Refused('cluster: the extra is not installed here: pip install "standrow[cluster]"') from problem
    try:
        client = Client(address, timeout=ANSWERS_WITHIN)  # type: ignore[no-untyped-call]
    except (OSError, ValueError, TimeoutError) as problem:
        raise Refused(
            f"cluster: nothing answers at {address} ({problem}). Start it, or leave the option out."
        ) from problem
    with client:
        futures = client.map(job, items, pure=False, retries=MOST_BROKEN)
        results: list[Result] = client.gather(futures)  # type: ignore[no-untyped-call]
    return iter(results)
