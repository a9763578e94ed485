"""What a setting may cut, when it stops being live, and when the position is confirmed by touch.

A setting belongs to named positions. Software cannot know where the spindle stands: another
position cannot be recorded, which is not to say that it cannot be cut.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction

from app.calc.setting import FixtureMode, SetSize
from app.calc.units import Length
from app.workflow.facts import HeadFacts, PortFacts
from app.workflow.kinds import Said, SettingState, Unit
from app.workflow.layout import neighbours
from app.workflow.verdicts import fit_shown, limit_shown
from app.workflow.words import Work, listed, sentence

CONFIRM_AFTER_MINUTES = 10  # common practice, a shop rule


@dataclass(frozen=True, slots=True)
class PortName:
    """A position of a job: the label, with the head's name where a job has several."""

    label: str
    head: str = ""

    @property
    def told(self) -> str:
        """``3E``, ``left head 3E``."""
        return f"{self.head} {self.label}" if self.head else self.label


def told_by_head(names: Iterable[PortName]) -> str:
    """Each head named once: ``2E and 3E``, ``left 1E, 3E, 5E and right 2E, 4E, 6E``."""
    by_head: dict[str, list[str]] = {}
    for name in names:
        by_head.setdefault(name.head, []).append(name.label)
    if len(by_head) == 1:
        ((head, labels),) = by_head.items()
        return f"{head} {listed(labels)}".strip()
    return listed([f"{head} {', '.join(labels)}" for head, labels in by_head.items()])


