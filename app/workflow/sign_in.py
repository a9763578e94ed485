"""Rules of signing in: what a PIN is, how waits grow after wrong ones, when a sign-in ends."""

from __future__ import annotations

from datetime import datetime, timedelta

FEWEST_DIGITS = 4
MOST_DIGITS = 12

# One slip of the finger costs nothing. Many people share a counter PC, so an address gets more.
FREE_BY_PERSON = 2
FREE_FROM_ADDRESS = 9
FIRST_WAIT = timedelta(seconds=5)
# Never a lock for good: someone in the shop could shut a colleague out with it.
LONGEST_WAIT = timedelta(minutes=15)
FORGOTTEN_AFTER = timedelta(hours=24)
# More wrong tries than this wait no longer, so no more of them need to be looked at.
MOST_COUNTED = 20

SEEN_EVERY = timedelta(minutes=5)
# A head clamped up within this time keeps its machinist signed in.
CLAMP_UP_COUNTS_FOR = timedelta(hours=24)

_RUNS = ("01234567890123", "98765432109876")


def pin_fault(pin: str) -> str:
    """What is wrong with a PIN someone chose; empty when nothing is."""
    if not (pin.isascii() and pin.isdigit()):
        return "must be digits only"
    if not FEWEST_DIGITS <= len(pin) <= MOST_DIGITS:
        return f"must have {FEWEST_DIGITS} to {MOST_DIGITS} digits"
    if len(set(pin)) == 1 or any(pin in run for run in _RUNS):
        return "is among the first that anyone would try; choose another"
    return ""


def wait_after(wrong: int, free: int) -> timedelta:
    """How long after the newest of `wrong` wrong PINs in a row the next one is looked at."""
    if wrong <= free:
        return timedelta(0)
    doublings = min(wrong - free - 1, MOST_COUNTED)
    wait: timedelta = FIRST_WAIT * 2**doublings
    return min(wait, LONGEST_WAIT)


def wait_words(wait: timedelta) -> str:
    """Why nothing was looked at, and for how long."""
    seconds = -(-wait // timedelta(seconds=1))
    shown = f"{seconds} s" if seconds < 120 else f"{-(-seconds // 60)} min"
    return f"Several wrong PINs came in. Wait {shown}, then try again; this one was not looked at."


def has_ended(
    started_at: datetime, last_seen: datetime, at: datetime, idle_hours: int, days: int
) -> bool:
    """Whether a sign-in is over: unused for too long, or too old."""
    return at - last_seen > timedelta(hours=idle_hours) or at - started_at > timedelta(days=days)
