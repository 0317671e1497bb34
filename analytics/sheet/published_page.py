"""The agronomist's pages beside the published trials: pictures in one scale, and every result with its source."""

from collections.abc import Mapping, Sequence

from analytics.answer import beside_published as beside
from analytics.answer.beside_published import Beside, beside_published
from analytics.answer.published import TOPICS
from analytics.sheet.parts import Page, Picture, Section
from analytics.sheet.trials_picture import beside_svg, one_way_svg
from analytics.statistics.exploration import DependsOn
from analytics.statistics.results import Comparison
from analytics.trade.measures import MEASURES

LAST = "loss"
COLOURS = "Blue: standing; vermilion: windrowed. Shares of the yield are taken of this farm's own yield."


def pages(found: Mapping[str, Comparison], asked: Sequence[DependsOn]) -> tuple[Page, ...]:
    """Pictures of yield and green seed, those of loss with the surveys, then each trial's results; all that are known.

    found : every measure, in the yield unit of the settings; asked : what yield may depend on
    """
    told = {
        name: one
        for name in TOPICS
        if found[name].all_pairs.pairs
        and (one := beside_published(found[name], grain=found["yield"], asked=asked)) is not None
    }
    drawn = {name: _sections(found[name], one) for name, one in told.items()}
    first = tuple(section for name, sections in drawn.items() if name != LAST for section in sections)
    pictures = tuple(page for page in (first, drawn.get(LAST, ())) if page)
    surveys = tuple(words for one in told.values() for words in beside.results_words(one.surveys))
    apart = (Section(heading="Surveys, told apart", lines=(beside.APART,), bullets=surveys),) if surveys else ()
    pages = [
        Page(top=sections, left=(), right=(), bottom=apart if sections is pictures[-1] else ()) for sections in pictures
    ]
    return (*pages, _results(told)) if told else ()


def _results(told: Mapping[str, Beside]) -> Page:
    """Each trial's results under its measure, yield and green seed in one column, loss in the other."""
    sections = {
        name: Section(
            heading=f"{MEASURES[name].label}: each result, and what it cannot tell",
            bullets=tuple(beside.results_words(one.trials)),
        )
        for name, one in told.items()
    }
    left = tuple(section for name, section in sections.items() if name != LAST)
    return Page(top=(), left=left, right=tuple(sections[name] for name in sections if name == LAST), bottom=())


def _sections(comparison: Comparison, one: Beside) -> tuple[Section, ...]:
    label = MEASURES[one.measure].label
    drawn = Picture(
        svg=beside_svg(comparison, one.differences),
        alt=" ".join(beside.lines_in_words(one.differences)),
        caption=one.how_to_read,
    )
    said = tuple(line for line in (" ".join(one.joint_words), one.unlike) if line)
    asked = beside.HEADING[0].lower() + beside.HEADING[1:]
    sections = [Section(heading=f"{label}, {one.unit}: {asked}", picture=drawn, lines=said)]
    if one.each_way:
        title = f"seed lost, {one.unit}"
        sections.append(_one_way(comparison, one.each_way, beside.EACH_WAY_HEADING, title, COLOURS))
    if one.early:
        title = f"cost of cutting early, {one.unit}"
        sections.append(_one_way(comparison, one.early, beside.EARLY_HEADING, title, beside.EARLY_WORDS))
    return tuple(sections)


def _one_way(comparison: Comparison, lines: Sequence[beside.Line], heading: str, title: str, caption: str) -> Section:
    picture = Picture(
        svg=one_way_svg(comparison, lines, title), alt=" ".join(beside.lines_in_words(lines)), caption=caption
    )
    return Section(heading=heading, picture=picture)
