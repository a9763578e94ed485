"""A material that the shop adds: its maker's figures and who says so."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import ClassVar

from app.calc.materials import RING_MATERIALS
from app.forms.base import Form
from app.workflow.kinds import MaterialOf
from app.workflow.words import Material, sentence

MOST_POINTS = 4
PLACES = range(1, MOST_POINTS + 1)
LEAST_C, MOST_C = 50, 600
EXPANSION = (5.0, 30.0)  # 1e-6/K
MODULUS = (30.0, 450.0)  # GPa
POISSON = (0.15, 0.45)
YIELD = (20.0, 3000.0)  # MPa
WITHIN = (0.0, 5.0)  # 1e-6/K

Span = tuple[float, float]
# Possible beyond these, and odd: asked once. Iron, aluminium and rings by what tables give them.
_IRON: tuple[Span, Span] = ((9, 14), (75, 195))
ODD_HEAD: dict[Material, tuple[Span, Span]] = {
    Material.GREY_IRON: _IRON,
    Material.DUCTILE_IRON: _IRON,
    Material.ALUMINIUM: ((18, 26), (60, 90)),
}
ODD_RING: tuple[Span, Span] = ((9, 20), (80, 250))


class MaterialForm(Form):
    """A head's alloy or a seat ring's; `material_of` says which, `seen` is the version shown."""

    names: ClassVar[dict[str, str]] = {
        "name": "Name",
        "family": "Goes with",
        **{f"to_{n}": f"Expansion {n}, up to" for n in PLACES},
        **{f"alpha_{n}": f"Mean expansion {n}" for n in PLACES},
        "within": "Within",
        "modulus": "Modulus",
        "poisson": "Poisson's ratio",
        "yield": "Yield strength",
        "source": "Source",
        "confirm_expansion": "Expansion",
        "confirm_modulus": "Modulus",
    }

    material_of: MaterialOf
    name: str
    family: str
    points: tuple[tuple[int, float], ...]
    within: float | None
    modulus: float | None
    poisson: float | None
    yield_mpa: float | None
    source: str
    seen: int | None

    def parse(self) -> None:
        self.name = self.text("name", required="What is it called?", most=60)
        self.family = self._family()
        self.points = self._points()
        self.within = self.number("within", least=WITHIN[0], most=WITHIN[1], unit="e-6/K")
        self.modulus = self.number("modulus", least=MODULUS[0], most=MODULUS[1], unit="GPa")
        self.poisson = self.number("poisson", least=POISSON[0], most=POISSON[1])
        self.yield_mpa = self.number("yield", least=YIELD[0], most=YIELD[1], unit="MPa")
        self.source = self.text(
            "source", required="Who says so: the maker's sheet, a laboratory, a table", most=200
        )
        self.seen = self.whole("seen", least=1)
        self._together()
        self._ask_about_odd()

    def _family(self) -> str:
        if self.material_of is MaterialOf.HEAD:
            chosen = self.choice("family", Material, required="Which rules and overcuts hold?")
            return chosen.value if chosen else ""
        value = self.raw.get("family", "").strip()
        if value and value not in RING_MATERIALS:
            self.wrong("family", "is not one of the choices; choose again")
            return ""
        return value

    def _points(self) -> tuple[tuple[int, float], ...]:
        found: list[tuple[int, float]] = []
        for n in PLACES:
            to_c = self.whole(f"to_{n}", least=LEAST_C, most=MOST_C)
            alpha = self.number(f"alpha_{n}", least=EXPANSION[0], most=EXPANSION[1], unit="e-6/K")
            wrong = {f"to_{n}", f"alpha_{n}"} & set(self.errors)
            if alpha is not None and to_c is None and not wrong:
                self.wrong(f"to_{n}", "Up to which temperature does this mean hold, in °C?")
            elif to_c is not None and alpha is None and not wrong:
                self.wrong(f"alpha_{n}", f"What is the mean from 20 to {to_c} °C?")
            elif to_c is not None and alpha is not None:
                if found and to_c <= found[-1][0]:
                    self.wrong(
                        f"to_{n}", f"must be warmer than {found[-1][0]} °C, the one before it"
                    )
                found.append((to_c, alpha))
        return tuple(found)

    def _together(self) -> None:
        if self.errors:
            return
        if self.modulus is not None and self.poisson is None:
            self.wrong("poisson", "Give it with the modulus; stresses need both")
        if self.poisson is not None and self.modulus is None:
            self.wrong("modulus", "Give it with Poisson's ratio; stresses need both")
        if self.within is not None and not self.points:
            self.wrong("alpha_1", "Give the expansion that lies within so much")
        if not self.points and self.modulus is None and self.yield_mpa is None:
            self.wrong("alpha_1", "Give at least one figure; a name alone tells nothing")

    def _ask_about_odd(self) -> None:
        if self.errors:
            return
        expansion, modulus = self._usual()
        alphas = [alpha for _, alpha in self.points]
        words = []
        if any(not expansion[0] <= alpha <= expansion[1] for alpha in alphas):
            words.append(f"such metals lie from {expansion[0]:g} to {expansion[1]:g}e-6 per kelvin")
        if _falls(alphas):
            words.append("metals as a rule expand more the hotter they get, and this falls")
        if words and not self.confirmed("expansion"):
            self.wrong("confirm_expansion", f"{sentence('; '.join(words))} Is it so?")
        if (
            self.modulus is not None
            and not modulus[0] <= self.modulus <= modulus[1]
            and not self.confirmed("modulus")
        ):
            self.wrong(
                "confirm_modulus",
                f"Such metals lie from {modulus[0]:g} to {modulus[1]:g} GPa. Is it so?",
            )

    def _usual(self) -> tuple[Span, Span]:
        if self.material_of is MaterialOf.HEAD:
            return ODD_HEAD[Material(self.family)]
        return ODD_RING


class KeptVersionForm(Form):
    """Out of use, or back: the version that the page showed."""

    seen: int | None

    def parse(self) -> None:
        self.seen = self.whole("seen", least=1)


def _falls(alphas: Sequence[float]) -> bool:
    return any(later < earlier for earlier, later in pairwise(alphas))