@dataclass(frozen=True, slots=True)
class SettingFacts:
    """One setting of the job."""

    name: str  # "S-88"
    state: SettingState
    ports: tuple[PortName, ...]
    bore: Length  # that it is expected to cut
    cutter: str = ""
    lapsed_because: str = ""
    # Positions whose window the achieved reading would leave: it is not live for them.
    outside: tuple[PortName, ...] = ()


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a cut cannot be recorded, and which setting the position needs, if one is known."""

    message: str
    needs_setting: str = ""


def refuse_cut(
    setting: SettingFacts,
    others: tuple[SettingFacts, ...],
    head: HeadFacts,
    name: PortName,
    unit: Unit,
    turned: int = 0,
) -> Refusal | None:
    """Why this position cannot be recorded as cut with this setting; None when it can."""
    port = head.port(name.label)
    if name not in setting.ports:
        return _another_position(setting, others, head, name, unit, turned)
    if port.hold is not None:
        return _refusal(name, f"it is on hold ({port.hold.told}); choose a way out first")
    if port.ring_in.is_closed_by_value:
        return _refusal(name, "its ring is in")
    if setting.state is not SettingState.LIVE:
        return _refusal(name, f"setting {setting.name} {_not_live(setting)}")
    if name in setting.outside:
        return _refusal(
            name,
            f"setting {setting.name} as it reads now would cut "
            f"{fit_shown(setting.bore, unit)}, outside the window of {name.told}; "
            "set it nearer, or plan it apart",
        )
    return None


def refuse_replaced(old: SettingFacts, new: SettingFacts, name: PortName, unit: Unit) -> Refusal:
    """A link to a setting that another took the place of for this position."""
    return Refusal(
        f"Setting {old.name} was replaced by {new.name} for {name.told}. Cannot be recorded for "
        f"{name.told}: {name.told} needs setting {new.name}, which cuts "
        f"{fit_shown(new.bore, unit)}; this one cuts {fit_shown(old.bore, unit)}.",
        new.name,
    )


def unlikely_reading(achieved: Length, bore: Length, size: SetSize, unit: Unit) -> str:
    """Why a figure cannot be what this fixture read, as a diameter on one that reads radius.

    It is what a fixture of another kind would read, or its bore is off the one wanted by more than
    half; empty when it may be so.
    """
    own, typed = f"{size.reading.shown(unit.value)}, {_KIND[size.mode]}", achieved.shown(unit.value)
    if _is_near(achieved, Fraction(size.reading.nm)):
        return ""
    for other in size.by_mode:
        if other.mode is not size.mode and _is_near(achieved, other.reading_nm):
            return f"{typed} is {_KIND[other.mode]}; this fixture is to read {own}."
    wanted = size.expected_bore
    if abs(bore - wanted).nm * 2 > wanted.nm:
        bores = f"would bore {bore.shown(unit.value)} for {wanted.shown(unit.value)}"
        if bore.nm <= 0:
            bores = "leaves no bore at all"
        return f"{typed} {bores}; this fixture is to read {own}."
    return ""


_KIND = {
    FixtureMode.DIAMETER: "the diameter",
    FixtureMode.RADIUS: "the radius",
    FixtureMode.ACROSS_PILOT: "the reading across the pilot",
}
NEAR = Fraction(1, 50)


def _is_near(achieved: Length, reading_nm: Fraction) -> bool:
    return abs(achieved.nm - reading_nm) <= reading_nm * NEAR


def told_neighbours(head: HeadFacts, label: str, turned: int = 0) -> str:
    """What is beside a position: ``2E on its left is bored, 3I on its right gets no ring.``"""
    beside = [
        f"{each.position.label} {each.side.screen} {_beside(head.port(each.position.label))}"
        for each in neighbours(head.positions, head.port(label).position, turned)
    ]
    return sentence(", ".join(beside))


def _refusal(name: PortName, why: str) -> Refusal:
    return Refusal(f"Cannot be recorded for {name.told}: {why}.")


def _another_position(
    setting: SettingFacts,
    others: tuple[SettingFacts, ...],
    head: HeadFacts,
    name: PortName,
    unit: Unit,
    turned: int,
) -> Refusal:
    port = head.port(name.label)
    only = f"it is for {listed([each.told for each in setting.ports])} only."
    right = next(
        (each for each in others if name in each.ports and each.state is not SettingState.ENDED),
        None,
    )
    if port.work is not Work.RING:
        what = f"{name.told} gets no ring ({port.work.screen})."
    elif right is not None:
        what = (
            f"{name.told} needs setting {right.name}, which cuts {fit_shown(right.bore, unit)}; "
            f"this one cuts {fit_shown(setting.bore, unit)}."
        )
    else:
        what = f"No setting names {name.told} yet: measure its ring and plan its setting first."
    message = " ".join(
        (
            f"{name.told} is not in setting {setting.name}.",
            f"Cannot be recorded for {name.told}: {only}",
            what,
            f"Beside {name.told}: {told_neighbours(head, name.label, turned)}",
        )
    )
    return Refusal(message, right.name if right is not None and port.work is Work.RING else "")


def _not_live(setting: SettingFacts) -> str:
    if setting.state is SettingState.READY:
        return "is worked out and not set; set the cutter and type what the fixture reads"
    if setting.state is SettingState.LAPSED:
        why = f" ({setting.lapsed_because})" if setting.lapsed_because else ""
        return f"is to be read again{why}"
    why = f" ({setting.lapsed_because})" if setting.lapsed_because else ""
    return f"is over{why}; plan a new one"


def _beside(port: PortFacts) -> str:
    if port.ring_in.is_closed_by_value:
        return "has its ring in"
    if port.cut.is_closed_by_value:
        return "is bored"
    return "gets a ring" if port.work is Work.RING else "gets no ring"


# When a setting stops being live


class Lapse(Said):
    """Why a setting is no longer live."""

    CUTTER_SET_ELSEWHERE = "cutter_set_elsewhere", "its cutter was set for something else"
    TIP_CHANGED = "tip_changed", "the tip was changed or ground"
    NEW_DAY = "new_day", "it was set on another day"
    NEW_PERSON = "new_person", "another person set it"
    NEW_CLAMP_UP = "new_clamp_up", "it was used in another clamp-up"


# One re-check reading makes these live again; after the others the cutter is set anew.
_RE_READ = frozenset({Lapse.NEW_DAY, Lapse.NEW_PERSON, Lapse.NEW_CLAMP_UP})


@dataclass(frozen=True, slots=True)
class SettingUse:
    """When, by whom and for which clamp-up a setting was last read, or is to be used now."""

    day: date
    person_id: int
    clamp_up_id: int | None = None


@dataclass(frozen=True, slots=True)
class SettingStanding:
    """Whether a setting is live; if not, why, and whether one reading is enough."""

    lapses: tuple[Lapse, ...]

    @property
    def is_live(self) -> bool:
        """Nothing happened since it was last read."""
        return not self.lapses

    @property
    def needs_only_reading(self) -> bool:
        """One re-check reading makes it live again."""
        return bool(self.lapses) and all(lapse in _RE_READ for lapse in self.lapses)

    @property
    def told(self) -> str:
        """``Read the fixture once more: it was set on another day.``"""
        if self.is_live:
            return "Set and read; nothing has changed since."
        why = listed([lapse.screen for lapse in self.lapses])
        if self.needs_only_reading:
            return f"Read the fixture once more: {why}."
        return f"Set the cutter anew: {why}."


def standing_of(
    last_read: SettingUse,
    now: SettingUse,
    cutter_set_elsewhere: bool = False,
    tip_changed: bool = False,
) -> SettingStanding:
    """Whether a setting that was set and read is still live for what is to be done now.

    A setting made before any head was clamped up is not lapsed by the first clamp-up.
    """
    lapses = []
    if cutter_set_elsewhere:
        lapses.append(Lapse.CUTTER_SET_ELSEWHERE)
    if tip_changed:
        lapses.append(Lapse.TIP_CHANGED)
    if now.day != last_read.day:
        lapses.append(Lapse.NEW_DAY)
    if now.person_id != last_read.person_id:
        lapses.append(Lapse.NEW_PERSON)
    if last_read.clamp_up_id is not None and now.clamp_up_id != last_read.clamp_up_id:
        lapses.append(Lapse.NEW_CLAMP_UP)
    return SettingStanding(tuple(lapses))


@dataclass(frozen=True, slots=True)
class ReCheck:
    """What a re-check reading says of the setting."""

    agrees: bool
    told: str


def re_check(before: Length, again: Length, division: Length, unit: Unit) -> ReCheck:
    """A fixture reading repeats when it is within one of its own divisions."""
    moved = again - before
    if abs(moved) <= division:
        return ReCheck(True, f"Reads {limit_shown(again, unit)} again: the setting is live.")
    by = limit_shown(abs(moved), unit)
    way = "more" if moved.nm > 0 else "less"
    return ReCheck(
        False,
        f"Reads {limit_shown(again, unit)}, {by} {way} than when it was set: set the cutter anew.",
    )


# When the right position is confirmed on the head map


class Confirm(Said):
    """Why the position is asked to be touched on the head map."""

    FIRST = "first", "the first position of this clamp-up"
    SETTING = "setting", "another setting than the last position"
    PERSON = "person", "another person than at the last position"
    ROW = "row", "another row than the last position"
    PAUSE = "pause", "a while since the last touch"


@dataclass(frozen=True, slots=True)
class CutTouch:
    """A position opened for cutting: where, who, with which setting, and when it was touched."""

    clamp_up_id: int
    setting_id: int
    person_id: int
    row: int
    at: datetime


def must_confirm(
    last: CutTouch | None, now: CutTouch, after_minutes: int = CONFIRM_AFTER_MINUTES
) -> Confirm | None:
    """Why the position must be touched on the map, or None: carried along the setting.

    `last` is the last opening in the shop's record for this clamp-up, with the time of the last
    touch of anything by that person.
    """
    if last is None or last.clamp_up_id != now.clamp_up_id:
        return Confirm.FIRST
    if last.person_id != now.person_id:
        return Confirm.PERSON
    if last.setting_id != now.setting_id:
        return Confirm.SETTING
    if last.row != now.row:
        return Confirm.ROW
    if now.at - last.at >= timedelta(minutes=after_minutes):
        return Confirm.PAUSE
    return None
