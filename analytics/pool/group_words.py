"""What a group's records say, in sentences: these records, these farms in years to come, another farm, each farm."""

from dataclasses import replace

from analytics.answer import depends_words, marks, wording
from analytics.answer.difference_words import base_decimals, margin_words, measure_words, words_for
from analytics.answer.statistics_rows import ROW_WORDS
from analytics.pool.farm_answers import FarmAnswers
from analytics.pool.group_files import GroupRows
from analytics.pool.group_review import FEW, FarmsDependOn, GroupMeasure, GroupRow
from analytics.pool.share_form import PROGRAM
from analytics.statistics.crossed import Shrunken
from analytics.statistics.results import Answer, Comparison, Finding
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import amount, capital, count, number, percent_words

THESE_FARMS, ANOTHER_FARM = "On these farms in years to come", "On another farm in years to come"
NOT_SHOWN = "not shown"
MOST_LISTED_FARMS = 50  # in the terminal; the JSON has all
HIDDEN_WORDS = (
    "Not shown: what fewer than three farms had, or what would tell it by subtraction. Each farm's own mean is listed "
    "under its code."
)
ALIKE = "Farms whose fields, machines and reasons for cutting standing are like these."
ASKED = (
    "Exploration: look, do not conclude. Farms and fields differ in more than one thing; the last p knows how many "
    "were asked."
)


def of_whom(group: GroupRows) -> str:
    """How many farms, in how many crop years, with the newest share and the program: the line under every title."""
    years = group.rows["crop_year"].unique().sort()
    span = " to ".join(str(year) for year in dict.fromkeys((years[0], years[-1])))
    replaced = f"; {count(group.replaced, 'farm-year')} of older shares passed over" if group.replaced else ""
    return (
        f"{count(len(group.farms), 'farm')}, crop years {span}, newest share {group.newest[:10]}, {PROGRAM}{replaced}."
    )


def group_sentence(one: GroupMeasure) -> str:
    """All three questions."""
    return " ".join((these_records(one), these_farms(one), another_farm(one)))


def these_records(one: GroupMeasure) -> str:
    """What was seen on the fields, farms and years that were shared."""
    comparison = one.comparison
    if len(comparison.by_year) < 2:  # years that may not be shown cannot be named; the cautions say that they disagree
        comparison = replace(comparison, years_agree=replace(comparison.years_agree, disagree=False))
    if comparison.these_fields.finding is Finding.DEPENDS_ON_YEAR and len(comparison.by_year) < 2:
        said = "On these records it depends on the year."
    else:
        said = wording.these_fields_sentence(comparison)
    return f"{count(one.farms, 'farm')} sent this in. {said}"


def these_farms(one: GroupMeasure) -> str:
    """These farms in other years."""
    return _ahead(one.comparison, one.answers.these_farms, THESE_FARMS, one.farms)


def another_farm(one: GroupMeasure) -> str:
    """Another farm's own average, and one field there in one year."""
    answer = one.answers.another_farm
    said = _ahead(one.comparison, answer, ANOTHER_FARM, one.farms)
    if answer.prediction_low is None or answer.prediction_high is None:
        return said
    between = words_for(one.comparison, answer).between(answer.prediction_low, answer.prediction_high)
    return f"{said} One field there in one year could lie {between}. {ALIKE}"


def agree(one: GroupMeasure) -> str:
    """Which farms agree, by their shrunken values, and how far farms differ."""
    model, farms, comparison = one.answers.model, one.answers.farms, one.comparison
    if model is None:
        return ""
    phrase = words_for(comparison, comparison.these_fields).phrase
    above = sum(farm.shrunken > 0 for farm in farms)
    side, many = (phrase.up, above) if above * 2 >= len(farms) else (phrase.down, len(farms) - above)
    margin = comparison.margin or 0.0
    beyond = sum(abs(farm.shrunken - model.estimate) > margin for farm in farms)
    apart = ""
    if model.farm_sd is not None:
        apart = f" Farms differ by about {_size(comparison, model.farm_sd)} (standard deviation)."
    return (
        f"Drawn towards the group as far as their records are few, {many} of {len(farms)} farms lie on the side of "
        f'"{side}"; {beyond or "none"} of them {"lies" if beyond == 1 else "lie"} more than {margin_words(comparison)} '
        f"from the group's mean.{apart}"
    )


def of_farms(comparison: Comparison, answers: FarmAnswers) -> list[str]:
    """Both broad questions of a comparison whose pairs name their farms, and each farm in a line."""
    many = len(answers.farms)
    lines = [
        _ahead(comparison, answers.these_farms, THESE_FARMS, many),
        _ahead(comparison, answers.another_farm, ANOTHER_FARM, many),
    ]
    for farm in answers.farms if many <= MOST_LISTED_FARMS else ():
        raw, drawn = (marks.difference(comparison, value) for value in (farm.raw, farm.shrunken))
        beside = f"; drawn towards the others {drawn}" if answers.model is not None else ""
        lines.append(f"{farm.name}: {raw} on {count(farm.field_years, 'field-year')}{beside}.")
    return lines


