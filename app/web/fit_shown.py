"""A fit with its picture and its words, as the pages' partial takes it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.web.drawing import FitPicture, fit_picture
from app.workflow.words import listed
from app.worksheets.fits import Fit


@dataclass(frozen=True)
class FitShown:
    """One fit beside the working that it belongs to."""

    fit: Fit
    picture: FitPicture | None
    whose: str  # ``3E and 4E``
    about: str  # by which interference


def fit_shown(fit: Fit) -> FitShown:
    """Draw one fit."""
    grip, unit = fit.grip, fit.grip.unit.value
    figure = grip.interference.shown(unit, 5, 4)
    by = f"{figure} as measured" if grip.is_measured else f"the aim, {figure}"
    picture = None
    if fit.cases:
        cases = [(case.name, case.interference) for case in fit.cases]
        picture = fit_picture(cold=grip.interference, cases=cases, unit=unit)
    return FitShown(fit=fit, picture=picture, whose=listed(fit.names), about=f"by {by}")


def fits_shown(fits: Iterable[Fit]) -> list[FitShown]:
    """Draw the fits of a page."""
    return [fit_shown(fit) for fit in fits]
