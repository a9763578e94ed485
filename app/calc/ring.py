"""The measured ring: mean OD and height, spread, size at 20 °C; and rings read as a set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import MissingError, OrderError
from app.calc.gauge import shown_number, shown_ppm
from app.calc.materials import GAUGE_ALPHA_PER_K, GAUGE_ALPHA_SOURCE, REFERENCE_C
from app.calc.rules import Interference
from app.calc.shown import shown_nm
from app.calc.sources import GIVEN, MEASURED, REFERENCE_TEMPERATURE, Source
from app.calc.temperature import size_at_reference
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, mean_nm, spread

RING = Calculation("ring", 1)
RING_SET = Calculation("ring-set", 1)


@dataclass(frozen=True, kw_only=True)
class Ring(Result):
    """One ring as measured; `od_nm` and `height_nm` are exact, the lengths are rounded."""

    od_nm: Fraction
    od: Length
    od_spread: Length
    height_nm: Fraction
    height: Length
    height_spread: Length
    is_taken_as_read: bool


@dataclass(frozen=True, slots=True)
class TaggedRing:
    """A ring of a set by its tag, with its mean OD at 20 °C."""

    tag: str
    od: Length


@dataclass(frozen=True, slots=True)
class FitAtBore:
    """What one ring of a set would have at the set's bore."""

    tag: str
    interference: Length
    belongs: bool


@dataclass(frozen=True, kw_only=True)
class RingSetFit(Result):
    """Whether rings of a set may be mixed at one bore, and which of them do not belong."""

    bore: Length
    od_spread: Length
    fits: tuple[FitAtBore, ...]
    may_be_mixed: bool

    @property
    def strangers(self) -> tuple[str, ...]:
        """Tags of the rings that need another bore."""
        return tuple(fit.tag for fit in self.fits if not fit.belongs)


def measured_ring(
    *,
    od: Sequence[Length],
    height: Sequence[Length],
    temperature_c: float,
    gauge_temperature_c: float,
    alpha_per_k: Fraction | float | None,
    alpha_source: Source | None = None,
    unit: str = "in",
) -> Ring:
    """Mean OD at 20 °C, mean height, and their spreads as read.

    D = ΣOD/n · (1 + α_g·(T_g − 20)) / (1 + α·(T − 20)); h = Σheight/n

    A ring read away from 20 °C whose expansion is not known is taken as read: correcting it by a
    guessed coefficient would hide the guess in the bore. The height is never corrected: at shop
    temperatures that is under a ten-thousandth of an inch.

    Parameters
    ----------
    od : sequence of Length
        OD readings as typed, one or more [nm]
    height : sequence of Length
        height readings as typed, one or more [nm]
    temperature_c : float
        T of the ring [°C]
    gauge_temperature_c : float
        T_g of the gauge's scale [°C]
    alpha_per_k : Fraction or float
        α of the ring, 0 to 100e-6, or None when it is not known [1/K]
    alpha_source : Source or None
        who says so, for the working [-]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    Ring
        spreads are largest minus smallest as read

    Raises
    ------
    MissingError
        field ``ring_od`` or ``ring_height`` without a reading.

    >>> ring = measured_ring(
    ...     od=[Length.of(text) for text in ("1.6262", "1.6260", "1.6261", "1.6263")],
    ...     height=[Length.of(".2500")], temperature_c=20, gauge_temperature_c=20,
    ...     alpha_per_k=None)
    >>> ring.od.inches(5), ring.od_spread.inches(4)
    ('1.62615', '.0003')
    """
    if not od:
        raise MissingError("ring_od", "needs at least one reading")
    if not height:
        raise MissingError("ring_height", "needs at least one reading")
    mean_od, mean_height = mean_nm(od), mean_nm(height)
    as_read = alpha_per_k is None and temperature_c != REFERENCE_C
    od_nm = mean_od
    if not as_read:
        at_reference = [
            size_at_reference(
                read=read,
                temperature_c=temperature_c,
                gauge_temperature_c=gauge_temperature_c,
                alpha_per_k=alpha_per_k or 0,
                temperature_field="ring_temperature_c",
            )
            for read in od
        ]
        od_nm = sum(at_reference, Fraction(0)) / len(at_reference)
    return Ring(
        calculation=RING,
        inputs={
            "od": tuple(od),
            "height": tuple(height),
            "temperature_c": temperature_c,
            "gauge_temperature_c": gauge_temperature_c,
            "alpha_per_k": alpha_per_k,
            "alpha_source": alpha_source,
        },
        od_nm=od_nm,
        od=Length.nearest(od_nm),
        od_spread=spread(od),
        height_nm=mean_height,
        height=Length.nearest(mean_height),
        height_spread=spread(height),
        is_taken_as_read=as_read,
        working=(
            Step("OD", _mean_of(od), shown_nm(mean_od, unit), unit, MEASURED),
            *_temperature_steps(
                temperature_c,
                gauge_temperature_c,
                alpha_per_k,
                alpha_source,
                as_read,
                od_nm,
                unit,
            ),
            Step("spread", "largest − smallest OD", shown_nm(spread(od).nm, unit), unit, MEASURED),
            Step("h", f"height, {_mean_of(height)}", shown_nm(mean_height, unit), unit, MEASURED),
        ),
    )


