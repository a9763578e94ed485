"""PIN hashing: slow on purpose, so never on a thread that saves readings."""

from __future__ import annotations

from functools import cache
from typing import Literal

from pwdlib import PasswordHash
from pwdlib.hashers.argon2 import Argon2Hasher

Cost = Literal["dear", "cheap"]


@cache
def _hasher(cost: Cost) -> PasswordHash:
    if cost == "cheap":  # tests sign in hundreds of times
        return PasswordHash((Argon2Hasher(time_cost=1, memory_cost=8, parallelism=1),))
    return PasswordHash((Argon2Hasher(time_cost=3, memory_cost=65536, parallelism=4),))


def hash_pin(pin: str, cost: Cost) -> str:
    """An argon2id hash with its own salt: about 100 ms when dear."""
    return _hasher(cost).hash(pin)


def pin_matches(pin: str, pin_hash: str) -> bool:
    """Whether this PIN made this hash; the hash names its own cost."""
    return _hasher("dear").verify(pin, pin_hash)
