"""How long 10,000 designations take to read, cold and cached, beside as many plain matches.

Run: python tests/benchmarks/designations.py
"""

import re
import time
from collections.abc import Callable, Iterator
from itertools import islice

from thread_repair import threads
from thread_repair.threads import designation

COUNT = 10_000


def texts() -> list[str]:
    """Distinct spellings of the known threads, most with a class."""

    def spellings() -> Iterator[str]:
        for space in ("", " ", "  "):
            for dash in (" ", " - ", "-", "- "):
                for thread in threads.known():
                    for name in threads.system_of(thread).hole_classes[:3]:
                        yield f"{space}{thread.designation}{dash}{name}"

    return list(islice(spellings(), COUNT))


def seconds(call: Callable[[str], object], items: list[str]) -> float:
    start = time.perf_counter()
    for item in items:
        call(item)
    return time.perf_counter() - start


if __name__ == "__main__":
    items = texts()
    threads.names()
    designation._read.cache_clear()
    cold = seconds(threads.thread, items)
    warm = seconds(threads.thread, items[-4096:]) * COUNT / 4096
    plain = seconds(re.compile(r"\s*([\w./ ]+)[x-]\s*([\d.]+)(.*)").match, items)
    print(f"{len(set(items))} designations: {cold:.3f} s, {cold / plain:.0f} times a plain match")
    print(f"cached: {warm / cold:.2f} of that")