def own_farm(one: GroupMeasure, code: str | None) -> str:
    """Where this farm stands beside the group; "" where it is not in it."""
    farm = next((farm for farm in one.answers.farms if farm.name == code), None)
    if farm is None:
        return ""
    raw, drawn = (marks.difference(one.comparison, value, with_unit=True) for value in (farm.raw, farm.shrunken))
    return (
        f"Farm {farm.name} by itself: {raw} on {count(farm.field_years, 'field-year')}. With what the other farms say: "
        f"{drawn}."
    )


def farm_cells(one: GroupMeasure, farm: Shrunken) -> tuple[str, str, str, str]:
    """A row of the table of farms: code, field-years, its own mean, and that drawn towards the group."""
    decimals = base_decimals(one.comparison)
    drawn = number(farm.shrunken, decimals) if one.answers.model is not None else NOT_SHOWN
    return str(farm.name), number(farm.field_years, 0), number(farm.raw, decimals), drawn


def carried_cells(one: GroupMeasure, row: GroupRow) -> tuple[str, str, str, str, str]:
    """A row of what carries it: kind, farms, field-years, these records, another farm."""
    name = ROW_WORDS[row.row]
    if row.is_hidden:
        return name, NOT_SHOWN, NOT_SHOWN, NOT_SHOWN, NOT_SHOWN
    if row.field_years is None or row.farms is None:
        return name, "0", "0", "no pair", "no pair"
    decimals = base_decimals(one.comparison)
    told = (
        "too few" if values is None or values[1] is None else wording.with_range(*values, decimals)
        for values in (row.these_records, row.another_farm)
    )
    here, other = told
    return name, number(row.farms, 0), number(row.field_years, 0), here, other


def depends_line(one: GroupMeasure, line: FarmsDependOn) -> str:
    """One question of what the difference may depend on."""
    question, without, with_ = depends_words.QUESTIONS[line.name]
    if isinstance(line.found, str):
        why = "Not shown: " if line.found == FEW else "The records cannot say: "
        return f"{question} {why}{line.found}."
    counts = line.field_years or (0, 0)
    first = f"{without} {marks.difference(one.comparison, line.found.without)} (n {counts[0]})"
    second = f"{with_} {marks.difference(one.comparison, line.found.with_)} (n {counts[1]})"
    p = f"p {wording.p_words(line.p)}, with all questions {wording.p_words(line.holm_p)}"
    return f"{question} {capital(first)}; {second}; {p}."


def group_cautions(one: GroupMeasure) -> tuple[str, ...]:
    """What weakens the answer, and what is not shown."""
    own = tuple(caution.text for caution in one.comparison.cautions)
    chosen = (
        ()
        if one.comparison.firm.drawn_by_lot
        else ("Not every pair was drawn by lot, so the fields themselves may be part of it.",)
    )
    hidden = one.hidden_years or any(row.is_hidden for row in one.carries)
    hides = any(line.found == FEW for line in one.depends_on)
    return (*own, *chosen, *((HIDDEN_WORDS,) if hidden or hides else ()))


def heading(name: str, one: GroupMeasure) -> str:
    """The measure with its unit, as it heads a row."""
    return f"{MEASURES[name].label}, {one.comparison.unit}"


def _size(comparison: Comparison, value: float) -> str:
    return amount(value, comparison.unit, base_decimals(comparison))


def _ahead(comparison: Comparison, answer: Answer, opening: str, farms: int) -> str:
    if answer.finding is Finding.TOO_FEW or answer.estimate is None or answer.low is None or answer.high is None:
        return f"{opening} nothing can be said yet. {capital((answer.reason or '').rstrip('.'))}."
    terms = words_for(comparison, answer)
    if answer.finding is Finding.NOT_SETTLED:
        return f"{opening} it is not settled: the average could lie {terms.between(answer.low, answer.high)}."
    if answer.finding is Finding.NO_DIFFERENCE_THAT_MATTERS:
        low, high = answer.equivalence_low or 0.0, answer.equivalence_high or 0.0
        level = percent_words(2 * comparison.level - 1)
        return (
            f"{opening} {measure_words(comparison)} is the same for practical purposes on average: the difference lies "
            f"{terms.between(low, high)} ({level} range), inside the {margin_words(comparison)} that would matter."
        )
    clause, bracket = terms.clause(answer.estimate, future=True), terms.bracket(answer.low, answer.high)
    far = f"more than chance explains, as far as {count(farms, 'farm')} and {count(answer.years, 'year')} can tell"
    small = f", but smaller than the {margin_words(comparison)} that would matter" if answer.small else ""
    return f"{opening} {clause} on average ({bracket}): {far}{small}."