def _mean_of(readings: Sequence[Length]) -> str:
    return "one reading" if len(readings) == 1 else f"mean of {len(readings)} readings"


def _temperature_steps(
    temperature_c: float,
    gauge_temperature_c: float,
    alpha_per_k: Fraction | float | None,
    alpha_source: Source | None,
    as_read: bool,
    od_nm: Fraction,
    unit: str,
) -> tuple[Step, ...]:
    if as_read:
        return (
            Step(
                "T",
                "ring's expansion not known: OD taken as read",
                shown_number(temperature_c),
                "°C",
                MEASURED,
            ),
        )
    if temperature_c == REFERENCE_C and gauge_temperature_c == REFERENCE_C:
        return ()
    ring = (
        Step("T", "ring", shown_number(temperature_c), "°C", MEASURED),
        Step(
            "α",
            "ring",
            shown_ppm(alpha_per_k or 0),
            "1e-6/K",
            alpha_source.cited if alpha_source else GIVEN,
        ),
    )
    gauge = (
        Step("T_g", "gauge", shown_number(gauge_temperature_c), "°C", MEASURED),
        Step(
            "α_g", "gauge's scale", shown_ppm(GAUGE_ALPHA_PER_K), "1e-6/K", GAUGE_ALPHA_SOURCE.cited
        ),
    )
    return (
        *(ring if temperature_c != REFERENCE_C else ()),
        *gauge,
        Step("D", "OD at 20 °C", shown_nm(od_nm, unit), unit, REFERENCE_TEMPERATURE.cited),
    )


def ring_set_fit(
    *,
    rings: Sequence[TaggedRing],
    window: Interference,
    uncertainty: Length,
    bore: Length | None = None,
    unit: str = "in",
) -> RingSetFit:
    """Every ring's interference at one bore, and whether any may go into any position.

    I = OD − B, to lie in [min + U, max − U]. Without a bore, the one that suits most rings is
    taken, nearest their aims.

    Parameters
    ----------
    rings : sequence of TaggedRing
        the set, with the mean OD of each at 20 °C [nm]
    window : Interference
        the rule [nm]
    uncertainty : Length
        U of an interference, expanded, 0 or more [nm]
    bore : Length
        B, or None to find it [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    RingSetFit
        ``may_be_mixed`` when every ring belongs

    Raises
    ------
    MissingError
        field ``rings`` without a ring.
    OrderError
        field ``uncertainty`` when it leaves nothing of the window.

    >>> five = [TaggedRing(tag, Length.of(od)) for tag, od in
    ...         (("1", "1.6261"), ("2", "1.6262"), ("3", "1.6260"), ("4", "1.6263"),
    ...          ("5", "1.6291"))]
    >>> iron = Interference(Length.of(".003"), Fraction(Length.of(".004").nm), Length.of(".005"))
    >>> found = ring_set_fit(rings=five, window=iron, uncertainty=Length(0))
    >>> found.may_be_mixed, found.strangers, found.bore.inches(5)
    (False, ('5',), '1.62215')
    """
    if not rings:
        raise MissingError("rings", "needs at least one ring")
    least, most = window.least + uncertainty, window.most - uncertainty
    if least > most:
        raise OrderError("uncertainty", "leaves nothing of the rule's window")
    at = _common_bore(rings, least, most, window.aim_nm) if bore is None else bore
    fits = tuple(FitAtBore(ring.tag, ring.od - at, least <= ring.od - at <= most) for ring in rings)
    return RingSetFit(
        calculation=RING_SET,
        inputs={
            "rings": tuple(rings),
            "window": window,
            "uncertainty": uncertainty,
            "bore": bore,
        },
        bore=at,
        od_spread=spread(ring.od for ring in rings),
        fits=fits,
        may_be_mixed=all(fit.belongs for fit in fits),
        working=(
            Step(
                "B",
                "one bore for the set",
                shown_nm(at.nm, unit),
                unit,
                "as given" if bore else "suits most rings, nearest their aims",
            ),
            *(
                Step(
                    f"I {fit.tag}",
                    f"ring {fit.tag}, OD {shown_nm(ring.od.nm, unit)}"
                    + ("" if fit.belongs else ": does not belong"),
                    shown_nm(fit.interference.nm, unit),
                    unit,
                    "OD − B",
                )
                for ring, fit in zip(rings, fits, strict=True)
            ),
        ),
    )


def _common_bore(
    rings: Sequence[TaggedRing], least: Length, most: Length, aim_nm: Fraction
) -> Length:
    """Windows are alike, so the largest group that shares a bore is a run of neighbouring ODs."""
    ods = sorted(ring.od for ring in rings)
    width = most - least
    runs = [
        (
            low,
            max(od for od in ods if od - low <= width),
            sum(low <= od <= low + width for od in ods),
        )
        for low in ods
    ]
    low, high, _ = max(runs, key=lambda run: (run[2], -(run[1] - run[0]).nm))
    middle = Fraction(low.nm + high.nm, 2) - aim_nm
    return Length.nearest(min(max(middle, Fraction((high - most).nm)), Fraction((low - least).nm)))
