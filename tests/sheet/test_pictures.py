"""The pictures on the sheet: what is drawn of a comparison by crop year, and beside what others found."""

import re

import pytest

from analytics.answer.beside_published import beside_published
from analytics.sheet.html_page import html
from analytics.sheet.picture import BY_YEAR, by_year_svg
from analytics.sheet.reader import Reader
from analytics.sheet.trials_picture import beside_svg
from analytics.statistics.comparison import compare
from analytics.statistics.results import Comparison


def years_of(crop_years: int, *, far_out: float = 1.0) -> Comparison:
    """Four field-years a year, one of them far out."""
    differences = [1.0, -1.0, 1.0, -1.0] * crop_years
    differences[4] = far_out
    years = [2000 + place // 4 for place in range(4 * crop_years)]
    return compare(differences, [0.0] * 4 * crop_years, crop_year=years, measure="yield", unit="bu/ac", margin=1.0)


@pytest.mark.parametrize("far_out", [-30.0, 30.0])
def test_every_field_year_lies_on_the_scale(far_out):
    svg = by_year_svg(years_of(3, far_out=far_out))
    dots = [float(x) for x in re.findall(r"<circle cx=\"([-\d.]+)\"[^>]*opacity=\"0.75\"", svg)]
    assert len(dots) == 12
    assert all(0 <= dot <= BY_YEAR.scale for dot in dots)


def test_the_picture_of_twenty_years_is_hardly_taller_than_that_of_ten():
    heights = [float(re.search(r'height="([\d.]+)"', by_year_svg(years_of(years)))[1]) for years in (5, 10, 20)]
    assert heights[0] < heights[1] < heights[2] < 1.5 * heights[1]


def test_a_comparison_without_pairs_has_no_picture():
    with pytest.raises(ValueError, match="no pair to draw"):
        by_year_svg(compare([], [], crop_year=[], measure="yield", unit="bu/ac", margin=1.0))


def test_what_is_published_is_a_box_and_the_farms_own_is_not():
    """Yield: a box each for three published results and for three starts, and none for the farm's own."""
    comparison = years_of(3)
    others = beside_published(comparison)
    assert others is not None
    svg = beside_svg(comparison, others.differences)
    edges = re.findall(r'<line x1="[\d.]+" y1="([\d.]+)" x2="[\d.]+" y2="[\d.]+" [^>]*stroke-width="0.9"/>', svg)
    assert len(edges) == 5 * 4 + 2  # of the widest start only two: it runs on at both ends
    own = float(re.search(r'y="([\d.]+)"[^>]*>This farm\'s own<', svg)[1])
    both = float(re.search(r'y="([\d.]+)"[^>]*>Both together', svg)[1])
    assert not [y for y in edges if own < float(y) < both]


def test_the_picture_has_an_alternative_text_in_both_files(demo_sheets):
    sheet = demo_sheets[Reader.BANKER]
    alt = sheet.pages[0].top[0].picture.alt
    assert "2021, 2 field-years: $35 less" in alt
    assert 'role="img" aria-label="Standing less windrowed by crop year.' in html(sheet)
