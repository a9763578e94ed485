"""Where a figure comes from, and how far it was checked: printed with every working."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Mark(Enum):
    """How a source was checked."""

    PUBLISHED = "published"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory"
    WORKED_HERE = "worked out here"
    ENTERED = "entered by the shop"


@dataclass(frozen=True, slots=True)
class Source:
    """A citation with its mark; `key` is stable and may be stored with a record."""

    key: str
    text: str
    mark: Mark

    @property
    def short(self) -> str:
        """What it says, without where: for a line on a screen."""
        return self.text.partition(":")[0]

    @property
    def cited(self) -> str:
        """The text as it stands behind a figure: ``ISO 1:2016 (published)``."""
        if self.mark is Mark.PUBLISHED or self.text.startswith(self.mark.value):
            return self.text
        return f"{self.text} ({self.mark.value})"


MEASURED = "as measured"
GIVEN = "as given"
GEOMETRY = "geometry"

INCH = Source("inch", "1 in = 25.4 mm exactly: NIST SP 811, appendix B.8", Mark.PUBLISHED)
INCH_OF_MERCURY = Source(
    "inch-of-mercury",
    "1 inHg = 3386.389 Pa, conventional: NIST SP 811, appendix B.8",
    Mark.FROM_MEMORY,
)
KELVIN = Source("kelvin", "0 °C = 273.15 K exactly: the SI's definition", Mark.FROM_MEMORY)
PLAUSIBLE = Source(
    "plausible",
    "wider than anything met on a head, so that a slip alone is refused",
    Mark.WORKED_HERE,
)
CHOSEN_HERE = Source(
    "chosen-here",
    "chosen here, without a source: so that advice does not follow scatter",
    Mark.WORKED_HERE,
)
REFERENCE_TEMPERATURE = Source(
    "reference-temperature", "ISO 1:2016: sizes hold at 20 °C", Mark.PUBLISHED
)
GAUGE_SCALE = Source(
    "gauge-scale", "steel scale of a gauge, 11.5e-6 per K, typical of its kind", Mark.FROM_MEMORY
)
EXPANSION_TABLE = Source(
    "expansion-table",
    "Callister, Fundamentals of Materials Science and Engineering, 3rd ed., table B.6",
    Mark.PUBLISHED,
)
TOOL_STEEL_TABLE = Source(
    "tool-steel-table", "published property tables of tool steels", Mark.PUBLISHED
)
SINTERED_ABSTRACT = Source(
    "sintered-abstract",
    "journal abstract on a copper-infiltrated sintered seat alloy",
    Mark.PUBLISHED,
)
FIT_HABIT = Source("fit-habit", "common practice of head shops", Mark.COMMON_PRACTICE)
STABBING = Source(
    "stabbing",
    "fewest points in intervals, by right ends: Kleinberg and Tardos, Algorithm Design, ch. 4",
    Mark.FROM_MEMORY,
)
INDIVIDUALS_CHART = Source(
    "individuals-chart",
    "individuals chart, d2 = 1.128: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2",
    Mark.PUBLISHED,
)
RUN_RULES = Source(
    "run-rules",
    "eight on one side, six growing or shrinking: NIST/SEMATECH e-Handbook of Statistical "
    "Methods, 6.3.2",
    Mark.FROM_MEMORY,
)
FALSE_SIGNS = Source(
    "false-signs",
    "how often scatter alone shows a sign: 20 000 tips of independent normal cuts",
    Mark.WORKED_HERE,
)
MEAN_NOT_LAST = Source(
    "mean-not-last",
    "the mean of all cuts, never the last one: Deming, Out of the Crisis (1986), p. 328",
    Mark.PUBLISHED,
)
SHRINKING_CORRECTIONS = Source(
    "shrinking-corrections", "corrections of 1, 1/2, 1/3: Grubbs (1954)", Mark.FROM_MEMORY
)
CUTTER_HABIT = Source(
    "cutter-habit", "common practice in setting and cutting", Mark.COMMON_PRACTICE
)
READING_HABIT = Source("reading-habit", "common practice in reading sizes", Mark.COMMON_PRACTICE)
SEAT_HABIT = Source("seat-habit", "common practice in cutting seats", Mark.COMMON_PRACTICE)
TAPERED_PILOT = Source(
    "tapered-pilot", "a tapered pilot seats in the guide's mouth", Mark.COMMON_PRACTICE
)
SUM_OF_SQUARES = Source(
    "sum-of-squares", "root of the sum of squares: JCGM 100:2008, 5.1.2", Mark.PUBLISHED
)
SHARED_ERROR = Source(
    "shared-error", "a shared error cancels in a difference: JCGM 100:2008, 5.2", Mark.PUBLISHED
)
SIMPLE_ACCEPTANCE = Source(
    "simple-acceptance", "simple acceptance, no guard band: ILAC-G8:09/2019", Mark.PUBLISHED
)
ISO_GUARD = Source(
    "iso-guard", "guard band 0.83 U: ISO 14253-1:2017, read second-hand", Mark.PUBLISHED
)
FULL_GUARD = Source("full-guard", "guard band of one U: ILAC-G8:09/2019", Mark.PUBLISHED)
CRYOGENIC_FITS = Source(
    "cryogenic-fits",
    "NIST cryogenic material properties: Marquardt, Le and Radebaugh, 11th Int. Cryocooler "
    "Conf. (2000)",
    Mark.PUBLISHED,
)
CURVE_SLOPE = Source(
    "curve-slope",
    "slope of the NIST curve itself at its upper end, 265 K (-8 °C)",
    Mark.WORKED_HERE,
)
CASTING_ALLOY_SHEET = Source(
    "casting-alloy-sheet",
    "data sheet of casting alloy A356.0: mean expansion 20-100, 20-200, 20-300 °C",
    Mark.PUBLISHED,
)
IRON_ANNEX = Source(
    "iron-annex",
    "EN 1561 and EN 1563, informative annexes: mean expansion 20-200 and 20-400 °C",
    Mark.FROM_MEMORY,
)
HOT_WORK_SHEET = Source(
    "hot-work-sheet",
    "published property table of H13: mean expansion to 93 and 204 °C",
    Mark.PUBLISHED,
)
METALS_HANDBOOK = Source("metals-handbook", "metals handbooks, usual figures", Mark.FROM_MEMORY)
HEAT_CASES = Source(
    "heat-cases",
    "assumed temperatures of ring and head; no measured ring temperatures could be read",
    Mark.FROM_MEMORY,
)
LAME = Source(
    "lame",
    "Lamé's thick rings, plane stress: Budynas and Nisbett, Shigley's Mechanical Engineering "
    "Design, 8th ed., ch. 3",
    Mark.PUBLISHED,
)
DISTORTION_ENERGY = Source(
    "distortion-energy",
    "distortion energy (von Mises), plane stress: Shigley's Mechanical Engineering Design, ch. 5",
    Mark.FROM_MEMORY,
)
PRESS_FRICTION = Source(
    "press-friction", "friction of dry metal, 0.10 to 0.20: machine-design texts", Mark.FROM_MEMORY
)
HEAD_WALL = Source(
    "head-wall", "metal behind the counterbore that takes part, .250 in", Mark.COMMON_PRACTICE
)
FINITE_ELEMENTS = Source(
    "finite-elements",
    "finite-element model of a ring in a counterbore",
    Mark.WORKED_HERE,
)
ELASTIC_TABLE = Source(
    "elastic-table",
    "Callister, Fundamentals of Materials Science and Engineering, 3rd ed., tables B.2 and B.4",
    Mark.PUBLISHED,
)
POISSON_TABLE = Source(
    "poisson-table",
    "Callister, Fundamentals of Materials Science and Engineering, 3rd ed., table B.3",
    Mark.FROM_MEMORY,
)
HEAD_ALLOY_HEAT = Source(
    "head-alloy-heat",
    "Wang, Hess, Hess and Caron, Modern Casting, July 2018, table 2 (columns read from page text)",
    Mark.PUBLISHED,
)
RING_STRENGTH_HABIT = Source(
    "ring-strength", "usual ranges of ring families, textbooks of materials", Mark.FROM_MEMORY
)
CHILL_TEMPERATURES = Source(
    "chill-temperatures",
    "boiling and subliming points, UK guidance on cryogenics (2012)",
    Mark.PUBLISHED,
)
FREEZER_HABIT = Source("freezer", "a household freezer", Mark.COMMON_PRACTICE)
HEAT_CAP = Source(
    "heat-cap",
    "castings are aged at about 150 to 250 °C, and guides and rings already in loosen",
    Mark.COMMON_PRACTICE,
)
DROP_IN_WORDS = Source(
    "drop-in",
    "drops in, light drive, press: parted at half the interference",
    Mark.COMMON_PRACTICE,
)
COMBINED_BY_GUM = Source(
    "combined-by-gum",
    "combined standard uncertainty: JCGM 100:2008, 5.1.2 and G.4.1",
    Mark.PUBLISHED,
)
RECTANGULAR = Source(
    "rectangular", "limits alone are known, u = a/√3: JCGM 100:2008, 4.3.7", Mark.PUBLISHED
)
INDICATION = Source(
    "indication",
    "one division of an indication, u = d/√12: JCGM 100:2008, F.2.2.1",
    Mark.PUBLISHED,
)
OF_A_MEAN = Source("of-a-mean", "a mean of n readings, 1/√n: JCGM 100:2008, 4.2.3", Mark.PUBLISHED)
REPEATED = Source(
    "repeated",
    "standard deviation of repeated readings, n − 1: JCGM 100:2008, 4.2.2",
    Mark.PUBLISHED,
)
LAST_CHECK = Source(
    "last-check",
    "the larger of what the instrument may err and what its last check found",
    Mark.COMMON_PRACTICE,
)
OVERSIZE_SERIES = Source(
    "oversize-series",
    "oversizes of workshop manuals (+.005 .010 .020 .030 in; +.30 .50 .60 mm), and by habit "
    "+.25 mm and blanks by 1/64 and 1/32 in",
    Mark.COMMON_PRACTICE,
)
FIT_PER_INCH = Source(
    "fit-per-inch",
    "usual interference for each inch of ring OD, from published and habitual fits",
    Mark.COMMON_PRACTICE,
)
