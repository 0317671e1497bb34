"""What each setting may be, what it is until somebody changes it, and which are fixed before looking."""

from analytics.errors import BadInput, StandrowError
from analytics.records.faults import shortened
from analytics.trade.measures import MEASURES, find_measure
from analytics.trade.typed_text import DECIMAL_MARK, THOUSANDS, NotReadable, read_number
from analytics.trade.units import MAX_DRY_PCT, PER_BU_AC

LEVELS = (0.95, 0.90, 0.80)  # those of on-farm trials: Ohio State University, On-farm research coordinator
GRADING = {"CA": "Canada", "US": "United States"}  # whose limits the counts are held against
BY_DESIGN = "by design"
BASES = (BY_DESIGN, "all", "one_field", "drawn_by_lot")  # which pairs the headline rests on
LOWEST_MOISTURE, HIGHEST_MOISTURE = 5.0, 15.0  # percent; our choice, no source
LOWEST_WIND, HIGHEST_WIND = 20.0, 200.0  # km/h; our choice, no source
MARGIN = "margin."  # a margin's setting is named "margin.yield"
FIXED_BEFORE_LOOKING = (  # and margins
    "level",
    "one_moisture_pct",
    "basis",
    "main_measure",
    "wind_kmh",
    "requirements",
    "requirement_not_known",
)
# What a pair may have to have to count; the view pair_requirements holds what each asks. A crop year with it, as in
# "same variety from 2027", is the one for which it was decided: it holds from there on, and without one for all years.
REQUIREMENTS = ("weighed alike", "same variety", "seeded within 7 days", "loss counted alike", "drawn before harvest")
NO_REQUIREMENT = "none"
FROM_YEAR = " from "
NOT_KNOWN_COUNTS, NOT_KNOWN_LEFT_OUT = "counts", "left out"  # a pair of which nobody can tell

NOT_SAID = "not said"
COMMAS = (NOT_SAID, THOUSANDS, DECIMAL_MARK)  # what the comma of 22,910 is on this farm
CHOICES = {
    "comma": COMMAS,
    "yield_unit": tuple(PER_BU_AC),
    "grading": tuple(GRADING),
    "basis": BASES,
    "main_measure": tuple(MEASURES),
    "requirement_not_known": (NOT_KNOWN_COUNTS, NOT_KNOWN_LEFT_OUT),
}
STARTED_WITH = {
    "farm_name": "This farm",
    "yield_unit": "bu/ac",
    "grading": "CA",
    "comma": NOT_SAID,
    "level": repr(LEVELS[0]),
    "one_moisture_pct": repr(MAX_DRY_PCT),
    "basis": BY_DESIGN,
    "main_measure": "yield",
    "requirements": NO_REQUIREMENT,
    "requirement_not_known": NOT_KNOWN_COUNTS,
    "wind_kmh": "60.0",  # makes a year a bad one; our choice, no source
} | {MARGIN + name: repr(measure.margin) for name, measure in MEASURES.items()}


def is_fixed_before_looking(name: str) -> bool:
    """Whether changing the setting could change a finding, so that it takes a reason."""
    return name in FIXED_BEFORE_LOOKING or name.startswith(MARGIN)


def checked(name: str, text: str, *, comma: str = "") -> str:
    """The value to keep for a setting typed as `text`. Raises BadInput with what is allowed.

    comma : what the farm said of a comma before three digits
    """
    shown = shortened(text)
    if name == "farm_name":
        if not 1 <= len(text.strip()) <= 100:
            raise BadInput(f"farm name: {shown!r} given; allowed 1 to 100 letters.")
        return text.strip()
    if name in CHOICES:
        if text not in CHOICES[name]:
            raise BadInput(f"{setting_words(name)}: {shown!r} given; allowed {', '.join(CHOICES[name])}.")
        return text
    if name == "requirements":
        return _requirements(text)
    number = _number(name, text, comma)
    if name == "level":
        if number not in LEVELS:
            raise BadInput(f"level: {shown!r} given; allowed {', '.join(f'{level:g}' for level in LEVELS)}.")
    elif name == "one_moisture_pct":
        if not LOWEST_MOISTURE <= number <= HIGHEST_MOISTURE:
            raise BadInput(
                f"moisture for comparing: {shown!r} given; allowed {LOWEST_MOISTURE:g} to {HIGHEST_MOISTURE:g} "
                f"percent. {MAX_DRY_PCT:g} is the top of dry canola."
            )
    elif name == "wind_kmh":
        if not LOWEST_WIND <= number <= HIGHEST_WIND:
            raise BadInput(f"wind: {shown!r} given; allowed {LOWEST_WIND:g} to {HIGHEST_WIND:g} km/h.")
    elif name.startswith(MARGIN):
        find_measure(name.removeprefix(MARGIN))
        if number <= 0:
            raise BadInput(f"{setting_words(name)}: {shown!r} given; allowed a number above 0.")
    else:
        raise BadInput(f"setting: {shortened(name)!r} given; there is no such setting.")
    return repr(number)


def _requirements(text: str) -> str:
    """The list as it is kept, in the order of REQUIREMENTS: "weighed alike, same variety from 2027"."""
    if text.strip() == NO_REQUIREMENT:
        return NO_REQUIREMENT
    given: dict[str, str] = {}
    for part in (" ".join(part.split()) for part in text.split(",") if part.strip()):
        name, has_year, year = part.partition(FROM_YEAR)
        is_year = year.isdecimal() and len(year) == 4
        if name not in REQUIREMENTS or name in given or (has_year and not is_year):
            raise _no_requirement(text)
        given[name] = part
    if not given:
        raise _no_requirement(text)
    return ", ".join(given[name] for name in REQUIREMENTS if name in given)


def _no_requirement(text: str) -> BadInput:
    return BadInput(
        f"requirements: {shortened(text)!r} given; allowed {NO_REQUIREMENT}, or some of {', '.join(REQUIREMENTS)}, "
        "each once, for all years or from a crop year on, as in same variety from 2027."
    )


def _number(name: str, text: str, comma: str) -> float:
    try:
        return read_number(text, comma=comma)
    except NotReadable as problem:
        raise BadInput(f"{setting_words(name)}: {shortened(text)!r} given; {problem}.") from problem


def setting_words(name: str) -> str:
    """A setting as the screen calls it."""
    if name.startswith(MARGIN):
        measure = find_measure(name.removeprefix(MARGIN))
        return f"smallest difference that matters, {measure.label.lower()}"
    if name == "comma":
        return "the comma in a number such as 22,910"
    return name.replace("_", " ").removesuffix(" pct").removesuffix(" kmh")


def is_allowed(setting: dict[str, str | None]) -> bool:
    """Whether a name and a value are those of a setting, written as it is kept."""
    value = setting["value"] or ""
    try:
        return checked(setting["name"] or "", value) == value
    except StandrowError:
        return False
