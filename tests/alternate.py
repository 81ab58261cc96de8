"""Time functions by turns, in processor seconds: a busy machine or a slow disk favors none."""

import resource
import time


def alternate(*functions, rounds=5):
    """Run functions by turns, some rounds of it.

    Returns:
        The least processor time of each, its child processes' included, and its last result.
    """
    least, results = [float("inf")] * len(functions), [None] * len(functions)
    for _ in range(rounds):
        for index, function in enumerate(functions):
            begin = processor_s()
            results[index] = function()
            least[index] = min(least[index], processor_s() - begin)
    return least, results


def processor_s():
    """Give the processor time of this process and of its children that have ended."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime
