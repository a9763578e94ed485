"""How many threads answer requests: few, because they take turns at the interpreter anyway.

With the framework's 40 threads the slowest hundredth of page reads took 50 ms, with 2 about 11.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import ParamSpec, TypeVar

from anyio import CapacityLimiter, to_thread
from anyio.lowlevel import RunVar

TOKENS_SQLITE = 2
TOKENS_POSTGRESQL = 8
SLOW_TOKENS = 2

_P = ParamSpec("_P")
_T = TypeVar("_T")
_slow: RunVar[CapacityLimiter] = RunVar("seatwright_slow_work")


def limit_threads(tokens: int) -> None:
    """Set how many plain (`def`) handlers run at once; called inside the running event loop."""
    to_thread.current_default_thread_limiter().total_tokens = tokens


async def slow_work(work: Callable[_P, _T], *args: _P.args, **kwargs: _P.kwargs) -> _T:
    """Run `work` on a thread of the second limiter, so that readings never wait behind it.

    For an `async def` route: figures, exports, backups, photos, PIN hashing.
    """
    try:
        limiter = _slow.get()
    except LookupError:
        limiter = CapacityLimiter(SLOW_TOKENS)
        _slow.set(limiter)
    return await to_thread.run_sync(lambda: work(*args, **kwargs), limiter=limiter)
